"""Pictures of a survey, cell by cell. After a change that is meant: look at them, then --snapshot-update."""

from __future__ import annotations

import os

import pytest

from tests.shop import Clock, demo_shop
from tests.wizard.driver import calm, settled
from tests.wizard.test_screens import the_same_everywhere
from tests.wizard.test_surveying import begun, enter, level, read_all, staff, surveys

__all__ = ["the_same_everywhere"]

pytestmark = pytest.mark.skipif(os.name == "nt", reason="the time zone of a process is set on POSIX only")


async def by_laser(app, pilot) -> None:
    who = await begun(app, pilot, "l")
    for _ in range(5):
        await enter(who, staff(app))


async def by_level_with_a_wrong_reading(app, pilot) -> None:
    who = await begun(app, pilot, "v", *"2.5", "enter")
    for _ in range(9):
        await enter(who, level(app))
    await enter(who, "9.5")


async def result(app, pilot) -> None:
    await read_all(await begun(app, pilot, "l"), staff)


async def plan(app, pilot) -> None:
    await by_laser(app, pilot)
    await pilot.press("ctrl+l")


ACTS = {
    "laser": ("bay-3", by_laser),
    "level": ("bay-1", by_level_with_a_wrong_reading),
    "result": ("bay-3", result),
    "plan": ("bay-3", plan),
}


def pictured(tmp_path, snap_compare, name: str, size: tuple[int, int]) -> bool:
    bay, act = ACTS[name]
    app = surveys(demo_shop(tmp_path), Clock(), bay)

    async def acted(pilot) -> None:
        await act(app, pilot)
        if name != "plan":
            await settled(app, pilot)
        await pilot.pause()
        calm(app)
        await pilot.pause()

    return snap_compare(app, terminal_size=size, run_before=acted)


@pytest.mark.parametrize(
    ("name", "size"),
    [
        ("laser", (80, 24)),
        ("level", (80, 24)),
        ("level", (120, 40)),
        ("result", (120, 40)),
        ("plan", (80, 24)),
    ],
    ids=lambda v: v if isinstance(v, str) else f"{v[0]}x{v[1]}",
)
def test_a_survey_looks_as_it_did(tmp_path, snap_compare, name, size):
    assert pictured(tmp_path, snap_compare, name, size)


def test_without_colours_it_says_the_same(tmp_path, snap_compare, monkeypatch):
    monkeypatch.setenv("NO_COLOR", "1")
    assert pictured(tmp_path, snap_compare, "level", (80, 24))

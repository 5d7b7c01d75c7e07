"""A few pictures of screens, cell by cell. After a change that is meant: look at them, then --snapshot-update."""

from __future__ import annotations

import os
import time

import pytest

from readiness.wizard.app import ReadinessApp
from tests.build_pictures import PICTURES, STEP
from tests.shop import Clock, demo_shop
from tests.wizard.driver import Technician, calm, settled

pytestmark = pytest.mark.skipif(os.name == "nt", reason="the time zone of a process is set on POSIX only")


@pytest.fixture(autouse=True)
def the_same_everywhere(monkeypatch):
    """Local times in UTC, colours on."""
    monkeypatch.setenv("TZ", "UTC")
    monkeypatch.delenv("NO_COLOR", raising=False)
    time.tzset()
    yield
    monkeypatch.undo()
    time.tzset()


def pictured(tmp_path, snap_compare, name: str, size: tuple[int, int]) -> bool:
    """Whether the screen looks as it did; the same acts draw the pictures of the README."""
    job, act = PICTURES[name]
    folder = demo_shop(tmp_path)
    app = ReadinessApp(folder.path, person="Odo Brack", clock=Clock(step=STEP))

    async def acted(pilot) -> None:
        await settled(app, pilot)
        if job is not None:
            app.screen.open_job(job)
            await settled(app, pilot)
        await act(Technician(app, pilot, {}))
        calm(app)
        await pilot.pause()

    return snap_compare(app, terminal_size=size, run_before=acted)


@pytest.mark.parametrize("size", [(80, 24), (120, 40)], ids=lambda s: f"{s[0]}x{s[1]}")
@pytest.mark.parametrize(
    "name", ["start", "tyres", "verdict", "help", "watch", "close", "practice", "practised"]
)
def test_looks_as_it_did(tmp_path, snap_compare, name, size):
    assert pictured(tmp_path, snap_compare, name, size)


def test_without_colours_it_says_the_same(tmp_path, snap_compare, monkeypatch):
    monkeypatch.setenv("NO_COLOR", "1")
    assert pictured(tmp_path, snap_compare, "tyres", (80, 24))


def test_the_watch_without_colours_says_the_same(tmp_path, snap_compare, monkeypatch):
    monkeypatch.setenv("NO_COLOR", "1")
    assert pictured(tmp_path, snap_compare, "watch", (80, 24))

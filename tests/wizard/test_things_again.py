"""A thing that was moved is entered anew, number after number; how to answer stays readable at any width."""

from __future__ import annotations

from datetime import date

import pytest
from rich.cells import cell_len

from readiness.checks.kind import Choice, Question
from readiness.wizard.app import ReadinessApp
from readiness.wizard.pages import prompt
from readiness.wizard.rows import Row
from tests.scenes import check
from tests.wizard.driver import NAMES, Technician, settled
from tests.wizard.test_deeds import sentence
from tests.wizard.test_put_right import resumed
from tests.wizard.test_walk import app, clock, folder

__all__ = ["app", "clock", "folder"]


async def moved_to(who: Technician, text: str) -> None:
    """Another number for an answered question, since something was put right in between."""
    await who.press(*(NAMES.get(c, c) for c in text))
    await who.ask("enter")
    await who.press("f")
    await settled(who.app, who.pilot)


def at(who: Technician) -> str:
    assert who.row is not None
    return who.row.question.key


async def test_a_thing_moved_as_told_is_entered_number_after_number(app: ReadinessApp, folder, clock):
    """HB-0418: the tool chest stands in a zone of the right side; its radius and top are as usual."""
    async with app.run_test(size=(80, 24)) as pilot:
        who = await resumed(app, pilot, "HB-0418")
        await who.go_to("clear_area", "kit.5")
        assert "as the car faces" in sentence(app)
        await who.go_to("clear_area", "kit.5.x")
        await moved_to(who, "-1.8")
        assert at(who) == "kit.5.y"  # it is in the way still, so its other number comes next
        await moved_to(who, "-4.5")
        assert who.walk.at > 0
        assert who.row is None or not who.row.question.key.startswith(
            "kit.5."
        )  # and what it left empty does not


CHOICES = tuple(
    Choice(k, k, words)
    for k, words in zip("abcdef", ("left front wheel", "near", "corner 1") * 2, strict=True)
)
ROW = Row(
    check("clear_area", {"margin": 0.3}), "", Question("q", "Q", "choice", choices=CHOICES, hint="which")
)


@pytest.mark.parametrize("width", [24, 40, 61, 100])
def test_no_choice_is_parted_from_its_key_and_none_left_out(width):
    lines = str(prompt(ROW, None, "seen", "", date(2026, 11, 25), width)).replace("\u00a0", " ").splitlines()
    assert all(cell_len(line) <= width for line in lines)
    for c in CHOICES:
        assert sum(f" {c.key}  {c.label}" in line for line in lines) == 1

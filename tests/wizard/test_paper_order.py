"""Typing in a worksheet from top to bottom: the cursor goes from line to line of the paper."""

from __future__ import annotations

from datetime import timedelta

import pytest

from readiness.records.sheets import opened
from readiness.records.worksheet import worksheet
from readiness.wizard.app import ReadinessApp
from tests.shop import MOMENT, Clock, demo_shop
from tests.wizard.driver import Technician, settled
from tests.wizard.test_close import to_result
from tests.wizard.test_walk import GOES, typed_texts

pytestmark = pytest.mark.slow

AFTERWARDS = (
    "y",
    "0",
    "full_stop",
    "3",
    "enter",
    "y",
    "y",
    *"ring",
    "enter",
    "d",
    "l",
    *"warned",
    "enter",
    "y",
)
"""Result, fault scan, road test and what was seen on it, down to the first remark."""


def printed(folder, *, after: bool) -> list[tuple[str, str, str]]:
    """Where the answers of the paper's lines lie, in its order, with the label that is printed."""
    paper = worksheet(opened("tern-rear-corner", folder.path), folder.bays["bay-2"], ("left",), MOMENT)
    return [
        (block.check.id, block.side, line.question.label)
        for leg in paper.legs
        for block in leg.blocks
        for line in block.lines
        if leg.after == after and not line.same_as
    ]


def under_the_cursor(who: Technician) -> tuple[str, str, str] | None:
    row = who.row
    return None if row is None else (row.check.id, row.side, row.question.label)


async def test_a_new_job_asks_line_by_line_what_the_paper_asks(tmp_path):
    folder = demo_shop(tmp_path)
    app = ReadinessApp(folder.path, person="Odo Brack", clock=Clock())
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(app, pilot)
        who = Technician(app, pilot, typed_texts(folder, GOES))
        await who.begin(1 + list(folder.sheets).index("tern-rear-corner"), "l", "bay-2")
        met = []
        while (row := who.row) is not None:
            if not row.answered:
                met.append(under_the_cursor(who))
            await who.answer(row)
    assert met == printed(folder, after=False)


async def test_after_the_calibration_too(tmp_path):
    folder = demo_shop(tmp_path)
    app = ReadinessApp(folder.path, person="Odo Brack", clock=Clock(step=timedelta(milliseconds=10)))
    async with app.run_test(size=(80, 24)) as pilot:
        who = await to_result(app, pilot, folder)
        met = [under_the_cursor(who)]
        for key in AFTERWARDS:
            await who.press(key)
            if under_the_cursor(who) not in (None, met[-1]):
                met.append(under_the_cursor(who))
    assert met == printed(folder, after=True)

"""Tape distances: the trade's check value, Pythagoras by math.hypot, and the mirror image."""

from __future__ import annotations

from math import hypot

import pytest
from hypothesis import given as any_of
from hypothesis import strategies as st
from msgspec.structs import replace as changed

from readiness.checks.aim.layout import ahead_behind, left_right, rows, said
from readiness.job import Marks, Place, Target
from readiness.units import show
from tests.scenes import SHEET

metres = st.floats(-9, 9)


def target(x, y):
    return changed(SHEET, targets=(Target(id="reflector", at=Place(x=x, y=y, z=0.6)),))


def test_the_trades_check_value():
    """614 mm behind the rear mark and 3,679 mm across lie 3,729.9 mm from it (common practice, no published source)."""
    (row,) = rows(target(-0.95 - 0.614, 3.679), ("left",))
    rear = row.tapes[1]
    assert (rear.mark, rear.along, row.across) == ("rear", pytest.approx(-0.614), 3.679)
    assert rear.diagonal * 1000 == pytest.approx(3729.9, abs=0.05)
    words = said(row, show)
    assert "3679 mm left of the centre line" in words
    assert "614 mm behind the rear centre mark (straight 3729.9 mm)" in words


@any_of(metres, metres, st.floats(2, 5), st.floats(-3, 1))
def test_legs_and_diagonal_from_both_marks(x, y, front, rear):
    sheet = changed(target(x, y), marks=Marks(front=front, rear=rear))
    (row,) = rows(sheet, ("single",))
    for tape, mark in zip(row.tapes, (front, rear), strict=True):
        assert tape.along == x - mark
        assert tape.diagonal == pytest.approx(hypot(x - mark, y), abs=1e-12)
    assert row.across == y


@any_of(metres, metres)
def test_the_right_side_is_the_mirror_image(x, y):
    left, right = rows(target(x, y), ("left", "right"))
    assert right.across == -left.across
    assert right.tapes == left.tapes
    assert (left.side, right.side) == ("left", "right")


def test_words_for_where():
    assert [left_right(v) for v in (1.0, -1.0)] == ["left of", "right of"]
    assert [ahead_behind(v) for v in (1.0, -1.0)] == ["ahead of", "behind"]
    (row,) = rows(target(6.0, 0.0), ("single",))
    assert "on the centre line; 2450 mm ahead of the front centre mark; 6950 mm" in said(row, show)


def test_every_target_of_every_side():
    two = changed(SHEET, targets=(*SHEET.targets, *target(6.0, -1.0).targets))
    assert [(r.side, r.target) for r in rows(two, ("left", "right"))] == [
        (side, t.id) for side in ("left", "right") for t in two.targets
    ]

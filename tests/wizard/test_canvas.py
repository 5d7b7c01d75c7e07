"""The picture in characters: right size, round circles, nothing lost at the edges."""

from __future__ import annotations

import math

from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len

from readiness.checks.picture import Circle, Line, Outline, Spot
from readiness.wizard.canvas import DOTS, drawn, fitting

CAR = Outline("car", ((4, 0.9), (-1, 0.9), (-1, -0.9), (4, -0.9)))


def dots(rows) -> set[tuple[int, int]]:
    """(row, column) of every dot set."""
    found = set()
    for r, row in enumerate(rows):
        for c, (text, _, _) in enumerate(row):
            bits = ord(text) - 0x2800 if "\u2800" <= text <= "\u28ff" else 0
            found |= {(4 * r + i, 2 * c + j) for i in range(4) for j in range(2) if bits & DOTS[i][j]}
    return found


@given(width=st.integers(1, 90), height=st.integers(1, 50), x=st.floats(-20, 20), y=st.floats(-20, 20))
def test_always_the_size_asked_for(width, height, x, y):
    rows = drawn((CAR, Circle("zone", (x, y), 0.5, "zone"), Spot("wheel", (x, y), "231 kPa")), width, height)
    assert len(rows) == height
    assert all(len(row) == width and all(cell_len(t) == 1 for t, _, _ in row) for row in rows)


def test_a_circle_is_round():
    """Every dot lies one radius from the middle, within a dot."""
    picture = (Circle("obstacle", (0, 0), 2.0),)
    view = fitting(picture, 40, 20)
    middle, radius = view.dot((0.0, 0.0)), 2.0 * view.dots_per_metre
    found = dots(drawn(picture, 40, 20))
    assert len(found) > 60
    for r, c in found:
        assert abs(math.hypot(c + 0.5 - middle[0], r + 0.5 - middle[1]) - radius) < 1.5


def test_forward_is_up_and_left_is_left():
    rows = drawn((CAR, Spot("wheel", (3, 0.8), "A"), Spot("wheel", (-1, -0.8), "B")), 30, 20)
    where = {t: (r, c) for r, row in enumerate(rows) for c, (t, _, _) in enumerate(row) if t in "AB"}
    assert where["A"][0] < where["B"][0]
    assert where["A"][1] < where["B"][1]


def test_a_zone_is_a_broken_line():
    """It must differ from an obstacle without colour."""
    line = ((0.0, 0.0), (4.0, 0.0))
    solid = dots(drawn((Line("obstacle", line), CAR), 40, 30))
    broken = dots(drawn((Line("zone", line), CAR), 40, 30))
    assert broken < solid


def test_nothing_to_draw():
    assert drawn((), 20, 5) == [[(" ", "", False)] * 20] * 5

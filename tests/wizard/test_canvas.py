"""The picture in characters: right size, round circles, nothing lost at the edges."""

from __future__ import annotations

import math

from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len

from readiness.checks.picture import Circle, Line, Outline, Spot
from readiness.wizard.canvas import DOTS, drawn, fitting, lies_better, turned

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


def text(rows) -> str:
    return "\n".join("".join(t for t, _, _ in row) for row in rows)


@given(st.lists(st.tuples(st.floats(0, 8), st.floats(0, 5)), min_size=1, max_size=25), st.integers(20, 80))
def test_every_place_shows_though_its_words_may_not(places, width):
    """Two places may share a cell; a cell with a place in it always has a dot."""
    picture = tuple(Spot("height", at, f"{n}: 12.5 mm", hollow=n % 2 == 1) for n, at in enumerate(places))
    rows = drawn(picture, width, 20)
    view = fitting(picture, width, 20)
    for at in places:
        column, row = view.dot(at)
        shown = rows[min(19, max(0, int(row // 4)))][min(width - 1, max(0, int(column // 2)))][0]
        assert shown in "•◦"


def test_words_give_way_to_their_first_part_before_they_go():
    room = Outline("bay", ((5, 5), (-5, 5), (-5, -5), (5, -5)))
    alone = text(drawn((room, Spot("height", (0, 0), "7: 3.1 mm")), 60, 30))
    assert "•7: 3.1 mm" in alone
    row = tuple(
        Spot("height", (0, y), f"{name}: 3.1 mm") for name, y in (("1", 0.8), ("2", 0.0), ("3", -0.8))
    )
    crowded = text(drawn((room, *row), 60, 30))
    assert all(name in crowded for name in "123")
    assert crowded.count("mm") < 3


def test_a_place_not_looked_at_is_hollow():
    rows = text(drawn((CAR, Spot("height", (1, 0), "4", hollow=True), Spot("height", (3, 0), "5")), 40, 20))
    assert "◦4" in rows
    assert "•5" in rows


def test_a_long_room_is_shown_larger_on_its_side_with_x_to_the_right():
    room = Outline("bay", ((10, 4), (0, 4), (0, 0), (10, 0)))
    spots = (Spot("height", (9, 1), "A"), Spot("height", (1, 1), "B"), Spot("height", (1, 3.5), "C"))
    assert lies_better((room, *spots), 70, 18)
    assert not lies_better(turned((room, *spots)), 70, 18)
    rows = drawn(turned((room, *spots)), 70, 18)
    where = {t: (r, c) for r, row in enumerate(rows) for c, (t, _, _) in enumerate(row) if t in "ABC"}
    assert where["A"][0] == where["B"][0]
    assert where["A"][1] > where["B"][1]
    assert where["C"][0] < where["B"][0]

"""The picture in characters: right size, round circles, nothing lost at the edges."""

from __future__ import annotations

import itertools
import math
import string

import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st
from rich.cells import cell_len
from shapely import LineString, Point, Polygon, box

from readiness.checks.picture import KEEPS_OUT, Circle, Line, Outline, Spot, front_of, scale_of
from readiness.wizard.canvas import DOTS, View, drawn, fitting, lies_better, turned
from readiness.wizard.canvas.ink import Ink, clipped
from readiness.wizard.canvas.naming import lettered
from tests.pictures import bay, car, crowded, placed, shapes

CAR = Outline("car", ((4, 0.9), (-1, 0.9), (-1, -0.9), (4, -0.9)))


def text(rows) -> str:
    return "\n".join("".join(t for t, _, _ in row) for row in rows)


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


# --- any shapes at all ---------------------------------------------------------------------------

VIEWS = st.none() | st.builds(
    View,
    st.tuples(st.floats(-1e9, 1e9), st.floats(-1e9, 1e9)),
    st.floats(1e-9, 4e3),
    st.just(0),
    st.just(0),
)


@given(st.lists(shapes(), max_size=6), st.integers(0, 100), st.integers(0, 40), VIEWS, st.booleans())
@settings(max_examples=300, deadline=None)
@example([Circle("zone", (1e308, -1e308), 1e308, "x")], 80, 24, None, True)
@example([Outline("car", ()), Line("clearance", ()), Outline("car", ((0, 0),))], 80, 24, None, True)
def test_any_shapes_fill_exactly_the_cells_asked_for(some, width, height, view, metric):
    """Nothing raises; every row is as wide as the screen will make it, by the table of the terminal's own library."""
    lit = 0 if some else None
    system = "metric" if metric else "us"
    rows = drawn(tuple(some), width, height, view=view, system=system, chosen=lit)
    assert len(rows) == height
    for row in rows:
        assert len(row) == width
        assert sum(cell_len(t) for t, _, _ in row) == width
        assert all(c.isprintable() for t, _, _ in row for c in t)


INSIDE = st.tuples(st.floats(-1.9, 1.9), st.floats(-3.9, 3.9))


@given(
    st.sampled_from(["bay", "zone", "obstacle", "car", "clearance"]),
    st.lists(INSIDE, min_size=1, max_size=6),
    st.floats(0, 1),
    st.booleans(),
)
def test_every_shape_inside_the_view_leaves_a_mark(role, places, radius, marked):
    view = View((0.0, 0.0), 20.0, 80, 20)  # 8 m wide, 4 m deep
    for shape in (
        Line(role, tuple(places), "", marked),
        Outline(role, tuple(places), "", marked),
        Circle(role, (places[0][0] / 2, places[0][1] / 2), radius, "", marked),
        Spot(role, places[0], "", marked),
    ):
        rows = drawn((shape,), 80, 20, view=view)
        assert any((what, stands_out) == (role, marked) for row in rows for _, what, stands_out in row)


# --- lines, areas and circles, against Shapely ---------------------------------------------------

# rounded: a line that runs along the edge, a hair outside it, may count as either
NEAR = st.floats(-300, 300).map(lambda v: round(v, 4)) | st.integers(-60, 200).map(float)


@given(NEAR, NEAR, NEAR, NEAR)
@settings(max_examples=500)
def test_a_line_is_cut_at_the_edge_of_the_view_as_shapely_cuts_it(x1, y1, x2, y2):
    assume((x1, y1) != (x2, y2))
    expected = LineString([(x1, y1), (x2, y2)]).intersection(box(0, 0, 160, 96))
    found = clipped((x1, y1), (x2, y2), 160, 96)
    if found is None:
        assert expected.length < 1e-6
        return
    ends = sorted(found)
    assert LineString(ends).length == pytest.approx(expected.length, abs=1e-6)
    if expected.length > 1e-6:
        assert [v for p in ends for v in p] == pytest.approx(
            [v for p in sorted(expected.coords) for v in p], abs=1e-6
        )


@given(
    st.lists(st.tuples(st.floats(0, 360), st.floats(5, 400)), min_size=3, max_size=9),
    st.floats(-50, 150),
    st.floats(-50, 120),
)
def test_an_area_is_filled_where_shapely_says_that_it_is(spokes, c, r):
    """Star-shaped about (c, r), reaching out of the view on all sides; only dots on the very edge may differ."""
    spokes = sorted({round(turn): (turn, far) for turn, far in spokes}.values())
    assume(len(spokes) >= 3)
    corners = [
        (c + far * math.cos(math.radians(t)), r + far * math.sin(math.radians(t))) for t, far in spokes
    ]
    area = Polygon(corners)
    assume(area.is_valid)
    view = View((0.0, 0.0), 1.0, 50, 24)
    ink = Ink(view)
    ink.solid(Outline("obstacle", tuple((48 - row, 50 - column) for column, row in corners)))
    rows = next(iter(ink._layers.values()))
    for row, column in itertools.product(range(1, 96, 7), range(1, 100, 7)):
        at = Point(column + 0.5, row + 0.5)
        if area.exterior.distance(at) > 1e-6:
            assert bool(rows[row] >> column & 1) == area.contains(at), (row, column)


@given(st.floats(3, 1e8), st.floats(0, 360), st.floats(-0.4, 0.4), st.floats(-0.4, 0.4))
def test_a_circle_is_round_however_little_of_it_is_seen(radius, turn, x, y):
    """All its dots lie on it within a dot, and it is unbroken: from any dot the next is a neighbour."""
    at = (x - radius * math.cos(math.radians(turn)), y - radius * math.sin(math.radians(turn)))
    view = View((0.0, 0.0), 40.0, 40, 20)
    found = dots(drawn((Circle("obstacle", at, radius),), 40, 20, view=view))
    c, r = view.dot(at)
    assert found
    for row, column in found:
        assert abs(math.hypot(column + 0.5 - c, row + 0.5 - r) - radius * 40) < 1.0
    lonely = [d for d in found if not any(0 < max(abs(d[0] - e[0]), abs(d[1] - e[1])) <= 1 for e in found)]
    assert not lonely or len(found) <= 2


def test_what_reaches_far_out_of_the_view_is_cut_and_not_smeared_along_its_edge():
    view = View((0.0, 0.0), 10.0, 60, 20)
    far = Outline("obstacle", ((0.0, 0.0), (1e6, 1e6), (1e6, -1e6)))
    found = dots(drawn((far,), 60, 20, view=view))
    assert found
    assert all(abs(abs(60 - c) - (40 - r)) <= 1 for r, c in found)
    assert drawn((Circle("zone", (0, 0), 1e9),), 60, 20, view=view)[10][30][1] == "zone"  # inside it: hatched


# --- hatching ------------------------------------------------------------------------------------


def test_each_reason_is_hatched_in_its_own_way_seen_without_colour():
    area = ((0, 0), (4, 0), (4, 8), (0, 8))
    hatched = {
        reason: text(row[8:24] for row in drawn((Outline("zone", area, reason=reason),), 60, 20)[4:16])
        for reason in KEEPS_OUT
    }
    assert len(set(hatched.values())) == len(KEEPS_OUT) == 4
    assert all(h.strip() for h in hatched.values())
    assert len({frozenset(h) for h in hatched.values()}) == 4  # other characters, not only other places
    blank = text(row[8:24] for row in drawn((Outline("obstacle", area),), 60, 20)[4:16])
    assert not blank.strip()


def test_a_thing_and_the_car_are_not_hatched_over():
    zone = Outline("zone", ((-10, -10), (10, -10), (10, 10), (-10, 10)), reason="metal-free")
    thing = Circle("obstacle", (0.0, 0.0), 2.0)
    rows = drawn((zone, thing), 80, 40)
    assert rows[20][40] == (" ", "", False)
    assert rows[10][20][1] == "zone"


# --- words ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("size", [(38, 33), (78, 16), (118, 36)], ids=str)
@pytest.mark.parametrize("heading", range(0, 360, 20))
def test_the_front_of_the_car_is_called_so_whichever_way_it_points(heading, size):
    shapes = (Outline("bay", ((-5, -5), (5, -5), (5, 5), (-5, 5))), *car(heading, (0.0, 0.0)))
    view = fitting(shapes, *size)
    rows = drawn(shapes, *size)
    found = [(r, line.index("front")) for r, line in enumerate(text(rows).split("\n")) if "front" in line]
    assert len(found) == 1
    (row, start) = found[0]
    word = (2 * start + 5.0, 4 * row + 2.0)
    front, rear = view.dot(front_of(shapes[1])[0]), view.dot(placed((-0.95, 0.0), heading, (0.0, 0.0)))
    assert math.dist(word, front) < math.dist(word, rear)
    assert math.dist(word, front) <= 18.0  # at most some four cells away


@given(
    st.lists(st.tuples(st.floats(0, 8), st.floats(0, 5), st.integers(0, 2)), min_size=1, max_size=26),
    st.integers(30, 110),
)
def test_no_word_is_written_over_another_or_over_a_dot(places, width):
    """Each name is of one letter repeated: it stands whole, or cut with its sign, or not at all."""
    kinds = (
        lambda at, name: Spot("obstacle", at, name),
        lambda at, name: Circle("obstacle", at, 0.3, name),
        lambda at, name: Line("clearance", (at, (4.0, 2.5)), name),
    )
    picture = tuple(kinds[k]((x, y), 6 * string.ascii_uppercase[n]) for n, (x, y, k) in enumerate(places))
    rows = drawn(picture, width, 24, system="metric")
    shown = text(rows)
    for letter in string.ascii_uppercase[: len(places)]:
        assert shown.count(letter) in (0, 6)
        assert shown.count(letter) == 0 or 6 * letter in shown
    view = fitting(picture, width, 24, scaled=True)
    for shape in picture:
        if isinstance(shape, Spot):
            column, row = view.dot(shape.at)
            assert rows[int(row // 4)][int(column // 2)][0] == "▪"


@pytest.mark.parametrize("size", [(38, 33), (78, 18), (118, 36)], ids=str)
def test_in_an_ordinary_bay_every_name_that_matters_is_read(size):
    picture = turned(bay()) if lies_better(bay(), *size) else bay()
    shown = text(drawn(picture, *size, system="metric"))
    for name in ("0.12 m", "tool trolley", "radar", "reflector", "front", "post", "rear left"):
        assert name in shown, shown


def test_what_is_lit_up_has_its_words_and_its_line():
    picture = crowded(60)
    for k in (k for k, shape in enumerate(picture) if shape.label and shape.role != "bay"):
        rows = drawn(picture, 80, 24, chosen=k)
        assert any(role == "here" for row in rows for _, role, _ in row)


@pytest.mark.parametrize(
    ("system", "metre"), [("metric", 1.0), ("us", 0.3048)]
)  # 1 ft = 0.3048 m: NIST SP 811
@given(scale=st.floats(0.5, 2000))
def test_the_scale_is_as_long_as_it_says(system, metre, scale):
    view = View((0.0, 0.0), scale, 80, 24)
    rows = text(drawn(bay(), 80, 24, view=view, system=system)).split("\n")
    bar, _, words = rows[-1].strip().partition("┤ ")
    number, unit = words.split()[:2]
    said = float(number) * {"m": 1.0, "ft": metre, "in": metre / 12}[unit]
    assert (len(bar) * 2) / scale == pytest.approx(said, abs=1.01 * 2 / scale)
    assert unit != "m" if system == "us" else unit == "m"


@pytest.mark.parametrize(
    ("longest", "system", "words"),
    [(1.0, "metric", "1 m"), (0.99, "metric", "0.5 m"), (7.0, "metric", "5 m"), (60.0, "metric", "50 m"), (0.06, "metric", "0.05 m"),
     (1.0, "us", "3 ft"), (0.31, "us", "1 ft"), (5.0, "us", "10 ft"), (0.2, "us", "6 in"), (0.01, "us", "1 in")],
)  # fmt: skip
def test_a_scale_has_a_round_length(longest, system, words):
    length, said = scale_of(longest, system)
    assert said == words
    assert length <= longest or said == "1 in"


@pytest.mark.parametrize(
    ("name", "cells"),
    [
        ("车间", ["车", "", "间", ""]),
        ("a\u202eb\x1b[31m\tc\n", list("ab[31m c")),
        ("e\u0301t\u00e9", ["é", "t", "é"]),
        ("x\u0338", ["x\u0338"]),
        ("\u0301lone", list("lone")),
        ("n" * 30, ["n"] * 25 + ["…"]),
        ("a" + "车" * 20, ["a", *["车", ""] * 12, "…"]),
        ("车" * 20, [*["车", ""] * 12, "…"]),
    ],
)
def test_names_from_people_are_plain_text(name, cells):
    """No control character, no mark that turns the writing round; wide characters two cells; long ones cut."""
    assert list(lettered(name, 26)) == cells


def test_a_wide_name_keeps_its_row_in_step():
    rows = drawn((Spot("obstacle", (0.0, 0.0), "车间 a"), car()[0]), 60, 20)
    row = next(row for row in rows if any("车" in t for t, _, _ in row))
    start = next(c for c, (t, _, _) in enumerate(row) if t == "车")
    assert [t for t, _, _ in row[start : start + 6]] == ["车", "", "间", "", " ", "a"]
    assert cell_len("".join(t for t, _, _ in row)) == 60


# --- moving about --------------------------------------------------------------------------------


@given(st.floats(-5, 5), st.floats(-5, 5), st.floats(0.1, 10))
def test_coming_nearer_leaves_the_place_looked_at_where_it_is(x, y, by):
    view = View((0.0, 0.0), 20.0, 80, 24)
    nearer = view.zoomed(by, 0.01, (x, y))
    assert nearer.dot((x, y)) == pytest.approx(view.dot((x, y)), abs=1e-6)
    assert nearer.dots_per_metre == pytest.approx(20.0 * by)


@given(st.integers(-10, 10), st.integers(-6, 6))
def test_a_view_moved_by_whole_cells_shows_the_same_lines_moved(columns, rows):
    """By whole cells, so that dots fall as before; names go where there is room and are left out here."""
    unnamed = (Line("obstacle", ((0.0, 0.0), (2.0, 1.0))), Circle("obstacle", (1.0, -1.0), 0.7))
    view = View((0.0, 0.0), 16.0, 80, 24)
    before = dots(drawn(unnamed, 80, 24, view=view))
    after = dots(drawn(unnamed, 80, 24, view=view.moved(columns / 80, rows / 24)))
    moved = {(r - 4 * rows, c - 2 * columns) for r, c in before}
    inside = {(r, c) for r, c in moved if 0 <= r < 96 and 0 <= c < 160}
    assert len(inside ^ after) <= 0.1 * len(before)  # rounding may shift a dot by one

"""Straight lines of points, gaps under a straightedge and F-numbers against worked examples and scipy's hull."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.spatial import ConvexHull

from readiness.measure.floor_standards import FLOOR_LINE, din18202_limit
from readiness.measure.regularity import (
    BESIDE,
    FOOT,
    Line,
    bs8204,
    din18202,
    f_lines,
    gap_under,
    lines,
    rests,
)
from readiness.measure.surface import Surface
from tests.outside import given as outside
from tests.outside import rows, table


def profile(heights, step=0.5):
    return Line(
        tuple(f"P{k}" for k in range(len(heights))),
        tuple(step * k for k in range(len(heights))),
        tuple(map(float, heights)),
    )


PROFILES = st.lists(st.integers(-30, 30).map(lambda z: z / 2), min_size=3, max_size=14)


# --- lines in plan -------------------------------------------------------------------------------


def test_a_grid_of_three_by_three_has_eight_lines():
    """Rows, columns and both diagonals: the lines of noughts and crosses."""
    points = {f"{i}{j}": (float(i), float(j), 0.0) for i in range(3) for j in range(3)}
    found = {frozenset(line.names) for line in lines(points)}
    assert len(found) == 8
    assert {"00", "11", "22"} in found
    assert all(len(line) == 3 for line in found)


@pytest.mark.parametrize("n", [4, 5, 7])
def test_lines_of_larger_grids(n):
    """Against trying every pair of points with whole numbers."""
    points = {f"{i}-{j}": (float(i), float(j), 0.0) for i in range(n) for j in range(n)}
    places = {name: (int(x), int(y)) for name, (x, y, _) in points.items()}
    exact = set()
    for a, b in itertools.combinations(places, 2):
        (ax, ay), (bx, by) = places[a], places[b]
        on = frozenset(c for c, (x, y) in places.items() if (bx - ax) * (y - ay) == (by - ay) * (x - ax))
        exact |= {on} if len(on) > 2 else set()
    assert {frozenset(line.names) for line in lines(points, beside=1e-6)} == exact


@given(st.integers(3, 9), st.floats(0.2, 1.0), st.floats(0, 6.28), st.randoms(use_true_random=False))
def test_points_in_line_are_one_line_wherever_it_lies(n, step, turn, chance):
    order = list(range(n))
    chance.shuffle(order)
    aside = [0.0, *(chance.uniform(-0.9, 0.9) * BESIDE for _ in range(n - 2)), 0.0]
    points = {
        f"P{k}": (
            4 + step * k * math.cos(turn) - aside[k] * math.sin(turn),
            2 + step * k * math.sin(turn) + aside[k] * math.cos(turn),
            k,
        )
        for k in order
    }
    line = lines(points)[0]
    assert line.names in (tuple(f"P{k}" for k in range(n)), tuple(f"P{k}" for k in reversed(range(n))))
    assert [b - a for a, b in itertools.pairwise(line.along)] == pytest.approx([step] * (n - 1), abs=1e-9)
    assert line.heights in (tuple(range(n)), tuple(reversed(range(n))))


def test_a_point_beside_the_straightedge_is_not_under_it():
    points = {"A": (0.0, 0.0, 0.0), "B": (1.0, BESIDE + 0.001, 0.0), "C": (2.0, 0.0, 0.0)}
    assert lines(points) == ()
    assert lines({}) == lines({"A": (0.0, 0.0, 0.0)}) == ()


def test_two_points_at_one_place_are_one():
    points = {"A": (0.0, 0.0, 0.0), "B": (1.0, 0.0, 0.0), "B again": (1.0, 0.0, 9.0), "C": (2.0, 0.0, 0.0)}
    assert [line.names for line in lines(points)] == [("A", "B", "C")]


# --- gaps ----------------------------------------------------------------------------------------


def test_a_hollow_by_hand():
    # 0, -4, 1 at 0, 0.5, 1.5 m: the edge from 0 to 1 lies at 1/3 over the hollow, 4.333 mm
    line = Line(("A", "B", "C"), (0.0, 0.5, 1.5), (0.0, -4.0, 1.0))
    gap = gap_under(line, 2.0)
    assert (gap.mm, gap.under, gap.on, gap.length) == (pytest.approx(4 + 1 / 3), "B", ("A", "C"), 1.5)
    assert gap.weights == pytest.approx({"A": 2 / 3, "B": -1.0, "C": 1 / 3})
    assert gap_under(line, 1.0) is None  # nothing lies between two points a metre apart


def test_a_hump_has_no_gap_between_what_the_edge_rests_on():
    gap = gap_under(profile([0, 2, 3, 3, 2, 0]), 2.0)
    assert gap.mm == 0.0
    assert set(gap.weights.values()) == {0.0}


@given(PROFILES, st.floats(0.5, 5.0))
def test_gaps_are_those_of_the_upper_hull_of_every_window(heights, length):
    """Qhull by scipy: a far point below closes the hull, so that what is left is its upper side."""
    line = profile(heights)
    worst = None
    for i, j in itertools.combinations(range(len(heights)), 2):
        if j - i < 2 or line.along[j] - line.along[i] > length:
            continue
        x, z = np.array(line.along[i : j + 1]), np.array(line.heights[i : j + 1])
        hull = ConvexHull(np.column_stack([[*x, x.mean()], [*z, z.min() - 1000.0]]))
        top = sorted(set(hull.vertices) - {len(x)})
        gap = float((np.interp(x, x[top], z[top]) - z).max())
        worst = gap if worst is None else max(worst, gap)
    found = gap_under(line, length)
    assert (found is None) == (worst is None)
    if found is not None:
        assert found.mm == pytest.approx(worst, abs=1e-9)


@given(PROFILES)
def test_a_straightedge_rests_on_nothing_that_is_lower_than_what_is_under_it(heights):
    line = profile(heights)
    at = dict(zip(line.names, zip(line.along, line.heights, strict=True), strict=True))
    for gap in rests(line):
        (x0, z0), (x1, z1) = (at[n] for n in gap.on)
        between = [(x, z) for x, z in at.values() if x0 < x < x1]
        gaps = [z0 + (z1 - z0) * (x - x0) / (x1 - x0) - z for x, z in between]
        assert min(gaps) >= -1e-9
        assert max(gaps) == pytest.approx(gap.mm, abs=1e-9)
        assert gap.length == x1 - x0


@given(PROFILES, st.floats(-5, 5), st.floats(-5, 5), st.floats(-9, 9), st.floats(0.5, 5), st.floats(0, 6))
def test_a_plane_added_changes_no_gap(heights, b, c, a, length, turn):
    """Flatness is not levelness (DIN 18202 section 5, from memory): a perfect ramp passes."""
    flat = {f"P{k}": (0.5 * k * math.cos(turn), 0.5 * k * math.sin(turn), z) for k, z in enumerate(heights)}
    ramp = {n: (x, y, z + a + b * x + c * y) for n, (x, y, z) in flat.items()}
    one, other = (gap_under(lines(points)[0], length) for points in (flat, ramp))
    assert (one is None) == (other is None)
    if one is not None:
        assert other.mm == pytest.approx(one.mm, abs=1e-7)


@given(PROFILES, st.floats(1.0, 4.0), st.floats(0, 2))
def test_a_longer_straightedge_gaps_no_less(heights, length, more):
    short, long = (gap_under(profile(heights), m) for m in (length, length + more))
    assert short is None or long.mm >= short.mm - 1e-12


def test_u_of_a_gap_follows_from_its_heights():
    # by hand: the middle of two ends, each of u 0.4 alone: 0.4 sqrt(1 + 1/4 + 1/4)
    points = {"A": (0.0, 0.0, 0.0), "B": (1.0, 0.0, -3.0), "C": (2.0, 0.0, 0.0)}
    surface = Surface({n: p[:2] for n, p in points.items()}, {n: p[2] for n, p in points.items()}, {n: {n: 0.4} for n in points})  # fmt: skip
    gap = gap_under(lines(points)[0], 2.0)
    found = surface.total(gap.weights)
    assert found.value == pytest.approx(gap.mm)
    assert found.u == pytest.approx(0.4 * math.sqrt(1.5))


# --- classes -------------------------------------------------------------------------------------


@pytest.mark.parametrize("row", rows("floor_bs8204", lambda r: r["class"]))
def test_bs_8204_by_a_hollow_under_the_straightedge(row):
    """A hollow as deep as the class allows, in the middle of 2 m; one a little longer does not count."""
    most = float(row["max_gap_mm_under_2_m"])
    name, gap = bs8204([profile([0, -most, 0], step=1.0)])
    assert (name, gap.mm) == (row["class"], most)
    assert bs8204([profile([0, -most - 0.1, 0], step=1.0)])[0] != row["class"]
    assert bs8204([profile([0, -most, 0], step=1.01)]) is None


def test_the_worst_line_makes_the_class():
    name, gap = bs8204([profile([0, -2, 0]), profile([5, -1, 5]), profile([0, 1, 0])])
    assert (name, gap.mm) == ("SR3", 6.0)
    assert bs8204([profile([0, -11, 0])])[0] == ""
    assert bs8204([]) is None


DIN_ROWS = [
    outside(f"row{r['row']}-{m}m", r["source"], r["verified"], r["row"], m, mm)
    for r in table()["floor_din18202"]
    for m, mm in {**r["mm_at_m"], **r["interpolated_mm_at_m"]}.items()
]


@pytest.mark.parametrize(("row", "length", "mm"), DIN_ROWS)
def test_din_18202_over_the_chord(row, length, mm):
    """Table 3 and a trade handbook's printing (check values): the limit over the chord is what is printed for it."""
    gap, limit = din18202([profile([0, -mm, 0], step=length / 2)], row)
    assert (gap.mm, limit) == (mm, mm)


def test_din_18202_looks_at_every_chord():
    # 3 mm over 1 m are within 4; 8 mm over 2 m are not within 6, and use more of what is allowed
    line = profile([0, -3, 0, -8, -8, -8, 0], step=0.5)
    gap, limit = din18202([line], 3)
    assert gap.on == ("P2", "P6")
    assert limit == din18202_limit(3, 2.0) == 6
    assert gap.mm == 8.0
    assert din18202([profile([0, -1, 0], step=0.04)], 3) is None  # the table begins at 0.1 m
    assert din18202([profile([0, 1, 0])], 3) is None


# --- F-numbers -----------------------------------------------------------------------------------


def walked(heights_in, step=FOOT, turn=0.3):
    """Points in a line a foot apart, of these heights in inches."""
    return {
        f"P{k:02}": (step * k * math.cos(turn), step * k * math.sin(turn), 25.4 * z)
        for k, z in enumerate(heights_in)
    }


@pytest.mark.parametrize("row", rows("floor_fnumbers"))
@pytest.mark.parametrize("stretch", [1.0, 0.975, 1.025])
def test_f_numbers_of_points_a_foot_apart(row, stretch):
    ((names, ff, fl),) = f_lines(lines(walked(row["heights_in"], FOOT * stretch)))
    assert names in (tuple(sorted(names)), tuple(sorted(names, reverse=True)))
    assert len(names) == len(row["heights_in"])
    assert (ff, fl) == pytest.approx((row["FF"], row["FL"]), abs=6e-4)


@pytest.mark.parametrize("row", rows("floor_fnumbers"))
def test_other_spacings_and_shorter_lines_have_no_f_numbers(row):
    assert f_lines(lines(walked(row["heights_in"], 1.04 * FOOT))) == []
    assert f_lines(lines(walked(row["heights_in"], 0.5))) == []
    short = row["heights_in"][: FLOOR_LINE - 1]
    assert f_lines(lines(walked(short))) == []


def test_a_line_with_a_wider_step_is_two():
    there = walked([0.01 * (k % 3) for k in range(27)])
    gone = {n: p for n, p in there.items() if n != "P13"}
    assert sorted(len(names) for names, _, _ in f_lines(lines(gone))) == [13, 13]
    gone = {n: p for n, p in there.items() if n not in ("P09", "P25")}
    assert [len(names) for names, _, _ in f_lines(lines(gone))] == [15]


@settings(max_examples=50)
@given(st.lists(st.integers(-20, 20), min_size=12, max_size=20), st.floats(-5, 5), st.floats(-5, 5))
def test_a_plane_added_changes_no_ff(hundredths, b, c):
    """FF is made of changes of slope, which a plane has not; FL is levelness and does change."""
    assume(len(set(hundredths)) > 2)
    flat = walked([z / 100 for z in hundredths])
    ramp = {n: (x, y, z + b * x + c * y) for n, (x, y, z) in flat.items()}
    ((_, ff, _),) = f_lines(lines(flat))
    ((_, other, _),) = f_lines(lines(ramp))
    assert other == pytest.approx(ff, rel=1e-6)

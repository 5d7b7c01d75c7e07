"""Polygons and their outside as unions of convex pieces, against shapely's areas."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import example, given, settings
from hypothesis import strategies as st
from shapely.geometry import Polygon

from readiness.measure import polygon
from readiness.measure.plan import Area, mirrored, moved
from readiness.measure.polygon import hull
from readiness.measure.poses.cover import convex_cover, outside, widened

L_SHAPE = ((0, 0), (3, 0), (3, 1), (1, 1), (1, 3), (0, 3))
CROSS = ((1, 0), (2, 0), (2, 1), (3, 1), (3, 2), (2, 2), (2, 3), (1, 3), (1, 2), (0, 2), (0, 1), (1, 1))
COMB = ((0, 0), (7, 0), (7, 3), (6, 3), (6, 1), (5, 1), (5, 3), (4, 3), (4, 1), (3, 1), (3, 3), (2, 3), (2, 1), (1, 1), (1, 3), (0, 3))  # fmt: skip
TOUCHING_ITS_HULL = ((0, 0), (6, 0), (6, 3), (5, 2), (4, 3), (3, 3), (2, 1), (1, 3), (0, 3))
"""Two recesses in one straight side."""


@st.composite
def stars(draw: st.DrawFn, most: int = 9) -> Area:
    n = draw(st.integers(4, most))
    arms = draw(st.lists(st.floats(0.4, 3.0), min_size=n, max_size=n))
    start = draw(st.floats(0, 6))
    angles = [start + 2 * math.pi * k / n for k in range(n)]
    return Area(tuple((r * math.cos(a), r * math.sin(a)) for r, a in zip(arms, angles, strict=True)))


def is_convex(piece) -> bool:
    return Polygon(piece).convex_hull.area == pytest.approx(Polygon(piece).area, abs=1e-9)


def check_cover(area: Area) -> None:
    pieces = convex_cover(area.core)
    assert all(is_convex(p) for p in pieces)
    union = shapely.union_all(
        [Polygon(p) for p in pieces], grid_size=1e-9
    )  # without a grid GEOS may lose one
    assert union.symmetric_difference(Polygon(area.points)).area == pytest.approx(0.0, abs=1e-7)


def check_outside(area: Area) -> None:
    """Half-planes and pockets hold all that lies outside, and nothing that lies inside."""
    planes, pockets = outside(area.core)
    inside, around = Polygon(area.points), Polygon(area.points).buffer(1.0, join_style="mitre")
    far = []
    for p, q in planes:
        length = math.dist(p, q)
        e = (20 * (q[0] - p[0]) / length, 20 * (q[1] - p[1]) / length)
        a, b = (p[0] - e[0], p[1] - e[1]), (q[0] + e[0], q[1] + e[1])
        far.append(Polygon([a, b, (b[0] - e[1], b[1] + e[0]), (a[0] - e[1], a[1] + e[0])]))
    pieces = [*far, *(Polygon(p) for p in pockets)]
    assert all(p.intersection(inside).area == pytest.approx(0.0, abs=1e-7) for p in pieces)
    # place by place: GEOS loses areas where it joins or subtracts pieces with sides nearly in line
    x1, y1, x2, y2 = around.bounds
    net = [((x1 + (x2 - x1) * i / 40), (y1 + (y2 - y1) * j / 40)) for i in range(41) for j in range(41)]
    places = shapely.points(net)
    there = places[shapely.contains(around, places) & (shapely.distance(inside, places) > 1e-6)]
    assert (np.min([shapely.distance(p, there) for p in pieces], axis=0) <= 1e-7).all()
    assert all(is_convex(p) for p in pockets)


@pytest.mark.parametrize("points", [L_SHAPE, CROSS, COMB, TOUCHING_ITS_HULL])
def test_pieces_make_up_the_polygon_and_pockets_its_outside(points):
    for heading in (0.0, 33.0, 90.0):
        area = moved(Area(points), 2.0, -1.0, heading)
        assert isinstance(area, Area)
        check_cover(area)
        check_outside(area)


@settings(max_examples=60, deadline=None)
@given(stars())
def test_pieces_make_up_any_star_and_pockets_its_outside(area):
    check_cover(area)
    check_outside(area)


def test_a_polygon_of_many_corners_is_cut_all_the_same():
    n = 60
    spikes = tuple(((1 + k % 2) * math.cos(math.tau * k / n), (1 + k % 2) * math.sin(math.tau * k / n)) for k in range(n))  # fmt: skip
    check_cover(Area(spikes))
    check_outside(Area(spikes))


def test_the_arms_of_an_angle_overlap_in_its_elbow():
    """Plane geometry: an L is two rectangles."""
    corners = {frozenset(p) for p in convex_cover(Area(L_SHAPE).core)}
    assert corners == {
        frozenset({(0, 0), (3, 0), (3, 1), (0, 1)}),
        frozenset({(0, 0), (1, 0), (1, 3), (0, 3)}),
    }


@settings(max_examples=40, deadline=None)
@given(stars(most=7), st.integers(0, 8))
def test_pieces_do_not_depend_on_where_corners_begin_or_on_a_mirror(area, first):
    k = first % len(area.points)
    other = Area(area.points[k:] + area.points[:k])
    glass = mirrored(area)
    assert isinstance(glass, Area)
    areas = [sorted(round(Polygon(p).area, 6) for p in convex_cover(a.core)) for a in (area, other, glass)]
    assert areas[0] == pytest.approx(areas[1], abs=1e-5)
    assert areas[0] == pytest.approx(areas[2], abs=1e-5)


NEARLY_UPRIGHT = ((-0.3, 0.1), (-0.3 + 1e-16, -0.7), (-0.3 + 2e-16, 0.6), (1.0, 0.0))
"""The lowest place of the left side is sorted between two others."""


UPRIGHT = st.sampled_from([x + k * 1e-16 for x in (-0.3, 0.2) for k in range(-2, 3)])


@example(NEARLY_UPRIGHT, 1e-9)
@example(((0.2 - 2e-16, 1.0), (0.2 - 2e-16, -1.0), (0.2 - 1e-16, 0.0)), 1e-9)
@given(st.lists(st.tuples(UPRIGHT, st.floats(-1, 1)), min_size=3, max_size=9), st.sampled_from([0.0, 1e-9]))
def test_a_hull_loses_no_corner_on_a_side_that_is_upright_but_for_rounding(places, near):
    """shapely's convex hull."""
    whole, ours = shapely.MultiPoint(places).convex_hull, hull(places, near)
    found = Polygon(ours) if len(ours) > 2 else shapely.MultiPoint(ours).convex_hull
    assert shapely.hausdorff_distance(whole, found) <= 1e-8


@settings(max_examples=40, deadline=None)
@given(stars(), st.floats(0.01, 2.0))
def test_a_widened_hull_is_what_lies_within_all_its_lines_moved_out(area, by):
    """shapely: the hull with a mitred edge about it."""
    wide, expected = Polygon(widened(area.core, by)), Polygon(area.points).convex_hull
    expected = expected.buffer(by, join_style="mitre", mitre_limit=1e6)
    assert wide.symmetric_difference(expected).area == pytest.approx(0.0, abs=1e-6 * (1 + expected.area))


def test_a_very_jagged_polygon_is_cut_up_with_few_trials(monkeypatch):
    """200 corners, as many as a file may give; every ear tried against every corner anew would be a million trials."""
    tried, within = [], polygon._in_triangle
    monkeypatch.setattr(polygon, "_in_triangle", lambda *at: tried.append(1) or within(*at))
    star = [
        ((3 - k % 2) * math.cos(math.pi * k / 100), (3 - k % 2) * math.sin(math.pi * k / 100))
        for k in range(200)
    ]
    pieces = convex_cover(Area(tuple(star)).core)
    assert sum(Polygon(p).area for p in pieces) == pytest.approx(Polygon(star).area)
    assert len(tried) < 100_000

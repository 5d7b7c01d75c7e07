"""Plan geometry of outlines against shapely, on a coarse grid so that touching and folding occur."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from shapely.geometry import LineString, Point, Polygon

from readiness.checklist import outline

GRID = st.integers(0, 5).map(float)
PLACE = st.tuples(GRID, GRID)


@given(st.lists(PLACE, min_size=3, max_size=7))
def test_simple_where_shapely_says_valid(points: list[tuple[float, float]]) -> None:
    ring = [*points, points[0]]
    assume(all(a != b for a, b in pairwise(ring)))
    simple = LineString(ring).is_simple and Polygon(points).is_valid and Polygon(points).area > 0
    assert (outline.crossing(points) is None) == simple


@given(st.lists(PLACE, min_size=3, max_size=7), PLACE)
def test_inside_where_shapely_says_covered(
    points: list[tuple[float, float]], place: tuple[float, float]
) -> None:
    polygon = Polygon(points)
    assume(polygon.is_valid and polygon.area > 0)
    assert outline.inside(place, points) == polygon.covers(Point(place))


def test_a_corner_written_twice_is_a_fold() -> None:
    assert outline.crossing([(0, 0), (1, 0), (1, 0), (0, 1)]) is not None


@given(st.lists(PLACE, min_size=3, max_size=8))
def test_spread_is_none_exactly_where_the_points_are_in_line(points: list[tuple[float, float]]) -> None:
    """Rank of the centred points by numpy."""
    centred = np.array(points) - np.mean(points, axis=0)
    in_line = np.linalg.matrix_rank(centred, tol=1e-9) < 2
    assert (outline.spread_across(points) < 1e-9) == in_line


def test_spread_of_a_right_angle() -> None:
    assert outline.spread_across([(0, 0), (3, 0), (0, 4)]) == pytest.approx(12 / 5)


def nearest_sides(points: list[tuple[float, float]]) -> float:
    """The least distance of two sides that are no neighbours, by shapely."""
    n = len(points)
    sides = [LineString([p, points[(k + 1) % n]]) for k, p in enumerate(points)]
    return min(sides[i].distance(sides[j]) for i in range(n) for j in range(i + 2, n - (i == 0)))


@given(st.lists(PLACE, min_size=4, max_size=7), st.sampled_from([0.3, 0.6]))
def test_sides_nearer_than_asked_touch(points: list[tuple[float, float]], apart: float) -> None:
    assume(outline.crossing(points) is None)
    least = nearest_sides(points)
    assume(abs(least - apart) > 1e-9)
    if least < apart:
        assert outline.crossing(points, apart) is not None
    if outline.crossing(points, apart) is None:
        assert least > apart


CENTIMETRES = st.integers(-500, 500).map(lambda n: n / 100)
PARTS = st.lists(st.tuples(CENTIMETRES, CENTIMETRES), min_size=2, max_size=2)


@given(PARTS, PARTS)
def test_distance_of_sides_is_that_of_shapely(one, other) -> None:
    assume(not outline.meet(*one, *other))
    assert outline.away(*one, *other) == pytest.approx(LineString(one).distance(LineString(other)), abs=1e-9)

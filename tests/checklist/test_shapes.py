"""Shapes that files may draw: what is read can be measured against, turned any way; shapely says what is sound."""

from __future__ import annotations

from itertools import pairwise
from math import radians

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from msgspec.structs import replace
from shapely.geometry import LinearRing, Polygon

from readiness import job
from readiness.checklist.mistakes import Mistake
from readiness.checklist.nodes import Text
from readiness.checklist.shapes import SHAPE_RULES, SHORTEST, closed, corners_of
from readiness.checklist.spot import Spot
from readiness.measure.plan import Area, PointAt, SectorAt, moved, signed_clearance

XY = tuple[float, float]
coarse = st.tuples(st.integers(-4, 4).map(float), st.integers(-4, 4).map(float))
fine = st.tuples(st.floats(-4, 4), st.floats(-4, 4))
slightly_off = st.builds(lambda p, dx, dy: (p[0] + dx, p[1] + dy), coarse, *[st.floats(-0.002, 0.002)] * 2)


def spot() -> Spot:
    return Spot(Text("", 1, 1), "", "file", [])


def mistakes(value: job.Zone | job.Sector | job.Obstacle) -> list[Mistake]:
    here = spot()
    SHAPE_RULES[type(value)](value, here)
    return here.mistakes


def points(corners: list[XY]) -> tuple[job.Point, ...]:
    return tuple(job.Point(x=x, y=y) for x, y in corners)


@given(st.lists(st.one_of(coarse, fine, slightly_off), min_size=3, max_size=8), st.floats(-180, 180))
def test_a_polygon_that_is_read_is_an_area_whichever_way_it_is_turned(corners: list[XY], turn: float) -> None:
    if not closed(points(corners), spot(), "it"):
        return
    area = Area(tuple(corners))
    assert Polygon(corners).is_valid
    assert signed_clearance(moved(area, 3.7, -1.1, turn), PointAt(100.0, 0.0)) > 0


@given(st.lists(coarse, min_size=3, max_size=8))
def test_on_a_grid_a_polygon_is_read_exactly_where_shapely_says_that_it_is_sound(corners: list[XY]) -> None:
    """On whole metres, where nothing is nearly so; shapely takes a corner that comes again at once as one."""
    repeats = any(p == q for p, q in pairwise([*corners, corners[0]]))
    sound = not repeats and LinearRing(corners).is_simple and Polygon(corners).area > 0
    assert closed(points(corners), spot(), "it") == sound


@given(st.lists(coarse, min_size=3, max_size=8), st.integers(0, 7), st.booleans())
def test_where_it_begins_and_which_way_round_does_not_matter(corners: list[XY], k: int, back: bool) -> None:
    k %= len(corners)
    other = corners[k:] + corners[:k]
    assert closed(points(corners), spot(), "") == closed(points(other[::-1] if back else other), spot(), "")


@given(st.integers(-400, 400), st.integers(-400, 400), st.floats(0.1, 10))
def test_a_slice_that_is_read_can_be_measured_against(start: int, end: int, radius: float) -> None:
    sector = job.Sector(at=job.Point(x=0.0, y=0.0), radius=radius, start=float(start), end=float(end))
    turn = end - start
    nothing = turn % 360 == 0 and turn != 360
    changed_over = turn < 0 and turn % 360 > 180
    assert bool(mistakes(sector)) == (abs(turn) > 360 or nothing or changed_over)
    if changed_over and turn >= -360:  # as the message says, the large slice itself can be written
        written = replace(sector, end=sector.end + 360.0)
        assert not mistakes(written)
    if not mistakes(sector):
        shape = SectorAt(0.0, 0.0, radius, float(start), float(end))
        assert shape.angle == pytest.approx(turn % 360 or 360)


@given(st.floats(-360, 360), st.floats(0, 1e-3), st.floats(0.1, 10))
def test_a_slice_narrower_than_a_millimetre_is_none(start: float, angle: float, radius: float) -> None:
    sector = job.Sector(at=job.Point(x=0.0, y=0.0), radius=radius, start=start, end=start + angle)
    width = radians(sector.end - sector.start) * radius
    assume(abs(width - SHORTEST) > 1e-9)
    assert bool(mistakes(sector)) == (width < SHORTEST)


@given(fine, st.floats(0.01, 3), st.lists(fine, min_size=3, max_size=5))
def test_corners_span_the_shape(at: XY, radius: float, corners: list[XY]) -> None:
    """Against shapely's boxes."""
    place = job.Point(x=at[0], y=at[1])
    other = job.Point(x=corners[0][0], y=corners[0][1])
    disc = job.Obstacle(name="d", disc=job.Disc(at=place, radius=radius))
    polygon = job.Obstacle(name="p", polygon=points(corners))
    wall = job.Obstacle(name="w", wall=job.Segment(start=place, end=other))
    assert box(corners_of(disc)) == pytest.approx(
        (at[0] - radius, at[1] - radius, at[0] + radius, at[1] + radius)
    )
    assert box(corners_of(polygon)) == Polygon(corners).bounds
    assert box(corners_of(wall)) == box([at, corners[0]])
    assert corners_of(job.Obstacle(name="n")) == []


def box(corners: list[XY]) -> tuple[float, float, float, float]:
    xs, ys = zip(*corners, strict=True)
    return min(xs), min(ys), max(xs), max(ys)

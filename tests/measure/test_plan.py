"""Clearance in plan against shapely, against plane geometry by hand, and against its own definition."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, Point

from readiness.measure.plan import (
    Area,
    BoxAt,
    Capsule,
    DiscAt,
    PointAt,
    SectorAt,
    SegmentAt,
    Shape,
    mirrored,
    moved,
    nearest,
    signed_clearance,
)
from tests.measure.plan_oracle import core_of, depths, distances, radius_of
from tests.measure.plan_shapes import L_SHAPE, U_SHAPE
from tests.outside import given as outside
from tests.outside import rows

NEAR = 1e-7


# --- shapes --------------------------------------------------------------------------------------


def from_wkt(text: str) -> Shape:
    g = shapely.from_wkt(text)
    if isinstance(g, Point):
        return PointAt(g.x, g.y)
    if isinstance(g, LineString):
        (x1, y1), (x2, y2) = g.coords
        return SegmentAt(x1, y1, x2, y2)
    return Area(tuple(g.exterior.coords[:-1]))


# hundredths of a metre: a tape's grid, on which touching and lining up happen often
places = st.integers(-400, 400).map(lambda n: n / 100)
radii = st.integers(0, 150).map(lambda n: n / 100)


@st.composite
def boxes(draw: st.DrawFn) -> BoxAt:
    x1, x2 = draw(st.lists(places, min_size=2, max_size=2, unique=True))
    y1, y2 = draw(st.lists(places, min_size=2, max_size=2, unique=True))
    return BoxAt(x1, y1, x2, y2)


@st.composite
def stars(draw: st.DrawFn) -> Area:
    """Simple polygons round a middle, most of them concave."""
    n = draw(st.integers(3, 8))
    arms = draw(st.lists(st.floats(0.3, 3.0), min_size=n, max_size=n))
    cx, cy, turn = draw(places), draw(places), draw(st.floats(0, 6.28))
    angles = [turn + 2 * math.pi * k / n for k in range(n)]
    return Area(
        tuple((cx + r * math.cos(a), cy + r * math.sin(a)) for r, a in zip(arms, angles, strict=True))
    )


@st.composite
def fixed_concave(draw: st.DrawFn) -> Shape:
    shape = draw(st.sampled_from([U_SHAPE, L_SHAPE]))
    return moved(shape, draw(places), draw(places), draw(st.sampled_from([0.0, 90.0, 33.0, 180.0])))


points = st.builds(PointAt, places, places)
discs = st.builds(DiscAt, places, places, radii)
segments = st.builds(SegmentAt, places, places, places, places)
capsules = st.builds(Capsule, places, places, places, places, radii)
convex = st.one_of(points, discs, segments, capsules, boxes())
concave = st.one_of(stars(), fixed_concave())
straight = st.one_of(convex, concave)
"""Shapes that shapely knows, less a radius."""
sectors = st.builds(
    lambda x, y, r, start, turn: SectorAt(x, y, r, start, start + turn),
    places, places, radii, st.integers(-180, 180), st.one_of(st.integers(1, 360), st.floats(0.1, 360)),
)  # fmt: skip
shapes = st.one_of(straight, sectors)


# --- plane geometry ------------------------------------------------------------------------------


@pytest.mark.parametrize("row", [p for p in rows("geometry") if "distance" in p.values[0]])
def test_clearance_is_the_distance_of_the_reference_rows(row):
    a, b = from_wkt(row["a"]), from_wkt(row["b"])
    here = signed_clearance(a, b)
    assert max(here, 0.0) == pytest.approx(row["distance"], abs=1e-9)
    assert signed_clearance(b, a) == pytest.approx(here, abs=1e-12)


@pytest.mark.parametrize(
    ("zone", "obstacle", "expected"),
    [
        outside("disc-point", "plane geometry", "hand", DiscAt(0, 0, 1), PointAt(3, 4), 4.0),
        outside("disc-in-disc", "plane geometry", "hand", DiscAt(0, 0, 2), DiscAt(1, 0, 0.5), -1.5),
        outside("same-centre", "plane geometry", "hand", DiscAt(1, 1, 2), DiscAt(1, 1, 1), -3.0),
        outside("corridor-wall", "plane geometry", "hand", Capsule(0, 0, 5, 0, 0.5), SegmentAt(0, 2, 5, 2), 1.5),
        outside("corridor-crossed", "plane geometry", "hand", Capsule(0, 0, 5, 0, 0.5), SegmentAt(4, -9, 4, 9), -1.5),
        outside("touching-box", "plane geometry", "hand", BoxAt(0, 0, 1, 1), BoxAt(1, 0, 2, 1), 0.0),
        outside("box-in-box", "plane geometry", "hand", BoxAt(0, 0, 10, 4), BoxAt(1, 1, 2, 2), -2.0),
        outside("same-box", "plane geometry", "hand", BoxAt(0, 0, 3, 2), BoxAt(0, 0, 3, 2), -2.0),
        outside("disc-in-box", "plane geometry", "hand", DiscAt(1, 1, 0.25), BoxAt(0, 0, 4, 4), -1.25),
        outside("box-in-notch", "G10 polygon, by hand", "hand", U_SHAPE, BoxAt(1.5, 2, 2.5, 3), 0.5),
        # 0.25 into the left arm: the notch leaves room to go right
        outside("box-in-arm", "G10 polygon, by hand", "hand", U_SHAPE, BoxAt(0.75, 2, 1.75, 3), -0.25),
        # too wide for the notch by 0.5 and 2 deep: up is 2 away, sideways further
        outside("box-over-notch", "G10 polygon, by hand", "hand", U_SHAPE, BoxAt(0.75, 2, 3.25, 5), -2.0),
        # on the seam of any cutting into triangles a point is as deep as its nearest side
        outside("point-in-elbow", "plane geometry", "hand", L_SHAPE, PointAt(0.5, 0.5), -0.5),
        outside("wall-in-elbow", "plane geometry", "hand", L_SHAPE, SegmentAt(0.5, 0.5, 2.5, 0.5), -0.5),
    ],
)  # fmt: skip
def test_clearance_by_hand(zone, obstacle, expected):
    assert signed_clearance(zone, obstacle) == pytest.approx(expected, abs=1e-9)


def test_a_ring_may_repeat_its_first_corner_and_go_either_way_round():
    ring = ((0, 0), (0, 2), (2, 2), (2, 0))
    for area in (Area(ring), Area(ring[::-1]), Area((*ring, ring[0]))):
        assert signed_clearance(area, PointAt(5, 1)) == 3.0
        assert signed_clearance(area, PointAt(1.5, 1)) == -0.5


# --- against shapely -----------------------------------------------------------------------------


@given(straight, straight)
@settings(max_examples=300)
def test_apart_it_is_the_distance_by_shapely_less_the_radii(a, b):
    apart, radii = shapely.distance(core_of(a), core_of(b)), radius_of(a) + radius_of(b)
    ours = signed_clearance(a, b)
    if apart > max(radii, NEAR):
        assert ours == pytest.approx(apart - radii, abs=1e-9)
    else:
        # in a recess of a concave shape the way out of what is round may be longer than the radii overlap
        assert ours <= apart - radii + NEAR


@given(convex, convex)
@settings(max_examples=200)
def test_convex_depth_is_the_distance_to_the_edge_of_the_difference_by_shapely(a, b):
    ca, cb = core_of(a), core_of(b)
    assume(ca.intersects(cb))
    corners = [
        (p[0] - q[0], p[1] - q[1]) for p in shapely.get_coordinates(ca) for q in shapely.get_coordinates(cb)
    ]
    difference = shapely.convex_hull(shapely.MultiPoint(corners))
    edge = difference.boundary if difference.geom_type == "Polygon" else difference
    depth = edge.distance(Point(0, 0))
    assert signed_clearance(a, b) == pytest.approx(-depth - radius_of(a) - radius_of(b), abs=1e-9)


@given(stars(), st.integers(0, 7), st.floats(0, 0.99))
@settings(max_examples=100)
def test_a_point_in_a_concave_area_is_as_deep_as_its_nearest_side(area, corner, part):
    middle = [sum(c) / len(area.points) for c in zip(*area.points, strict=True)]
    x, y = area.points[corner % len(area.points)]
    p = PointAt(middle[0] + part * (x - middle[0]), middle[1] + part * (y - middle[1]))
    polygon = core_of(area)
    depth = polygon.exterior.distance(core_of(p)) * (1 if polygon.covers(core_of(p)) else -1)
    assert signed_clearance(area, p) == pytest.approx(-depth, abs=1e-9)


@given(concave, st.one_of(segments, boxes(), stars()))
@settings(max_examples=150)
@example(U_SHAPE, BoxAt(0.75, 2, 3.25, 5))
def test_the_way_out_of_a_concave_area_is_long_enough_and_no_longer(a, b):
    """By definition: moved by the way out they no longer overlap, by less in any direction they do."""
    ca, cb = core_of(a), core_of(b)
    depth = -signed_clearance(a, b)
    assume(depth > 1e-3)
    pa, pb = nearest(a, b)
    dx, dy = pa[0] - pb[0], pa[1] - pb[1]
    freed = shapely.affinity.translate(cb, dx, dy)
    assert not ca.buffer(-1e-5, join_style="mitre").intersects(freed)
    for k in range(24):
        angle = 2 * math.pi * k / 24
        less = (depth - 1e-6) * 0.999
        assert ca.intersects(shapely.affinity.translate(cb, less * math.cos(angle), less * math.sin(angle)))


# --- laws ----------------------------------------------------------------------------------------


@given(shapes, shapes)
@settings(max_examples=150)
def test_zone_and_obstacle_may_change_places(a, b):
    assert signed_clearance(a, b) == pytest.approx(signed_clearance(b, a), abs=1e-7)


@given(shapes, shapes)
@settings(max_examples=150)
def test_the_mirror_image_has_the_same_clearance(a, b):
    assert signed_clearance(mirrored(a), mirrored(b)) == pytest.approx(signed_clearance(a, b), abs=1e-7)
    assert mirrored(mirrored(a)) == a


@given(shapes, shapes, places, places, st.floats(-180, 180))
@settings(max_examples=150)
def test_the_frame_does_not_matter(a, b, dx, dy, heading):
    there = signed_clearance(moved(a, dx, dy, heading), moved(b, dx, dy, heading))
    assert there == pytest.approx(signed_clearance(a, b), abs=2e-7)


@given(shapes, shapes, places, places)
@settings(max_examples=200)
def test_no_step_changes_the_clearance_by_more_than_its_length(a, b, dx, dy):
    before, after = signed_clearance(a, b), signed_clearance(a, moved(b, dx, dy))
    assert abs(after - before) <= math.hypot(dx, dy) + 2e-7


@given(shapes, st.one_of(discs, capsules), radii)
@settings(max_examples=100)
def test_a_larger_radius_takes_its_growth_off_the_clearance(a, b, more):
    """At least: in a notch of a concave shape what is round may lose more."""
    grown = (
        DiscAt(b.x, b.y, b.radius + more)
        if isinstance(b, DiscAt)
        else Capsule(b.x1, b.y1, b.x2, b.y2, b.half_width + more)
    )
    before, after = signed_clearance(a, b), signed_clearance(a, grown)
    assert after <= before - more + 1e-9
    if before - more > 0 or not isinstance(a, Area | SectorAt):
        assert after == pytest.approx(before - more, abs=1e-9)


@given(shapes, shapes)
@settings(max_examples=200)
def test_the_nearest_places_lie_on_the_shapes_a_clearance_apart(a, b):
    pa, pb = nearest(a, b)
    assert math.dist(pa, pb) == pytest.approx(abs(signed_clearance(a, b)), abs=NEAR)
    for shape, place in ((a, pa), (b, pb)):
        at = np.array([place])
        assert distances(shape, at)[0] < NEAR
        assert depths(shape, at)[0] < NEAR


@given(shapes, shapes)
@settings(max_examples=200)
def test_moved_by_what_the_picture_shows_the_obstacle_just_touches(a, b):
    pa, pb = nearest(a, b)
    there = moved(b, pa[0] - pb[0], pa[1] - pb[1])
    assert signed_clearance(a, there) == pytest.approx(0.0, abs=1e-6)

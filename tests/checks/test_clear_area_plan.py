"""Clear area in plan: clearances, sides, reach, what to move where, the picture.

Outside reference: shapely (GEOS) for distances, after turning the bay into car axes with
shapely.affinity. Discs and corridors are their middle point or line less the radius, so nothing is faceted.
"""

from __future__ import annotations

import math
import re

import pytest
from hypothesis import assume, settings
from hypothesis import given as law
from hypothesis import strategies as st
from msgspec.structs import replace
from shapely import LineString, affinity, box
from shapely import Point as Dot

from readiness.checks.picture import Line, Spot
from readiness.job import Corridor, Disc, Obstacle, Point, Rectangle, Segment, Standing, Zone
from tests.checks.areas import AREA, BARE, DISC, NOTHING_ELSE, ZONES, area, bay, bin_at, post, sheet
from tests.scenes import SHOP, asked, judged, part

# --- against shapely ------------------------------------------------------------------------------

place = st.floats(-6, 6).map(lambda v: round(v, 3))
points = st.builds(lambda x, y: Point(x=x, y=y), place, place)
size = st.floats(0.05, 1.5).map(lambda v: round(v, 3))
rectangles = st.builds(
    lambda p, w, d: Rectangle(corner=p, opposite=Point(x=p.x + w, y=p.y - d)), points, size, size
)
segments = st.tuples(points, points).filter(lambda e: e[0] != e[1])
obstacles = st.one_of(
    points.map(lambda p: Obstacle(name="thing", point=p)),
    st.builds(lambda p, r: Obstacle(name="thing", disc=Disc(at=p, radius=r)), points, size),
    rectangles.map(lambda r: Obstacle(name="thing", rectangle=r)),
    segments.map(lambda e: Obstacle(name="thing", wall=Segment(start=e[0], end=e[1]))),
)
zones = st.one_of(
    st.builds(lambda p, r: Zone(id="zone", disc=Disc(at=p, radius=r)), points, size),
    rectangles.map(lambda r: Zone(id="zone", rectangle=r)),
    st.builds(
        lambda e, w: Zone(id="zone", corridor=Corridor(start=e[0], end=e[1], half_width=w)), segments, size
    ),
)
standings = st.builds(lambda x, y, h: Standing(x=x, y=y, heading=h), place, place, st.integers(-180, 180))


def shapely_core(thing):
    """A shape of job.py as shapely geometry, and the radius about it."""
    if getattr(thing, "point", None):
        return Dot(thing.point.x, thing.point.y), 0.0
    if thing.disc:
        return Dot(thing.disc.at.x, thing.disc.at.y), thing.disc.radius
    if thing.rectangle:
        a, b = thing.rectangle.corner, thing.rectangle.opposite
        return box(min(a.x, b.x), min(a.y, b.y), max(a.x, b.x), max(a.y, b.y)), 0.0
    line = getattr(thing, "wall", None) or thing.corridor
    width = getattr(line, "half_width", 0.0)
    return LineString([(line.start.x, line.start.y), (line.end.x, line.end.y)]), width


def shapely_clearance(zone, obstacle, standing, side):
    """Distance in m, or None where the two overlap."""
    (z, rz), (o, ro) = shapely_core(zone), shapely_core(obstacle)
    o = affinity.rotate(affinity.translate(o, -standing.x, -standing.y), -standing.heading, origin=(0, 0))
    if side == "right":
        z = affinity.scale(z, 1, -1, origin=(0, 0))
    apart = z.distance(o)
    return None if apart == 0 else apart - rz - ro


@law(zones, obstacles, standings, st.sampled_from(["left", "right"]))
def test_clearance_agrees_with_shapely(zone, obstacle, standing, side):
    j = area(obstacle, zones=(zone,), standing=standing, side=side)
    found = part(j, "zone/bay.1").value
    expected = shapely_clearance(zone, obstacle, standing, side)
    if expected is None:
        assert found <= 1e-9
    else:
        assert found == pytest.approx(expected, abs=1e-6)


@law(zones, obstacles, standings)
def test_right_side_of_a_mirrored_bay_is_the_left_side(zone, obstacle, standing):
    left = area(obstacle, zones=(zone,), standing=standing, side="left")
    other = Standing(x=standing.x, y=-standing.y, heading=-standing.heading)
    right = area(flipped(obstacle), zones=(zone,), standing=other, side="right")
    a, b = part(left, "zone/bay.1"), part(right, "zone/bay.1")
    assert a.value == pytest.approx(b.value, abs=1e-6)


def flipped(o):
    def p(point):
        return Point(x=point.x, y=-point.y)

    if o.point:
        return replace(o, point=p(o.point))
    if o.disc:
        return replace(o, disc=Disc(at=p(o.disc.at), radius=o.disc.radius))
    if o.rectangle:
        return replace(o, rectangle=Rectangle(corner=p(o.rectangle.corner), opposite=p(o.rectangle.opposite)))
    return replace(o, wall=Segment(start=p(o.wall.start), end=p(o.wall.end)))


@law(place, place)
def test_a_typed_place_is_mirrored_with_the_side(x, y):
    left = area(answers=bin_at(x, y), zones=ZONES, side="left")
    right = area(answers=bin_at(x, -y), zones=ZONES, side="right")
    assert part(left, "other.1").value == pytest.approx(part(right, "other.1").value, abs=1e-9)


@law(points, size, st.floats(-math.pi, math.pi))
def test_what_is_too_near_a_zone_is_within_the_reach(middle, radius, turn):
    zone = Zone(id="zone", disc=Disc(at=middle, radius=radius))
    label = asked(AREA, sheet=sheet(zone), side="left")["kit.1"].choices[0].label
    reach = float(re.search(r"farther than ([\d.]+) m", label)[1])
    away = radius + 0.29  # the margin asked is 0.3
    thing = Dot(middle.x + away * math.cos(turn), middle.y + away * math.sin(turn))
    car = box(-1.0, -0.91, 3.6, 0.91)  # the test sheet's length, width and front overhang
    assert min(thing.distance(car), thing.distance(Dot(-3.0, 1.5))) <= reach


@law(zones)
def test_reach_is_not_much_longer_than_it_must_be(zone):
    label = asked(AREA, sheet=sheet(zone), side="left")["kit.1"].choices[0].label
    reach = float(re.search(r"farther than ([\d.]+) m", label)[1])
    core, radius = shapely_core(zone)
    farthest = core.hausdorff_distance(Dot(-3.0, 1.5)) + radius + 0.3
    assert reach <= farthest + 0.1 + 0.5


# --- what to do -----------------------------------------------------------------------------------

SIGN = {"forward": (1, 0), "backward": (-1, 0), "to the left": (0, 1), "to the right": (0, -1)}


def moves(remedy):
    """The steps of a remedy as (dx, dy) in m."""
    steps = re.findall(r"([\d.]+) m (forward|backward|to the left|to the right)", remedy)
    assert steps, remedy
    return tuple(sum(float(d) * SIGN[way][axis] for d, way in steps) for axis in (0, 1))


@settings(max_examples=200)
@law(st.floats(-4.3, -0.5), st.floats(0.3, 2.8), st.sampled_from(ZONES), st.sampled_from(["left", "right"]))
def test_moving_as_told_passes(x, y, zone, side):
    mirror = -1 if side == "right" else 1
    before = part(area(answers=bin_at(x, mirror * y), zones=(zone,), side=side), "other.1")
    if before.outcome == "pass":
        assert before.remedy == ""
        return
    assume(abs(before.value) > 1e-3)  # where it just touches, no way out is the shortest
    dx, dy = moves(before.remedy)
    after = part(area(answers=bin_at(x + dx, mirror * y + dy), zones=(zone,), side=side), "other.1")
    assert after.outcome == "pass", before.remedy


def test_where_a_shop_reads_feet_a_move_is_whole_inches():
    """By hand as below: 0.4465 m are 17.58 inches, so 18; 25.4 mm an inch by definition."""
    shop = replace(SHOP, units="us")

    def post_at(y):
        around_it = {
            "sheet": sheet(DISC),
            "bay": bay(post(-3.0, y, fixed=False)),
            "side": "left",
            "shop": shop,
        }
        return part(judged(BARE, NOTHING_ELSE, sides=("left",), **around_it), "disc/bay.1")

    remedy = post_at(2.4).remedy
    assert remedy.startswith("Move the post at least 18 in to the left, as the car faces, or")
    assert [post_at(2.4 + n * 0.0254).outcome for n in (17, 18)] == ["too_close", "pass"]


def test_moving_a_disc_a_round_figure():
    # from the disc's edge at y = 2.5: margin 0.3 and guard 0.0465 and 0.1 in: 0.4465 m, up to whole cm
    p = part(area(post(-3.0, 2.4, fixed=False)), "disc/bay.1")
    assert p.remedy == (
        "Move the post at least 0.45 m to the left, as the car faces, or take it out of the area, "
        "then say here that it was moved."
    )


def test_what_is_fixed_means_another_bay():
    assert part(area(post(-3.0, 2.4, fixed=True)), "disc/bay.1").remedy == (
        "The post is fixed: choose another place or bay for the car."
    )


# --- the picture ----------------------------------------------------------------------------------


@law(obstacles, zones)
def test_picture_shows_the_smallest_clearance(obstacle, zone):
    j = area(obstacle, post(5.5, -5.5), zones=(zone,))
    [line] = [s for s in j.picture if isinstance(s, Line) and s.role == "clearance"]
    parts = [p for p in j.parts if not p.key.endswith("/bay")]
    smallest = min(p.value for p in parts if isinstance(p.value, float))
    assert math.dist(*line.points) == pytest.approx(abs(smallest), abs=1e-6)
    assert line.marked == any(p.outcome in ("fail", "too_close") for p in parts)


def test_picture_has_car_wheels_sensors_targets_mirrored_with_the_side():
    def spots(side):
        return {
            s.role: s.at
            for s in area(side=side).picture
            if isinstance(s, Spot) and s.role in ("sensor", "target")
        }

    left, right = spots("left"), spots("right")
    assert left["target"] == (-3.0, 1.5)
    assert right["target"] == (-3.0, -1.5)
    assert right["sensor"] == (left["sensor"][0], -left["sensor"][1])
    assert [s.role for s in area().picture].count("wheel") == 4
    assert [s.role for s in area().picture].count("car") == 1

"""Clear area: clearances, sides, metal and height, what is asked, what to move.

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

from readiness.checks.clear_area import way_out
from readiness.checks.picture import Line, Spot
from readiness.job import (
    Corridor,
    Disc,
    HeightBand,
    Obstacle,
    Point,
    Rectangle,
    Segment,
    Standing,
    Zone,
)
from tests.scenes import BAY, SHEET, SHOP, asked, check, given, judged, part

AREA = check("clear_area", {"margin": 0.3, "kit": ["trolley", "charger"]}, per_side=True, hold=60.0)
BARE = check("clear_area", {"margin": 0.3}, per_side=True)
DISC = Zone(id="disc", disc=Disc(at=Point(x=-3.0, y=1.5), radius=1.0))
PATH = Zone(
    id="path", corridor=Corridor(start=Point(x=-0.8, y=0.7), end=Point(x=-3.0, y=1.5), half_width=0.4)
)
BOX = Zone(id="box", rectangle=Rectangle(corner=Point(x=-4.0, y=0.8), opposite=Point(x=-2.0, y=2.2)))
ZONES = (DISC, PATH, BOX)
NOTHING_ELSE = {"other": "n"}


def bay(*obstacles, standing=BAY.standing):
    return replace(BAY, obstacles=obstacles, standing=standing)


def sheet(*zones):
    return replace(SHEET, zones=zones)


def post(x, y, name="post", **more):
    return Obstacle(name=name, point=Point(x=x, y=y), **more)


def area(*obstacles, zones=(DISC,), answers=NOTHING_ELSE, one=BARE, side="left", standing=BAY.standing):
    return judged(one, answers, sheet=sheet(*zones), bay=bay(*obstacles, standing=standing), side=side)


def bin_at(x, y, **more):
    """Answers that name one bin; lengths in m."""
    return {"other": "y", "other.1.name": "bin", "other.1.x": f"{x:.4f} m", "other.1.y": f"{y:.4f} m",
            "other.1.metal": "y", "other.1.more": "n", **{f"other.1.{k}": v for k, v in more.items()}}  # fmt: skip


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


# --- deciding -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("y", "outcome"),
    # the disc ends at y = 2.5; margin 0.3, u = 0.02, guard 1.645 x 0.02 = 0.033
    [(2.9, "pass"), (2.84, "pass"), (2.82, "too_close"), (2.78, "too_close"), (2.76, "fail"), (2.0, "fail")],
)
def test_margin_with_uncertainty(y, outcome):
    p = part(area(post(-3.0, y)), "disc/bay.1")
    assert p.outcome == outcome
    assert p.value == pytest.approx(y - 2.5)
    assert (p.low, p.u) == (0.3, 0.02)


def test_reason_names_zone_thing_and_how_far():
    clear = part(area(post(-3.0, 2.7)), "disc/bay.1").reason
    inside = part(area(post(-3.0, 2.1)), "disc/bay.1").reason
    assert "the post" in clear
    assert "'disc'" in clear
    assert "0.2 m" in clear
    assert "reaches 0.4 m into the metal-free zone 'disc'" in inside


@pytest.mark.parametrize("margin", [0.0, 0.3])
def test_touching_counts_as_in(margin):
    one = check("clear_area", {"margin": margin}, per_side=True)
    p = part(area(post(-3.0, 2.5, u=0.0), one=one), "disc/bay.1")
    assert p.value == pytest.approx(0.0, abs=1e-12)
    assert p.outcome == "fail"
    assert "touches" in p.reason


def test_typed_place_takes_tape_and_setting_up_into_its_uncertainty():
    # laser meter 0.01 m, steps 0.001 m (GUM 4.3.7, F.2.2.1, from memory), both coordinates, 0.02 m by eye
    tape = math.hypot(0.01 / math.sqrt(3), 0.001 / math.sqrt(12))
    p = part(area(answers=bin_at(-3.0, 3.5)), "other.1")
    assert p.u == pytest.approx(math.hypot(tape, tape, 0.02))


def test_radius_counts():
    p = part(area(answers=bin_at(-3.0, 3.5, radius="0.25 m")), "other.1")
    assert p.value == pytest.approx(0.75)


# --- metal and height -----------------------------------------------------------------------------

WORK = replace(DISC, id="work", reason="room to work")


@pytest.mark.parametrize(
    ("zone", "metal", "counts"),
    [
        (DISC, "yes", True),
        (DISC, "unknown", True),
        (DISC, "no", False),
        (WORK, "no", True),
        (WORK, "yes", True),
    ],
)
def test_metal_matters_in_metal_free_zones_only(zone, metal, counts):
    j = area(post(-3.0, 1.5, metal=metal), zones=(zone,))
    assert any(p.key == f"{zone.id}/bay.1" for p in j.parts) is counts


def test_a_typed_thing_that_is_not_metal_is_seen_and_passes():
    p = part(area(answers={**bin_at(-3.0, 1.5), "other.1.metal": "n"}), "other.1")
    assert p.outcome == "pass"
    assert "not metal" in p.reason


def test_metal_not_said_counts_as_metal():
    answers = {k: v for k, v in bin_at(-3.0, 1.5).items() if k != "other.1.metal"}
    assert part(area(answers=answers), "other.1").outcome == "fail"


LOW_ZONE = replace(DISC, height=HeightBand(low=0.5, high=1.0))


@pytest.mark.parametrize(
    ("band", "counts"),
    [
        (None, True), (HeightBand(high=0.4), False), (HeightBand(high=0.5), True), (HeightBand(low=1.0, high=3.0), True),
        (HeightBand(low=1.1, high=3.0), False), (HeightBand(low=0.6, high=0.7), True),
    ],
)  # fmt: skip
def test_height_bands_must_overlap_to_matter(band, counts):
    j = area(post(-3.0, 1.5, height=band), zones=(LOW_ZONE,))
    assert any(p.key == "disc/bay.1" for p in j.parts) is counts


@pytest.mark.parametrize(
    ("height", "outcome"),
    # 0.49 m lies within the guard of the zone's lower edge at 0.5 m
    [(None, "fail"), ("0.3 m", "pass"), ("0.495 m", "fail"), ("2 m", "fail")],
)
def test_typed_height_is_that_of_the_top(height, outcome):
    answers = bin_at(-3.0, 1.5, **({"height": height} if height else {}))
    assert part(area(answers=answers, zones=(LOW_ZONE,)), "other.1").outcome == outcome


# --- what is asked --------------------------------------------------------------------------------


def test_asks_the_kit_one_by_one_then_what_else():
    questions = asked(AREA, sheet=sheet(DISC), side="left")
    assert list(questions) == ["kit.1", "kit.2", "other"]
    assert [c.key for c in questions["kit.1"].choices] == ["o", "n"]


def test_near_asks_where():
    questions = asked(AREA, {"kit.1": "n"}, sheet=sheet(DISC), side="left")
    assert list(questions) == ["kit.1", "kit.1.x", "kit.1.y", "kit.1.height", "kit.2", "other"]
    assert "left" in questions["kit.1.y"].hint
    assert "right is negative" in questions["kit.1.y"].hint
    assert questions["kit.1.height"].optional


def test_other_things_go_on_while_there_is_more():
    one_more = {**bin_at(1, 2), "other.1.more": "y"}
    keys = list(asked(BARE, one_more, sheet=sheet(DISC), side="left"))
    assert keys[-7:] == [f"other.2.{k}" for k in ("name", "x", "y", "radius", "height", "metal", "more")]
    j = area(answers=one_more)
    assert part(j, "other").outcome == "not_done"
    assert part(j, "other.2").outcome == "not_done"


def test_kit_seen_to_be_outside_passes_on_what_was_seen():
    p = part(area(one=AREA, answers={"kit.1": "o"}), "kit.1")
    assert p.outcome == "pass"
    assert [r.evidence for r in p.readings] == ["seen"]


@pytest.mark.parametrize("answers", [{}, {"kit.1": "n"}, {"kit.1": "n", "kit.1.x": "1 m"}])
def test_kit_without_an_answer_or_place_is_not_done(answers):
    assert part(area(one=AREA, answers=answers), "kit.1").outcome == "not_done"


def test_kit_near_is_judged_by_its_place():
    answers = {"kit.1": "n", "kit.1.x": "-3 m", "kit.1.y": "2 m"}
    p = part(area(one=AREA, answers=answers), "kit.1")
    assert (p.outcome, p.value) == ("fail", pytest.approx(-0.5))
    assert p.label == "Trolley"


def test_a_lapsed_radius_is_not_taken_for_a_point():
    answers = bin_at(-3.0, 3.0, radius=given("0.4 m", minutes=-55))
    assert part(area(answers=answers), "other.1").outcome == "lapsed"


def test_no_zones_in_the_sheet_is_not_done_and_names_the_field():
    j = area(post(-3.0, 1.5), zones=())
    assert [p.outcome for p in j.parts] == ["not_done"]
    assert "'zones'" in j.parts[0].reason


@law(st.floats(-15, 15), st.floats(-15, 15), st.sampled_from([(DISC,), (PATH,), (BOX,), ZONES]))
def test_farther_than_the_reach_is_clear_of_every_zone(x, y, some):
    label = asked(AREA, sheet=sheet(*some), side="left")["kit.1"].choices[0].label
    reach = float(re.search(r"farther than ([\d.]+) m", label)[1])
    car = box(-1.0, -0.91, 3.6, 0.91)  # the test sheet's length, width and front overhang
    target = Dot(-3.0, 1.5)
    assume(min(Dot(x, y).distance(car), Dot(x, y).distance(target)) > reach)
    for zone in some:
        core, radius = shapely_core(zone)
        assert Dot(x, y).distance(core) - radius > 0.3


def test_reach_is_in_whole_feet_where_the_shop_reads_feet():
    shop = replace(SHOP, units="us")
    label = asked(AREA, sheet=sheet(DISC), side="left", shop=shop)["kit.1"].choices[0].label
    assert re.search(r"farther than \d+ ft", label)


# --- order and number of parts --------------------------------------------------------------------


def test_worst_first():
    j = area(post(-3.0, 4.5, "far"), post(-3.0, 2.7, "close"), post(-3.0, 2.2, "in"), post(-3.0, 2.8, "edge"))
    numbers = [(p.outcome, p.value) for p in j.parts if isinstance(p.value, float)]
    assert [o for o, _ in numbers] == ["fail", "fail", "too_close", "pass"]
    assert [v for _, v in numbers] == sorted(v for _, v in numbers)


def test_four_of_each_zone_the_rest_in_a_note():
    posts = [post(-3.0, 2.9 + 0.1 * n, f"post {n}") for n in range(9)]
    j = area(*posts, zones=(DISC, WORK))
    assert len([p for p in j.parts if "/" in p.key]) == 8
    assert len(j.notes) == 2
    assert "5 more" in j.notes[0]
    assert "0.8 m" in j.notes[0]


def test_a_thing_left_out_is_never_worse_than_those_shown():
    posts = [post(-3.0, 2.9 + 0.01 * n, f"post {n}") for n in range(6)]
    loose = post(-3.0, 3.3, "loosely placed", u=0.5)
    shown = {p.label: p.outcome for p in area(*posts, loose).parts}
    assert [o for label, o in shown.items() if "loosely placed" in label] == ["too_close"]


def test_nothing_that_matters_is_said():
    j = area(post(-3.0, 1.5, metal="no"))
    assert "Nothing that matters" in j.notes[0]
    assert [p.outcome for p in j.parts] == ["pass"]


# --- what to do -----------------------------------------------------------------------------------

SIGN = {"forward": (1, 0), "backward": (-1, 0), "to the left": (0, 1), "to the right": (0, -1)}


def moves(remedy):
    """The steps of a remedy as (dx, dy) in m."""
    steps = re.findall(r"([\d.]+) m (forward|backward|to the left|to the right)", remedy)
    assert steps, remedy
    return tuple(sum(float(d) * SIGN[way][axis] for d, way in steps) for axis in (0, 1))


@settings(max_examples=200)
@law(st.floats(-5, 1), st.floats(0, 3.5), st.sampled_from(ZONES), st.sampled_from(["left", "right"]))
def test_moving_as_told_passes(x, y, zone, side):
    mirror = -1 if side == "right" else 1
    before = part(area(answers=bin_at(x, mirror * y), zones=(zone,), side=side), "other.1")
    assume(before.outcome != "pass")
    assume(abs(before.value) > 1e-3)  # where it just touches, no way out is the shortest
    dx, dy = moves(before.remedy)
    after = part(area(answers=bin_at(x + dx, mirror * y + dy), zones=(zone,), side=side), "other.1")
    assert after.outcome == "pass", before.remedy


def test_moving_a_disc_a_round_figure():
    # from the disc's edge at y = 2.5: margin 0.3 and guard 0.033 and 0.1 in: 0.4329 m, up to whole cm
    p = part(area(post(-3.0, 2.4, fixed=False)), "disc/bay.1")
    assert p.remedy == "Move the post at least 0.44 m to the left, then correct its place in the bay's file."


@pytest.mark.parametrize(
    ("gap", "clear", "expected"),
    [
        (((0, 0), (1, 0)), 1.0, [("forward", 0.5)]),
        (((0, 0), (-1, 0)), 1.0, [("backward", 0.5)]),
        (((0, 0), (0, -1)), 1.0, [("to the right", 0.5)]),
        (((0, 0), (0, -1)), -1.0, [("to the left", 0.5)]),
        (((0, 0), (3, 4)), 5.0, [("forward", 0.3), ("to the left", 0.4)]),
        (((0, 0), (0, 0)), 0.0, []),
    ],
)
def test_way_out(gap, clear, expected):
    assert way_out(gap, clear, 0.5) == [(word, pytest.approx(by)) for word, by in expected]


def test_what_is_fixed_means_another_bay():
    assert part(area(post(-3.0, 2.4, fixed=True)), "disc/bay.1").remedy == (
        "The post is fixed: choose another bay or place."
    )


# --- the picture ----------------------------------------------------------------------------------


@law(obstacles, zones)
def test_picture_shows_the_smallest_clearance(obstacle, zone):
    j = area(obstacle, post(5.5, -5.5), zones=(zone,))
    [line] = [s for s in j.picture if isinstance(s, Line) and s.role == "clearance"]
    smallest = min(p.value for p in j.parts if isinstance(p.value, float))
    assert math.dist(*line.points) == pytest.approx(abs(smallest), abs=1e-6)
    assert line.marked == any(p.outcome in ("fail", "too_close") for p in j.parts)


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


# --- limits ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("limits", "field"), [({"margin": -0.1}, "margin"), ({"margin": 0.1, "kit": ["a", "a"]}, "kit[2]")]
)
def test_limits_that_make_no_sense_are_named(limits, field):
    assert [p for p, _, _ in check("clear_area", limits).limits.problems()] == [field]

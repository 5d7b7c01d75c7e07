"""Clear area: what each kind of zone keeps out, at which heights, on which side; zones of every shape; people.

Outside reference: shapely (GEOS) for sectors and polygons; a sector stands there as a polygon of 720 corners,
which lies inside of it by less than 0.1 mm at these sizes.
"""

from __future__ import annotations

import math

import pytest
from hypothesis import given as law
from hypothesis import strategies as st
from msgspec.structs import replace
from shapely import Point as Dot
from shapely import Polygon

from readiness.checks.picture import Outline, Spot
from readiness.job import Disc, HeightBand, Mark, Point, Rectangle, Sector, Zone
from tests.checks.areas import AREA, BARE, DISC, NOTHING_ELSE, area, bin_at, post, sheet
from tests.scenes import asked, part

# --- what a zone keeps out -----------------------------------------------------------------------

REASONS = {
    "metal-free": lambda metal, people: metal != "no",
    "nothing between": lambda metal, people: True,
    "people-free": lambda metal, people: people,
    "walking room": lambda metal, people: True,
}
"""By hand from the words of job.Reason."""
BANDS = {
    # of the zone, of the thing: does it count in a zone that gives heights, and in walking room that gives none
    (0.5, 1.0): {None: True, (0.0, 0.4): False, (0.0, 0.5): True, (0.6, 0.7): True, (1.0, 3.0): True, (1.1, 3.0): False},
    None: {None: True, (0.0, 0.01): True, (2.0, 3.0): True, (2.1, 3.0): False, (2.3, 2.4): False},
}  # fmt: skip


def counts(judgement, zone="disc"):
    """Whether the one thing in the bay has a clearance from the zone."""
    return any(p.key == f"{zone}/bay.1" for p in judgement.parts)


@pytest.mark.parametrize("people", [False, True])
@pytest.mark.parametrize("metal", ["yes", "no", "unknown"])
@pytest.mark.parametrize("reason", REASONS)
def test_what_a_thing_is_decides_which_zones_it_disturbs(reason, metal, people):
    j = area(post(-3.0, 1.5, metal=metal, people=people), zones=(replace(DISC, reason=reason),))
    assert counts(j) is REASONS[reason](metal, people)


@pytest.mark.parametrize("reason", REASONS)
@pytest.mark.parametrize("thing", BANDS[0.5, 1.0])
def test_heights_must_overlap_whatever_the_reason(reason, thing):
    zone = replace(DISC, reason=reason, height=HeightBand(low=0.5, high=1.0))
    band = thing and HeightBand(low=thing[0], high=thing[1])
    j = area(post(-3.0, 1.5, metal="yes", people=True, height=band), zones=(zone,))
    assert counts(j) is BANDS[0.5, 1.0][thing]


@pytest.mark.parametrize("thing", BANDS[None])
def test_a_person_bumps_into_what_is_no_higher_than_two_metres(thing):
    band = thing and HeightBand(low=thing[0], high=thing[1])
    walk = area(post(-3.0, 1.5, metal="no", height=band), zones=(replace(DISC, reason="walking room"),))
    between = area(post(-3.0, 1.5, metal="no", height=band), zones=(replace(DISC, reason="nothing between"),))
    assert counts(walk) is BANDS[None][thing]
    assert counts(between)  # without heights any height counts there


def test_own_things_that_one_works_at_disturb_a_people_free_zone():
    zone = replace(DISC, reason="people-free")
    near = {
        "kit.1": "n",
        "kit.1.x": "-3 m",
        "kit.1.y": "2 m",
        "kit.2": "n",
        "kit.2.x": "-3 m",
        "kit.2.y": "2 m",
    }
    answers = {**near, **NOTHING_ELSE, "nobody.disc": "y"}
    found = {p.key: p for p in area(one=AREA, zones=(zone,), answers=answers).parts}
    assert found["kit.1"].outcome == "pass"  # a trolley of metal
    assert "nothing that a zone keeps out" in found["kit.1"].reason
    assert found["kit.2"].outcome == "fail"  # a laptop stand, not of metal


# --- people --------------------------------------------------------------------------------------

PEOPLE = replace(DISC, id="rear", reason="people-free")
MIDDLE = Zone(id="front", reason="people-free", disc=Disc(at=Point(x=6.0, y=0.0), radius=1.0))


@pytest.mark.parametrize(("said", "outcome"), [("y", "pass"), ("n", "fail"), (None, "not_done")])
def test_somebody_looks_whether_anybody_can_walk_in(said, outcome):
    answers = {**NOTHING_ELSE, **({"nobody.rear": said} if said else {})}
    p = part(area(zones=(PEOPLE,), answers=answers), "nobody.rear")
    assert p.outcome == outcome
    assert (p.remedy != "") is (outcome == "fail")
    assert [r.evidence for r in p.readings] == ["seen"] * bool(said)


def test_people_are_asked_for_in_people_free_zones_only():
    keys = list(asked(BARE, sheet=sheet(DISC, replace(DISC, id="walk", reason="walking room")), side="left"))
    assert keys == ["other"]


@pytest.mark.parametrize(
    ("zone", "shared"),
    [
        (PEOPLE, False),
        (MIDDLE, True),
        (Zone(id="a", reason="people-free", rectangle=Rectangle(corner=Point(x=1, y=-2), opposite=Point(x=3, y=2))), True),
        (Zone(id="a", reason="people-free", rectangle=Rectangle(corner=Point(x=1, y=-2), opposite=Point(x=3, y=1))), False),
        (Zone(id="a", reason="people-free", sector=Sector(at=Point(x=0, y=0), radius=3, start=150, end=210)), True),
        (Zone(id="a", reason="people-free", sector=Sector(at=Point(x=0, y=0), radius=3, start=-210, end=-150)), True),
        (Zone(id="a", reason="people-free", sector=Sector(at=Point(x=0, y=0), radius=3, start=140, end=210)), False),
        (Zone(id="a", reason="people-free", polygon=(Point(x=0, y=0), Point(x=3, y=-2), Point(x=3, y=2))), True),
        (Zone(id="a", reason="people-free", polygon=(Point(x=0, y=0), Point(x=3, y=-2), Point(x=4, y=2))), False),
    ],
)  # fmt: skip
def test_a_zone_that_is_the_same_on_both_sides_is_looked_at_once(zone, shared):
    assert asked(BARE, sheet=sheet(zone), side="left")[f"nobody.{zone.id}"].shared is shared


# --- every shape, against shapely ----------------------------------------------------------------

place = st.floats(-5, 5).map(lambda v: round(v, 2))
points = st.builds(lambda x, y: Point(x=x, y=y), place, place)
slices = st.builds(
    lambda at, r, a, w: Zone(id="zone", sector=Sector(at=at, radius=r, start=a, end=a + w)),
    points, st.floats(0.5, 3).map(lambda v: round(v, 2)), st.integers(-180, 180), st.integers(20, 340),
)  # fmt: skip
CORNERED = tuple(
    Zone(id="zone", polygon=tuple(Point(x=x, y=y) for x, y in corners))
    for corners in (
        ((0, 0), (3, 0), (3, 3), (2, 3), (2, 1), (1, 1), (1, 3), (0, 3)),
        ((-4, 1), (-2, 1), (-3, 3)),
        ((-2, -2), (2, -1), (0, 0), (2, 2), (-2, 1)),
    )
)


def shapely_zone(zone, side):
    flip = -1.0 if side == "right" else 1.0
    if zone.polygon:
        return Polygon([(p.x, flip * p.y) for p in zone.polygon])
    s = zone.sector
    turns = [math.radians(s.start + (s.end - s.start) * k / 720) for k in range(721)]
    arc = [(s.at.x + s.radius * math.cos(t), s.at.y + s.radius * math.sin(t)) for t in turns]
    return Polygon([(x, flip * y) for x, y in ((s.at.x, s.at.y), *arc)])


@law(st.one_of(slices, st.sampled_from(CORNERED)), place, place, st.sampled_from(["left", "right"]))
def test_clearance_of_slices_and_polygons_agrees_with_shapely(zone, x, y, side):
    found = part(area(post(x, y), zones=(zone,), side=side), "zone/bay.1").value
    expected = shapely_zone(zone, side)
    if expected.contains(Dot(x, y)):
        assert found <= 1e-9
        inside = expected.exterior.distance(Dot(x, y))
        assert found == pytest.approx(-inside, abs=2e-4)
    else:
        assert found == pytest.approx(expected.distance(Dot(x, y)), abs=2e-4)


@law(st.one_of(slices, st.sampled_from(CORNERED)), place, place)
def test_a_typed_thing_is_as_far_from_the_mirrored_zone(zone, x, y):
    left = part(area(answers=bin_at(x, y), zones=(zone,), side="left"), "other.1")
    right = part(area(answers=bin_at(x, -y), zones=(zone,), side="right"), "other.1")
    assert (left.value, left.u) == (pytest.approx(right.value, abs=1e-9), pytest.approx(right.u, abs=1e-9))
    assert left.outcome == right.outcome


def test_the_plan_shows_zones_of_every_shape_and_the_marks_of_the_bay():
    cut = Zone(id="slice", sector=Sector(at=Point(x=-1, y=0), radius=2, start=150, end=210))
    marks = (Mark(name="nail", at=Point(x=1.0, y=2.0)),)
    j = area(zones=(cut, CORNERED[0]), marks=marks)
    drawn = [s for s in j.picture if s.role == "zone"]
    assert [type(s) for s in drawn] == [Outline, Outline]
    assert all(math.dist(p, (-1, 0)) == pytest.approx(2) for p in drawn[0].points[1:])
    assert drawn[1].points == tuple((p.x, p.y) for p in CORNERED[0].polygon)
    assert Spot("mark", (1.0, 2.0), "nail") in j.picture
    assert all(s.note for s in j.picture if s.role in ("zone", "obstacle"))


# --- the edge of the bay -------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("edge", "outcome"),
    # the disc ends at y = 2.5; where the car stands is known to 0.02 m: guard 0.0329
    [(2.6, None), (2.54, None), (2.53, "too_close"), (2.5, "too_close"), (2.48, "too_close"), (2.46, "fail"), (2.0, "fail")],
)  # fmt: skip
def test_a_zone_must_end_within_the_bay(edge, outcome):
    outline = tuple(Point(x=x, y=y) for x, y in ((-6, -5), (9, -5), (9, edge), (-6, edge)))
    found = {p.key: p for p in area(outline=outline).parts}
    if outcome is None:
        assert "disc/bay" not in found
        return
    p = found["disc/bay"]
    assert (p.outcome, p.value, p.u) == (outcome, pytest.approx(2.5 - edge), 0.02)
    assert "Invented bay" in p.reason


def test_a_zone_over_a_notch_of_the_bay_is_out_of_it_by_the_notch():
    # a notch 0.5 m wide and 1 m deep from the left wall, whose end lies 0.7 m from the disc's edge, inside it
    notch = ((-6, -5), (9, -5), (9, 3), (-2.75, 3), (-2.75, 1.8), (-3.25, 1.8), (-3.25, 3), (-6, 3))
    j = area(outline=tuple(Point(x=x, y=y) for x, y in notch))
    assert part(j, "disc/bay").value == pytest.approx(0.25)  # from the middle of the notch to its side
    assert part(j, "disc/bay").outcome == "fail"

"""Where the search says that a car fits, the check of the clear area finds nothing of the bay in the way.

The check itself is the judge: a car that stands on the bay's marks, those being as far off the place found as
leaves no room to spare.
"""

from __future__ import annotations

import math
import re
from dataclasses import replace as change

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from readiness.bayfit import bay_fit
from readiness.bayfit.demands import demands, without
from readiness.checklist.model import Decision
from readiness.checks import kinds
from readiness.checks.clear_area.things import obstacle_shape, seen_from
from readiness.checks.clear_area.zones import zone_shape
from readiness.checks.place import rounded
from readiness.job import (
    Corridor,
    Disc,
    HeightBand,
    Obstacle,
    Place,
    Point,
    Rectangle,
    Sector,
    Segment,
    Standing,
    Target,
    Zone,
)  # fmt: skip
from readiness.measure.plan import SectorAt
from readiness.measure.poses import Pose, spare
from tests.bayfit.places import bay_of, car
from tests.scenes import NOW, check, checklist, visit

cm = st.integers(0, 10_000).map(lambda n: n / 100)


def within(low, high):
    return st.integers(round(low * 100), round(high * 100)).map(lambda n: n / 100)


points = st.builds(lambda x, y: Point(x=x, y=y), within(-4, 4), within(-3, 3))
bands = st.sampled_from(
    [None, HeightBand(low=0.0, high=0.03), HeightBand(low=0.1, high=1.6), HeightBand(low=2.1, high=3.0)]
)
reasons = st.sampled_from(["metal-free", "nothing between", "people-free", "walking room"])
shapes_of_zones = st.one_of(
    st.builds(lambda p, r: {"disc": Disc(at=p, radius=r)}, points, within(0.2, 1.2)),
    st.builds(lambda p, r, a: {"sector": Sector(at=p, radius=r, start=a, end=a + 70.0)}, points, within(0.5, 2), within(0, 350)),
    st.builds(lambda p, w, d: {"rectangle": Rectangle(corner=p, opposite=Point(x=p.x + w, y=p.y + d))},
              points, within(0.2, 1.5), within(0.2, 1.5)),
    st.builds(lambda p, d, w: {"corridor": Corridor(start=p, end=Point(x=p.x - 1.0, y=p.y + d), half_width=w)},
              points, within(-1, 1), within(0.1, 0.6)),
    st.builds(lambda p, s: {"polygon": tuple(Point(x=p.x + s * x, y=p.y + s * y) for x, y in ((0, 0), (2, 0), (2, 2), (1, 0.5)))},
              points, within(0.2, 0.8)),
)  # fmt: skip
zones = st.lists(
    st.builds(lambda s, b, r: (s, b, r), shapes_of_zones, bands, reasons), min_size=1, max_size=3
)
places = st.builds(lambda x, y: Point(x=x, y=y), within(-1, 12), within(-1, 8))
shapes_of_things = st.one_of(
    places.map(lambda p: {"point": p}),
    st.builds(lambda p, r: {"disc": Disc(at=p, radius=r)}, places, within(0.05, 0.5)),
    st.builds(lambda p, w, d: {"rectangle": Rectangle(corner=p, opposite=Point(x=p.x + w, y=p.y + d))},
              places, within(0.1, 1.5), within(0.1, 0.6)),
    st.builds(lambda p, w, d: {"wall": Segment(start=p, end=Point(x=p.x + w, y=p.y + d))}, places, within(0.1, 2), within(-2, 2)),
    st.builds(lambda p, s: {"polygon": tuple(Point(x=p.x + s * x, y=p.y + s * y) for x, y in ((0, 0), (2, 0), (2, 2), (1, 0.5)))},
              places, within(0.1, 0.5)),
)  # fmt: skip
things = st.lists(
    st.builds(
        lambda s, b, m, p, f, u: {**s, "height": b, "metal": m, "people": p, "fixed": f, "u": u},
        shapes_of_things, bands, st.sampled_from(["yes", "no", "unknown"]), st.booleans(), st.booleans(),
        st.sampled_from([0.0, 0.01, 0.05]),
    ),
    max_size=5,
)  # fmt: skip
outlines = st.sampled_from(
    [
        ((0, 0), (11, 0), (11, 6), (0, 6)),
        ((0, 0), (11, 0), (11, 4), (7, 4), (7, 7), (0, 7)),
        ((0, 0), (11, 0.5), (10.5, 7), (0.5, 6.5)),
    ]
)


cases = st.tuples(
    zones, things, outlines, st.sampled_from([0.0, 0.1, 0.3]), st.sampled_from([0.0, 1.645]),
    st.sampled_from(["left", "right", "in_turn"]), st.sampled_from([-90.0, 0.0, 30.0, 180.0]),
    st.integers(0, 359), st.sampled_from(["things", "edge"]),
)  # fmt: skip
SIDES = ("left", "right")
ON_MARKS = check("standing")


def only_zones(asked, against):
    """What the check looks at: zones against things, or zones against the edge of the bay."""
    edge = against == "edge"
    parts = tuple(change(p, inside=p.inside if edge and p.zone else -100.0) for p in asked.parts)
    return change(asked, parts=parts, kept=() if edge else tuple(k for k in asked.kept if parts[k.part].zone))


def as_far_off(asked, best, turn):
    """The place farthest from the best one in a direction that still counts as one that fits."""

    def off(t):
        return Pose(best.x + t * math.cos(turn), best.y + t * math.sin(turn), best.heading)

    def room(t):
        return spare(asked.place, asked.moving, asked.apart, off(t))[0]

    far = next((t / 20 for t in range(1, 400) if room(t / 20) < 0.0), 0.0)
    near = max(0.0, far - 0.05)
    while far - near > 1e-5:
        t = (near + far) / 2
        near, far = (t, far) if room(t) >= 0.0 else (near, t)
    return rounded(Standing(x=off(near).x, y=off(near).y, heading=best.heading))


def towards(sheet, bay, best, turn):
    """The direction that carries the first zone to the first thing, or any."""
    if not bay.obstacles:
        return math.radians(turn)
    (zx, zy), (tx, ty) = (
        middle(zone_shape(sheet.zones[0], "left")),
        middle(seen_from(best, obstacle_shape(bay.obstacles[0]))),
    )
    return math.atan2(ty - zy, tx - zx) + math.radians(best.heading)


def middle(shape):
    return (shape.x, shape.y) if isinstance(shape, SectorAt) else shape.core[0]


def in_the_way(zones, things, outline, margin, factor, mode, heading, turn, against):
    """Parts of the check that do not pass, as far off the best place as zones still have what the search asks for them."""
    feet = (Point(x=-2.2, y=1.2), Point(x=-1.8, y=1.2))
    board = Target(id="board", at=Place(x=-2.0, y=1.2, z=0.6), feet=feet)
    drawn = (Zone(id=f"z{n}", height=b, reason=r, **s) for n, (s, b, r) in enumerate(zones))
    sheet = car(*drawn, targets=(board,))
    obstacles = tuple(Obstacle(name=f"t{n}", **t) for n, t in enumerate(things))
    bay = bay_of(*outline, standing=Standing(x=5.0, y=2.0, heading=heading), obstacles=obstacles)
    area = check("clear_area", {"margin": margin}, per_side=True)
    listed = {"sides": SIDES, "decision": Decision(factor=factor)}
    named = checklist(ON_MARKS, area, **listed)
    [fit] = bay_fit(named, sheet, bay, (mode,), easy=0.0).fits
    if not fit.fits:
        return []
    bay = without(bay, fit.moved)
    sides = SIDES if mode == "in_turn" else (mode,)
    asked = only_zones(demands(named, sheet, bay, sides), against)
    off = as_far_off(asked, fit.standing, towards(sheet, bay, fit.standing, turn))
    parts = []
    for side in sides:
        there = replace(bay, standing=off)
        made = visit(ON_MARKS, area, readings={"standing": {"where": "m"}}, sheet=sheet, bay=there, **listed)
        parts += kinds()["clear_area"].judge(made.scene(area, side, NOW), area.limits).parts
    key = re.compile(r"z\d/bay" if against == "edge" else r"z\d/bay\.\d+")
    return [p for p in parts if key.fullmatch(p.key) and p.outcome != "pass"]


@settings(max_examples=10)
@given(cases)
def test_where_it_fits_the_check_finds_nothing_in_the_way(case):
    assert in_the_way(*case) == []


@pytest.mark.slow
@settings(max_examples=40)
@given(cases)
def test_where_it_fits_the_check_finds_nothing_in_the_way_often(case):
    assert in_the_way(*case) == []

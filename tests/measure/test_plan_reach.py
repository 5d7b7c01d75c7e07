"""How far a zone reaches out of a place: by hand, and against many places of the zone measured by shapely."""

from __future__ import annotations

import math
from random import Random

import numpy as np
import pytest
import shapely
from shapely import Polygon

from readiness.measure.plan import (
    Area,
    BoxAt,
    Capsule,
    DiscAt,
    PointAt,
    SectorAt,
    SegmentAt,
    mirrored,
    moved,
    reach_beyond,
)
from tests.measure.plan_oracle import distances, edges, least, samples
from tests.measure.plan_shapes import BOTTLE, L_SHAPE, OBSTACLES, U_SHAPE, ZONES, hull_of, shape_of, star
from tests.outside import given as outside

ROOM = BoxAt(-2, -2, 2, 2)
STEP = 0.05
"""m between the places of a zone that are measured."""
KINDS = sorted({*ZONES, *OBSTACLES})


def by_hand(name, *values):
    return outside(name, "plane geometry", "hand", *values)


@pytest.mark.parametrize(
    ("zone", "place", "expected"),
    [
        by_hand("point-out", PointAt(3, 0), ROOM, 1.0),
        by_hand("point-out-by-the-corner", PointAt(5, 6), ROOM, 5.0),
        by_hand("point-in", PointAt(1.5, 0), ROOM, -0.5),
        by_hand("disc-in", DiscAt(0.5, 0, 1), ROOM, -0.5),
        by_hand("disc-touching", DiscAt(1, 0, 1), ROOM, 0.0),
        by_hand("disc-out", DiscAt(1.5, 0, 1), ROOM, 0.5),
        by_hand("disc-out-by-the-corner", DiscAt(5, 6, 1), ROOM, 6.0),
        by_hand("corridor-out", Capsule(0, 0, 3, 0, 0.5), ROOM, 1.5),
        by_hand("wall-across", SegmentAt(-4, 0, 3, 0), ROOM, 2.0),
        by_hand("half-disc-out-by-its-arc", SectorAt(1.5, 0, 1, -90, 90), ROOM, 0.5),
        by_hand("half-disc-turned-away", SectorAt(1.5, 0, 1, 90, 270), ROOM, -0.5),
        by_hand("slice-that-has-no-place-farthest-right", SectorAt(1.5, 0, 1, 45, 135), ROOM, math.sqrt(0.5) - 0.5),
        by_hand("in-an-arm", DiscAt(0.5, 2, 0.25), U_SHAPE, -0.25),
        by_hand("over-the-notch", BoxAt(0.5, 0.5, 3.5, 3), U_SHAPE, 1.0),
        by_hand("a-little-into-the-notch", BoxAt(0.5, 0.5, 3.5, 1.5), U_SHAPE, 0.5),
        by_hand("wall-over-the-notch", SegmentAt(0.5, 3, 3.5, 3), U_SHAPE, 1.0),
        by_hand("wall-through-the-notch", SegmentAt(0.5, 1.2, 3.5, 1.2), U_SHAPE, 0.2),
        by_hand("disc-over-the-notch", DiscAt(2, 2, 1.9), U_SHAPE, 1.0),
        by_hand("arc-in-the-notch", SectorAt(2, 0, 1.5, 0, 180), U_SHAPE, 0.5),
        by_hand("out-of-an-elbow", DiscAt(2, 2, 0.5), L_SHAPE, 1 + 0.5 * math.sqrt(0.5)),
        # under the mouth as far from the floor at y = 1 as from both corners of the mouth, 0.4 beside and at y = 3
        by_hand("over-a-recess", BoxAt(0.5, 0.5, 4.5, 3.5), BOTTLE, 1.04),
        by_hand("place-that-is-a-disc", DiscAt(3, 0, 1), DiscAt(0, 0, 1), 3.0),
        by_hand("place-that-is-a-corridor", PointAt(2, 2), Capsule(0, 0, 4, 0, 0.5), 1.5),
        by_hand("place-that-is-a-point", BoxAt(1, 1, 3, 4), PointAt(0, 0), 5.0),
    ],
)  # fmt: skip
def test_reach_by_hand(zone, place, expected):
    assert reach_beyond(zone, place) == pytest.approx(expected, abs=1e-9)


def measured(zone, place) -> float:
    """The greatest distance of many places of the zone from a place; negative if all lie in it."""
    at = samples(zone)
    low, high = at.min(axis=0), at.max(axis=0)
    grid = np.stack(np.meshgrid(*(np.arange(low[k], high[k], STEP) for k in (0, 1))), axis=-1).reshape(-1, 2)
    at = np.vstack([at, grid[distances(zone, grid) == 0.0]])
    room, points = Polygon(place.points), shapely.points(at)
    out = shapely.distance(room, points)
    if out.max() == 0.0:
        return -shapely.distance(room.exterior, points).min()
    inside = [_nearby(zone, room, at[k]) for k in np.argsort(out)[-8::2]]
    on_edge = [-least(e, lambda at: -shapely.distance(room, shapely.points(at))) for e in edges(zone)]
    return max(inside + on_edge)


def _nearby(zone, room, at) -> float:
    """The greatest distance near a place of the zone, looked for ever closer."""
    half, best = STEP, 0.0
    around = np.stack(np.meshgrid(*[np.linspace(-1, 1, 11)] * 2), axis=-1).reshape(-1, 2)
    while half > 1e-9:
        near = at + half * around
        near = np.vstack([near[distances(zone, near) == 0.0], at])
        out = shapely.distance(room, shapely.points(near))
        at, half, best = near[out.argmax()], half * 0.6, max(best, float(out.max()))
    return best


@pytest.mark.parametrize("count", [8, pytest.param(60, marks=pytest.mark.slow)])
@pytest.mark.parametrize("kind", KINDS)
def test_reach_is_that_of_the_farthest_place_found(kind, count):
    rng = Random(f"{kind} {count}")
    for n in range(count):
        place = moved((U_SHAPE, BOTTLE, hull_of(rng), star(rng))[n % 4], 0.1, -0.3, rng.uniform(0, 360))
        zone = shape_of(kind, rng)
        ours, found = reach_beyond(zone, place), measured(zone, place)
        assert ours >= found - 1e-9, (zone, place)
        assert ours <= found + STEP, (zone, place)
        if ours > 0.0 or kind == "point":
            assert ours == pytest.approx(found, abs=1e-5), (zone, place)


@pytest.mark.parametrize("kind", KINDS)
def test_reach_neither_depends_on_the_frame_nor_leaps(kind):
    rng = Random(kind)
    for n in range(12):
        place = (U_SHAPE, BOTTLE, L_SHAPE, star(rng))[n % 4]
        zone, frame = shape_of(kind, rng), (1.0, -2.0, rng.uniform(-180, 180))
        here = reach_beyond(zone, place)
        assert reach_beyond(moved(zone, *frame), moved(place, *frame)) == pytest.approx(here, abs=2e-9)
        assert reach_beyond(mirrored(zone), mirrored(place)) == pytest.approx(here, abs=2e-9)
        step = rng.uniform(0, 0.5)
        assert abs(reach_beyond(moved(zone, step, 0), place) - here) <= step + 2e-9


def test_a_whole_zone_reaches_as_far_as_the_farther_of_its_parts():
    rng = Random(4)
    for _ in range(30):
        place, start, turn = star(rng), rng.uniform(0, 360), rng.uniform(190, 350)
        whole, cut = SectorAt(0.5, 0.2, 2, start, start + turn), start + 170
        parts = SectorAt(0.5, 0.2, 2, start, cut), SectorAt(0.5, 0.2, 2, cut, start + turn)
        assert reach_beyond(whole, place) == pytest.approx(
            max(reach_beyond(p, place) for p in parts), abs=2e-9
        )


def test_a_concave_zone_leaves_the_room_that_its_parts_leave():
    area = Area(((0, 0), (2, 0), (2, 2), (1, 0.5)))
    assert reach_beyond(area, BoxAt(-1, -1, 3, 3)) == pytest.approx(-1.0)
    assert reach_beyond(area, BoxAt(0, -1, 3, 3)) == pytest.approx(0.0)
    assert reach_beyond(area, BoxAt(-1, -1, 1.75, 3)) == pytest.approx(0.25)

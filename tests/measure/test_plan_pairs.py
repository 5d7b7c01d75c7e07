"""Every kind of zone against every kind of obstacle: shapely, places looked for by brute force, and laws.

See `plan_oracle` for how the outside values are found.
"""

from __future__ import annotations

import math
from random import Random

import numpy as np
import pytest

from readiness.measure.overlap import TOUCH
from readiness.measure.plan import Shape, mirrored, moved, nearest, signed_clearance
from tests.measure.plan_oracle import apart, depths, distances, samples
from tests.measure.plan_shapes import OBSTACLES, ZONES, shape_of

KINDS = [(z, o) for z in ZONES for o in OBSTACLES] + [("sector", "sector")]
NEAR = 1e-7
EXACT = 1e-9
few = pytest.mark.parametrize("count", [8, pytest.param(60, marks=pytest.mark.slow)])
kinds = pytest.mark.parametrize(("zone_kind", "thing_kind"), KINDS, ids=["-".join(k) for k in KINDS])


def pairs(zone_kind: str, thing_kind: str, count: int):
    rng = Random(f"{zone_kind} {thing_kind} {count}")
    for _ in range(count):
        yield shape_of(zone_kind, rng), shape_of(thing_kind, rng)


def shifted(shape: Shape, dx: float, dy: float) -> Shape:
    return moved(shape, dx, dy)


@kinds
@few
def test_apart_it_is_the_distance_and_overlapping_it_is_not_positive(zone_kind, thing_kind, count):
    for zone, thing in pairs(zone_kind, thing_kind, count):
        outside, ours = apart(zone, thing), signed_clearance(zone, thing)
        if outside > 0.0:
            assert ours == pytest.approx(outside, abs=EXACT), (zone, thing)
        else:
            assert ours <= EXACT, (zone, thing)


@kinds
@few
def test_the_sign_changes_where_the_shapes_touch(zone_kind, thing_kind, count):
    """A thing shifted so that it stands 0.1 micrometre clear stands clear, as much the other way it overlaps."""
    for zone, thing in pairs(zone_kind, thing_kind, count):
        clear = signed_clearance(zone, thing)
        pa, pb = nearest(zone, thing)
        if clear < 1e-3:
            continue
        ux, uy = (pa[0] - pb[0]) / clear, (pa[1] - pb[1]) / clear
        short = shifted(thing, (clear - NEAR) * ux, (clear - NEAR) * uy)
        assert signed_clearance(zone, short) == pytest.approx(NEAR, abs=EXACT), (zone, thing)
        assert apart(zone, short) == pytest.approx(NEAR, abs=EXACT), (zone, thing)
        # where corners meet, the shortest way out is another one and shorter, or a sharp corner was passed
        past = shifted(thing, (clear + NEAR) * ux, (clear + NEAR) * uy)
        beyond = signed_clearance(zone, past)
        assert beyond >= -NEAR - EXACT, (zone, thing)
        assert max(beyond, 0.0) == pytest.approx(apart(zone, past), abs=EXACT), (zone, thing)
        if abs(beyond) > TOUCH:  # nearer than that, which side it is on is not claimed
            assert (beyond > 0.0) == (apart(zone, past) > 0.0), (zone, thing)


@kinds
@few
def test_overlapping_it_is_the_shortest_way_out(zone_kind, thing_kind, count):
    """Moved by it, the two just touch; moved by anything shorter, whichever way, they do not come apart."""
    ways = 16 if count > 100 else 7
    for zone, thing in pairs(zone_kind, thing_kind, count):
        depth = -signed_clearance(zone, thing)
        if depth < 1e-3:
            continue
        pa, pb = nearest(zone, thing)
        assert math.dist(pa, pb) == pytest.approx(depth, abs=EXACT)
        there = shifted(thing, pa[0] - pb[0], pa[1] - pb[1])
        assert signed_clearance(zone, there) == pytest.approx(0.0, abs=EXACT), (zone, thing)
        assert depths(zone, samples(there)).max() < NEAR, (zone, thing)
        assert depths(there, samples(zone)).max() < NEAR, (zone, thing)
        for k in range(ways):
            way, less = math.tau * k / ways, depth - NEAR
            assert apart(zone, shifted(thing, less * math.cos(way), less * math.sin(way))) == 0.0, (
                zone,
                thing,
            )


@kinds
@few
def test_the_nearest_places_lie_on_both_shapes(zone_kind, thing_kind, count):
    for zone, thing in pairs(zone_kind, thing_kind, count):
        for shape, at in zip((zone, thing), nearest(zone, thing), strict=True):
            place = np.array([at])
            assert distances(shape, place)[0] < NEAR, (zone, thing)
            assert depths(shape, place)[0] < NEAR, (zone, thing)


@kinds
@few
def test_no_step_changes_the_clearance_by_more_than_its_length(zone_kind, thing_kind, count):
    rng = Random(count)
    for zone, thing in pairs(zone_kind, thing_kind, count):
        here = signed_clearance(zone, thing)
        for size in (1e-6, 0.01, 1.0):
            way = rng.uniform(0, math.tau)
            there = signed_clearance(zone, shifted(thing, size * math.cos(way), size * math.sin(way)))
            assert abs(there - here) <= size + EXACT, (zone, thing)


@kinds
@few
def test_neither_order_nor_frame_nor_mirror_matter(zone_kind, thing_kind, count):
    rng = Random(count)
    for zone, thing in pairs(zone_kind, thing_kind, count):
        here = pytest.approx(signed_clearance(zone, thing), abs=EXACT)
        assert signed_clearance(thing, zone) == here, (zone, thing)
        assert signed_clearance(mirrored(zone), mirrored(thing)) == here, (zone, thing)
        frame = rng.uniform(-9, 9), rng.uniform(-9, 9), rng.uniform(-180, 180)
        assert signed_clearance(moved(zone, *frame), moved(thing, *frame)) == here, (zone, thing)

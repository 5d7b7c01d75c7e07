"""The convex pieces of a shape: they hold all of it and little more. Judged by `plan_oracle`."""

from __future__ import annotations

import math
from random import Random

import numpy as np
import pytest

from readiness.measure.pieces import Convex, pieces
from readiness.measure.plan import Area, BoxAt, Capsule, DiscAt, PointAt, SectorAt, SegmentAt, Shape, moved
from tests.measure.plan_oracle import distances, samples
from tests.measure.plan_shapes import BOTTLE, L_SHAPE, OBSTACLES, U_SHAPE, ZONES, shape_of

KINDS = sorted({*ZONES, *OBSTACLES})


def as_shape(piece: Convex) -> Shape:
    if len(piece.corners) == 1:
        return DiscAt(*piece.corners[0], piece.radius)
    if len(piece.corners) == 2:
        return Capsule(*piece.corners[0], *piece.corners[1], piece.radius)
    assert piece.radius == 0
    return Area(piece.corners)


def inner(shape: Shape, rng: Random) -> np.ndarray:
    """Places in a shape: on its edge, and others spread over it."""
    edge = samples(shape)
    low, high = edge.min(axis=0), edge.max(axis=0)
    spread = np.array([[rng.uniform(low[k], high[k]) for k in (0, 1)] for _ in range(300)])
    return np.vstack([edge, spread[distances(shape, spread) == 0.0]])


@pytest.mark.parametrize("within", [0.0005, 0.02])
@pytest.mark.parametrize("kind", KINDS)
def test_pieces_hold_the_shape_and_reach_no_farther_than_they_say(kind, within):
    rng = Random(f"{kind} {within}")
    for _ in range(12):
        shape = shape_of(kind, rng)
        parts = [as_shape(p) for p in pieces(shape, within)]
        places = inner(shape, rng)
        off = np.min([distances(p, places) for p in parts], axis=0)
        assert off.max() <= 1e-9, shape
        beyond = max(distances(shape, samples(p)).max() for p in parts)
        assert beyond <= (within if kind == "sector" else 0.0) + 1e-9, shape


@pytest.mark.parametrize("kind", KINDS)
def test_pieces_are_convex_counterclockwise_and_have_no_straight_corners(kind):
    rng = Random(kind)
    for _ in range(20):
        for piece in pieces(shape_of(kind, rng)):
            c = piece.corners
            if len(c) > 2:
                turns = [
                    (q[0] - p[0]) * (r[1] - q[1]) - (q[1] - p[1]) * (r[0] - q[0])
                    for p, q, r in zip(c, c[1:] + c[:1], c[2:] + c[:2], strict=True)
                ]
                assert min(turns) > 0.0


@pytest.mark.parametrize(
    ("shape", "expected"),
    [
        (PointAt(1, 2), (Convex(((1, 2),)),)),
        (DiscAt(1, 2, 3), (Convex(((1, 2),), 3),)),
        (SectorAt(1, 2, 3, 0, 360), (Convex(((1, 2),), 3),)),
        (SectorAt(1, 2, 0, 0, 90), (Convex(((1, 2),)),)),
        (SegmentAt(0, 0, 0, 0), (Convex(((0, 0),)),)),
        (Capsule(0, 0, 1, 0, 0.5), (Convex(((0, 0), (1, 0)), 0.5),)),
        (BoxAt(2, 1, 0, 0), (Convex(((0, 0), (2, 0), (2, 1), (0, 1))),)),
        # a corner on a straight side is none
        (Area(((0, 0), (1, 0), (2, 0), (2, 1), (0, 1))), (Convex(((0, 0), (2, 0), (2, 1), (0, 1))),)),
    ],
)
def test_what_is_convex_is_one_piece(shape, expected):
    found = pieces(shape)
    assert len(found) == 1
    start = found[0].corners.index(expected[0].corners[0])
    assert Convex(found[0].corners[start:] + found[0].corners[:start], found[0].radius) == expected[0]


@pytest.mark.parametrize(("area", "most"), [(L_SHAPE, 2), (U_SHAPE, 3), (BOTTLE, 7)])
def test_few_pieces(area, most):
    """Never more than four times the fewest (Hertel and Mehlhorn 1983); of these no more than a person needs."""
    for heading in (0, 33, 90, 200):
        assert len(pieces(moved(area, 0.1, 0.2, heading))) <= most


def test_areas_add_up():
    for area in (L_SHAPE, U_SHAPE, BOTTLE):
        assert math.fsum(surface(p.corners) for p in pieces(area)) == pytest.approx(surface(area.core))


def surface(c) -> float:
    return math.fsum(p[0] * q[1] - q[0] * p[1] for p, q in zip(c, c[1:] + c[:1], strict=True)) / 2


@pytest.mark.parametrize("within", [0.0, -1.0, math.nan])
def test_a_slice_cannot_be_drawn_by_straight_lines_without_some_room(within):
    with pytest.raises(ValueError, match="expected more than 0"):
        pieces(SectorAt(0, 0, 1, 0, 90), within)

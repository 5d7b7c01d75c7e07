"""Random shapes of every kind, for pairs of a zone and an obstacle."""

from __future__ import annotations

import math
from random import Random

from readiness.measure.plan import Area, BoxAt, Capsule, DiscAt, PointAt, SectorAt, SegmentAt, Shape, moved

U_SHAPE = Area(((0, 0), (4, 0), (4, 4), (3, 4), (3, 1), (1, 1), (1, 4), (0, 4)))
"""The polygon of row G10: area 10, a notch 2 wide."""
L_SHAPE = Area(((0, 0), (3, 0), (3, 1), (1, 1), (1, 3), (0, 3)))
BOTTLE = Area(
    ((0, 0), (5, 0), (5, 4), (2.9, 4), (2.9, 3), (4, 3), (4, 1), (1, 1), (1, 3), (2.1, 3), (2.1, 4), (0, 4))
)
"""A recess 3 wide and 2 deep behind a mouth 0.8 wide."""

ZONES = ("disc", "sector", "rectangle", "corridor", "convex", "concave")
OBSTACLES = ("point", "disc", "wall", "rectangle", "convex", "concave")


def shape_of(kind: str, rng: Random) -> Shape:
    """One shape, now and then on a tape's grid of 5 cm and along the axes, so that lining up happens."""
    if rng.random() < 0.3:
        return _drawn(kind, rng, lambda low, high: round(rng.uniform(low, high) * 20) / 20 or 0.05, 90.0)
    return _drawn(kind, rng, rng.uniform, 0.0)


def _drawn(kind, rng, number, grid) -> Shape:
    x, y = number(-3, 3), number(-3, 3)
    heading = grid * rng.randrange(4) if grid else rng.uniform(-180, 180)
    if kind == "point":
        return PointAt(x, y)
    if kind == "disc":
        return DiscAt(x, y, number(0.05, 1.5))
    if kind == "sector":
        start = heading or 0.0
        turn = rng.choice((60, 90, 180, 270, 300)) if grid else rng.uniform(2, 358)
        return SectorAt(x, y, number(0.3, 3), start, start + turn)
    if kind == "rectangle":
        return BoxAt(x, y, x + number(0.1, 2), y + number(0.1, 2))
    if kind in ("wall", "corridor"):
        ends = (x, y, x + number(0.1, 3), y if grid else number(-3, 3))
        return SegmentAt(*ends) if kind == "wall" else Capsule(*ends, number(0.05, 1))
    outline = hull_of(rng) if kind == "convex" else rng.choice((U_SHAPE, L_SHAPE, star(rng), star(rng)))
    return moved(outline, x, y, heading)


def hull_of(rng: Random) -> Area:
    """Corners on a circle: a convex polygon."""
    turns = sorted(rng.sample(range(36), rng.randint(3, 7)))
    r = rng.uniform(0.3, 2)
    return Area(tuple((r * math.cos(k * math.tau / 36), r * math.sin(k * math.tau / 36)) for k in turns))


def star(rng: Random) -> Area:
    """A simple polygon round a middle, mostly concave."""
    n = rng.randint(4, 8)
    turn = rng.uniform(0, math.tau)
    arms = [rng.uniform(0.3, 2.5) for _ in range(n)]
    return Area(
        tuple(
            (r * math.cos(turn + k * math.tau / n), r * math.sin(turn + k * math.tau / n))
            for k, r in enumerate(arms)
        )
    )

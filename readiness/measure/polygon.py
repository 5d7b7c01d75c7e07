"""Simple polygons: what makes one, and how it is cut into convex pieces."""

from __future__ import annotations

import math
from collections.abc import Iterable
from functools import lru_cache
from itertools import combinations

from readiness.measure.convex import XY, Core

_STRAIGHT = 1e-12
"""Sine of the angle below which a corner counts as straight."""


@lru_cache(maxsize=512)
def simple(points: Core) -> Core:
    """Corners of a simple polygon, counterclockwise; the first may be repeated at the end.

    Raises ValueError for fewer than three corners, one that is repeated, no area, or sides that touch or cross.
    """
    core = points[:-1] if len(points) > 1 and points[0] == points[-1] else points
    if not all(math.isfinite(v) for p in core for v in p):
        raise ValueError("a corner of the area is not a finite number")
    if len(core) < 3 or len(set(core)) < 3:
        raise ValueError(f"an area needs three different corners, there are {len(set(core))}")
    n = len(core)
    for i in range(n):
        if core[i] == core[i - 1]:
            raise ValueError(f"corners {i or n} and {i + 1} of the area are the same: leave one out")
    if all(_straight(core[0], core[1], p) for p in core):
        raise ValueError("the corners of the area lie on one line: it has no inside")
    _check_sides(core)
    return core if signed_area(core) > 0 else core[::-1]


def _check_sides(core: Core) -> None:
    n = len(core)
    for i in range(n):
        for j in range(i + 1, n):
            p, q, r, s = core[i], core[(i + 1) % n], core[j], core[(j + 1) % n]
            beside = q == r or s == p
            if _doubles_back(*((p, q, s) if q == r else (r, s, q))) if beside else meet(p, q, r, s):
                raise ValueError(
                    f"sides {i + 1} and {j + 1} of the area meet: give its corners in order round it"
                )


def signed_area(core: Core) -> float:
    """Twice the area; positive counterclockwise."""
    return math.fsum(p[0] * q[1] - q[0] * p[1] for p, q in zip(core, core[1:] + core[:1], strict=True))


def turn(o: XY, p: XY, q: XY) -> float:
    """Twice the area of the triangle o p q; positive counterclockwise."""
    return (p[0] - o[0]) * (q[1] - o[1]) - (p[1] - o[1]) * (q[0] - o[0])


def _doubles_back(o: XY, p: XY, q: XY) -> bool:
    ahead = (p[0] - o[0]) * (q[0] - p[0]) + (p[1] - o[1]) * (q[1] - p[1])
    return ahead < 0 and _straight(o, p, q)


def _straight(o: XY, p: XY, q: XY) -> bool:
    return abs(turn(o, p, q)) <= _STRAIGHT * math.dist(o, p) * math.dist(p, q)


def meet(p: XY, q: XY, r: XY, s: XY) -> bool:
    """Whether two closed segments, p q and r s, have a place in common."""
    a, b, c, d = turn(p, q, r), turn(p, q, s), turn(r, s, p), turn(r, s, q)
    if a * b < 0 and c * d < 0:
        return True
    ends = ((a, r, p, q), (b, s, p, q), (c, p, r, s), (d, q, r, s))
    return any(t == 0 and between(at, e, f) for t, at, e, f in ends)


def between(at: XY, e: XY, f: XY) -> bool:
    """Whether a place on the line through e and f lies between them or on one of them."""
    return min(e[0], f[0]) <= at[0] <= max(e[0], f[0]) and min(e[1], f[1]) <= at[1] <= max(e[1], f[1])


def holds(core: Core, p: XY) -> bool:
    """Whether a place lies inside a simple polygon, by the even-odd rule; on a side it may be either."""
    inside = False
    px, py = p
    x, y = core[-1]
    for x2, y2 in core:
        if (y > py) != (y2 > py) and px < x + (py - y) * (x2 - x) / (y2 - y):
            inside = not inside
        x, y = x2, y2
    return inside


def hull(places: Iterable[XY], near: float = 0.0) -> Core:
    """Corners of the smallest convex set that holds all places, counterclockwise (monotone chain, Andrew 1979).

    A corner that stands out by no more than `near` m is none.
    """
    order = sorted(set(places))
    if len(order) < 3:
        return tuple(order)
    chains: list[list[XY]] = []
    for row in (order, order[::-1]):
        chain: list[XY] = []
        for p in row:
            while len(chain) > 1 and turn(chain[-2], chain[-1], p) <= 0:
                chain.pop()
            chain.append(p)
        chains.append(chain[:-1])
    return tuple(_standing_out(chains[0] + chains[1], near))


def _standing_out(ring: list[XY], near: float) -> list[XY]:
    """The corners that stand out by more than so many m from the line through their neighbours.

    Only once the whole ring is known: along a side that is upright but for rounding, an end may be sorted between
    two others.
    """
    k = 0
    while near and k < len(ring) and len(ring) > 2:
        o, p, q = ring[k - 1], ring[k], ring[(k + 1) % len(ring)]
        between = (p[0] - o[0]) * (q[0] - p[0]) + (p[1] - o[1]) * (q[1] - p[1]) >= 0  # no end of a sliver
        if between and turn(o, p, q) <= near * math.dist(o, q):
            del ring[k]
            k = max(0, k - 1)
        else:
            k += 1
    return ring


# --- convex pieces -------------------------------------------------------------------------------


@lru_cache(maxsize=512)
def convex_pieces(core: Core) -> tuple[Core, ...]:
    """Convex polygons without straight corners that make up a simple one (Hertel and Mehlhorn 1983).

    It is cut into triangles by clipping ears; then every cut goes that convex pieces do not need. A point and
    a segment stay what they are.
    """
    if len(core) < 3:
        return (core,)
    if _convex(core):
        return (_bare(core),)
    pieces = _triangles(core)
    k = 0
    while k < len(pieces):
        for other in pieces[k + 1 :]:
            if joined := _joined(pieces[k], other):
                pieces[k] = joined
                pieces.remove(other)
                break
        else:
            k += 1
    return tuple(_bare(p) for p in pieces)


def _convex(core: Core) -> bool:
    n = len(core)
    return all(
        turn(core[i - 1], core[i], core[(i + 1) % n]) >= 0
        or _straight(core[i - 1], core[i], core[(i + 1) % n])
        for i in range(n)
    )


def _bare(core: Core) -> Core:
    """The corners that are not straight; the two ends of what has no width."""
    left = list(core)
    i = 0
    while i < len(left) and len(left) > 2:
        if _straight(left[i - 1], left[i], left[(i + 1) % len(left)]):
            del left[i]
            i = max(0, i - 1)
        else:
            i += 1
    if len(left) > 2:
        return tuple(left)
    return max(combinations(core, 2), key=lambda ends: math.dist(*ends))


def _joined(a: Core, b: Core) -> Core | None:
    """Two convex pieces as one, where they share a side and make a convex one."""
    for i in range(len(a)):
        p, q = a[i - 1], a[i]
        for j in range(len(b)):
            if b[j - 1] == q and b[j] == p:
                both = a[i:] + a[:i] + b[j + 1 :] + b[: j - 1] if j else a[i:] + a[:i] + b[1:-1]
                return both if _convex(both) else None
    return None


def _triangles(core: Core) -> list[Core]:
    left = list(core)
    triangles = []
    while len(left) > 3:
        i = _ear(left)
        ear = (left[i - 1], left[i], left[(i + 1) % len(left)])
        if turn(*ear) > 0:
            triangles.append(ear)
        del left[i]
    return [*triangles, (left[0], left[1], left[2])]


def _ear(left: list[XY]) -> int:
    """A corner whose triangle with its neighbours holds no other corner; every simple polygon has two."""
    n = len(left)
    for i in range(n):
        o, p, q = left[i - 1], left[i], left[(i + 1) % n]
        bend = turn(o, p, q)
        if bend == 0:
            return i
        if bend > 0 and not any(_in_triangle(o, p, q, r) for r in left if r not in (o, p, q)):
            return i
    # only rounding can lead here: the widest corner does least harm
    return max(range(n), key=lambda i: turn(left[i - 1], left[i], left[(i + 1) % n]))


def _in_triangle(o: XY, p: XY, q: XY, r: XY) -> bool:
    return turn(o, p, r) >= 0 and turn(p, q, r) >= 0 and turn(q, o, r) >= 0

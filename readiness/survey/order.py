"""In which order to walk places: each once, without long ways back and forth."""

from __future__ import annotations

import math
from collections.abc import Sequence

from readiness.checks.picture import XY

SHORTER = 1e-9
"""m; a way is shorter only if it is so by more than rounding."""


def walked(places: Sequence[XY]) -> list[int]:
    """Numbers of the places in walking order, from the first: the nearest next, then crossings undone.

    Two-opt for an open way with a fixed start: a stretch is turned round while that makes the way shorter.
    """
    if not places:
        return []
    way, left = [0], set(range(1, len(places)))
    while left:
        here = places[way[-1]]
        nearest = min(left, key=lambda k: (math.dist(here, places[k]), k))
        way.append(nearest)
        left.discard(nearest)
    while _shortened(way, places):
        pass
    return way


def _shortened(way: list[int], places: Sequence[XY]) -> bool:
    """Turn round the first stretch that makes the way shorter; whether there was one."""
    for i in range(1, len(way) - 1):
        for j in range(i + 1, len(way)):
            if _gain(way, places, i, j) > SHORTER:
                way[i : j + 1] = way[i : j + 1][::-1]
                return True
    return False


def _gain(way: list[int], places: Sequence[XY], i: int, j: int) -> float:
    """How much shorter the way becomes if the stretch from i to j is walked backwards."""

    def length(a: int, b: int) -> float:
        return math.dist(places[way[a]], places[way[b]])

    if j == len(way) - 1:
        return length(i - 1, i) - length(i - 1, j)
    return length(i - 1, i) + length(j, j + 1) - length(i - 1, j) - length(i, j + 1)


def best_gap(places: Sequence[XY], new: XY) -> int:
    """Before which of the places in walking order a new one costs the least way; never before the first."""
    if not places:
        return 0

    def detour(k: int) -> float:
        before = math.dist(places[k - 1], new)
        if k == len(places):
            return before
        return before + math.dist(new, places[k]) - math.dist(places[k - 1], places[k])

    return min(range(1, len(places) + 1), key=detour)

"""Which movable things have to go so that the car fits: the fewest."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import combinations


def to_move(movable: Sequence[str], fits_without: Callable[[frozenset[str]], bool]) -> tuple[str, ...]:
    """The fewest of `movable` without which it fits, in their order; empty where it does not even without all.

    Things are put back as long as it still fits; so none of those left out could stay. Where that leaves two,
    each alone is tried; where it leaves more, every pair too. Taking more away never hurts.
    """
    gone = frozenset(movable)
    if not gone or not fits_without(gone):
        return ()
    for name in movable:
        if len(gone) > 1 and fits_without(gone - {name}):
            gone -= {name}
    for size in (1, 2):
        if len(gone) <= size:
            break
        fewer = next((s for s in combinations(movable, size) if fits_without(frozenset(s))), None)
        if fewer:
            return fewer
    return tuple(name for name in movable if name in gone)

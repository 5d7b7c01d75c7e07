"""Which movable things have to go so that the car fits: the fewest."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import combinations, islice

MOST_TRIED = 60
"""Sets of things tried beyond what taking them back one by one has found."""


def to_move(movable: Sequence[str], fits_without: Callable[[frozenset[str]], bool]) -> tuple[str, ...]:
    """The fewest of `movable` without which it fits, in their order; empty where it does not even without all.

    Things are put back one by one as long as it still fits: none of those left out could stay. Then smaller sets
    are tried, up to MOST_TRIED: so of six things or fewer, and where one or two of ten do, it is surely the fewest.
    Taking more away never hurts.
    """
    gone = frozenset(movable)
    if not gone or not fits_without(gone):
        return ()
    for name in movable:
        if len(gone) > 1 and fits_without(gone - {name}):
            gone -= {name}
    smaller = (s for size in range(1, len(gone)) for s in combinations(movable, size))
    for few in islice(smaller, MOST_TRIED):
        if fits_without(frozenset(few)):
            return few
    return tuple(name for name in movable if name in gone)

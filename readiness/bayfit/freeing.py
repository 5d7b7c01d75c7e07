"""Which movable things have to go so that the car fits: the fewest."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cache
from itertools import combinations, islice

MOST_TRIED = 60
"""Sets of things tried beyond what putting them back has found."""

Fits = Callable[[frozenset[str]], bool]


def to_move(movable: Sequence[str], fits_without: Fits) -> tuple[str, ...]:
    """The fewest of `movable` without which it fits, in their order; empty where it does not even without all.

    Things are put back as long as it still fits: none of those left out could stay. Then smaller sets are tried, up
    to MOST_TRIED: so of six things or fewer, and where one or two of ten do, it is surely the fewest. Those that
    could stay with none of the others there are in every set. Taking more away never hurts.
    """
    fits = cache(fits_without)
    every = frozenset(movable)
    if not every or not fits(every):
        return ()
    gone = _put_back(movable, every, fits)
    if len(gone) > 1:
        certain = frozenset(name for name in gone if not fits(every - {name}))
        others = [name for name in movable if name not in certain]
        sizes = range(max(1, len(certain)), len(gone))
        smaller = (certain | set(s) for size in sizes for s in combinations(others, size - len(certain)))
        gone = next((few for few in islice(smaller, MOST_TRIED) if fits(few)), gone)
    return tuple(name for name in movable if name in gone)


def _put_back(group: Sequence[str], gone: frozenset[str], fits: Fits) -> frozenset[str]:
    """What is still gone once of this group, which cannot all come back, as much as can has: by halves."""
    if len(group) == 1:
        return gone
    half = len(group) // 2
    for part in (group[:half], group[half:]):
        left = gone - frozenset(part)
        gone = left if left and fits(left) else _put_back(part, gone, fits)
    return gone

"""What changed between two surveys of one floor, at the places that both have.

Each survey counts from a datum of its own, so a shift and a tilt of the whole floor cannot be told from another
datum. What is left when the best plane is taken out of each is what the floor itself did.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from statistics import NormalDist

from readiness.measure.surface import Surface
from readiness.measure.uncertain import Estimate, combined

SAME_PLACE = 0.05
"""m; places of two surveys that are no farther apart are one place. Common practice, no published source."""
FEWEST = 4
"""Places in common; three always lie in a plane, so they tell nothing."""
RISK = 0.05
"""That a floor which did not move is said to have moved, at whichever of its places."""


@dataclass(frozen=True, slots=True)
class Change:
    """One place: its names in the older and the newer survey, and by how much it rose, in mm, beside the plane."""

    before: str
    after: str
    rise: Estimate

    @property
    def times_u(self) -> float:
        return abs(self.rise.value) / self.rise.u if self.rise.u else math.inf


@dataclass(frozen=True, slots=True)
class Moved:
    """All places in common, the one first at which the change is largest beside its uncertainty.

    `factor`: times u, what chance alone reaches at one place or another in 5 % of floors that did not move.
    """

    changes: tuple[Change, ...]
    factor: float

    @property
    def worst(self) -> Change:
        return self.changes[0]

    @property
    def ratio(self) -> float:
        """As E_n is made (ISO 13528): up to 1 the surveys agree; but with a factor that counts how many places there are."""
        return self.worst.times_u / self.factor

    @property
    def moved(self) -> bool:
        return self.ratio > 1.0


def moved(older: Surface, newer: Surface) -> Moved:
    """What the floor did between two surveys, whose errors are independent of each other.

    Raises ValueError, saying why, where they have fewer than four places in common or these lie on one line.
    """
    pairs = list(_common(older, newer))
    if len(pairs) < FEWEST:
        raise ValueError(f"they have {len(pairs)} places in common, and four are needed")
    old_names, new_names = [a for a, _ in pairs], [b for _, b in pairs]
    changes = [_change(older, newer, a, b, old_names, new_names) for a, b in pairs]
    changes.sort(key=lambda c: -c.times_u)
    return Moved(tuple(changes), factor_for(len(pairs)))


def factor_for(places: int) -> float:
    """Times u, either way, that no one of so many places passes but in 5 % of cases (Bonferroni's inequality)."""
    return NormalDist().inv_cdf(1.0 - RISK / (2.0 * places))


def _change(
    older: Surface, newer: Surface, before: str, after: str, old: Sequence[str], new: Sequence[str]
) -> Change:
    was, now = older.over_plane(before, old), newer.over_plane(after, new)
    return Change(before, after, Estimate(now.value - was.value, combined(was.u, now.u)))


def _common(older: Surface, newer: Surface) -> Iterator[tuple[str, str]]:
    """Each place of the newer survey with the nearest of the older one that is not taken yet."""
    left = dict(older.places)
    for name, at in newer.places.items():
        near = min(left, key=lambda other: math.dist(at, left[other]), default=None)
        if near is not None and math.dist(at, left[near]) <= SAME_PLACE:
            del left[near]
            yield near, name

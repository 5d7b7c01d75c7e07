"""What changed between two surveys of one floor, at the places that both have.

Each survey counts from a datum of its own, so a shift and a tilt of the whole floor cannot be told from another
datum. What is left when the best plane is taken out of each is what the floor itself did.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from statistics import NormalDist

from readiness.measure.surface import XY, Surface, plane_weights
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
    was = _beside_plane(older, [a for a, _ in pairs])
    now = _beside_plane(newer, [b for _, b in pairs])
    changes = [
        Change(a, b, Estimate(new.value - old.value, combined(old.u, new.u)))
        for (a, b), old, new in zip(pairs, was, now, strict=True)
    ]
    changes.sort(key=lambda c: -c.times_u)
    return Moved(tuple(changes), factor_for(len(pairs)))


def factor_for(places: int) -> float:
    """Times u, either way, that no one of so many places passes but in 5 % of cases (Bonferroni's inequality)."""
    return NormalDist().inv_cdf(1.0 - RISK / (2.0 * places))


def _beside_plane(surface: Surface, names: Sequence[str]) -> list[Estimate]:
    """Each place over the best plane through all, as `Surface.over_plane` has it, for thousands at once.

    Raises ValueError where the places lie on one line.
    """
    import numpy as np

    places = {name: surface.places[name] for name in names}
    plane_weights(places, 0.0, 0.0)  # says so where they lie on one line
    xy = np.array([*places.values()])
    design = np.column_stack([np.ones(len(xy)), xy - xy.mean(axis=0)])
    beside = np.eye(len(xy)) - design @ np.linalg.pinv(design)
    errors = {
        error: n for n, error in enumerate(dict.fromkeys(e for name in names for e in surface.effects[name]))
    }
    effects = np.zeros((len(xy), len(errors)))
    for row, name in zip(effects, names, strict=True):
        for error, size in surface.effects[name].items():
            row[errors[error]] = size
    values = beside @ np.array([surface.heights[name] for name in names])
    us = np.sqrt(np.square(beside @ effects).sum(axis=1))
    return [Estimate(float(value), float(u)) for value, u in zip(values, us, strict=True)]


def _common(older: Surface, newer: Surface) -> Iterator[tuple[str, str]]:
    """Each place of the newer survey with the nearest of the older one that is not taken yet."""
    left: dict[tuple[int, int], dict[str, XY]] = {}
    for name, at in older.places.items():
        left.setdefault(_cell(at), {})[name] = at
    for name, at in newer.places.items():
        x, y = _cell(at)
        about = (left.get((x + i, y + j), {}) for i in (-1, 0, 1) for j in (-1, 0, 1))
        near = {other: math.dist(at, there) for cell in about for other, there in cell.items()}
        found = min(near, key=lambda other: near[other], default=None)
        if found is not None and near[found] <= SAME_PLACE:
            del left[_cell(older.places[found])][found]
            yield found, name


def _cell(at: XY) -> tuple[int, int]:
    """Squares so large that places which are one lie in neighbouring ones."""
    return math.floor(at[0] / SAME_PLACE), math.floor(at[1] / SAME_PLACE)

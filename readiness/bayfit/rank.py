"""Of what was found for each bay: which place counts for a car, and which bay suits best."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from readiness.bayfit.found import BayFit, Fit, Mode
from readiness.job import Standing

WHOLE: tuple[Mode, ...] = ("single", "at_once", "in_turn")
"""Modes in which a bay serves every side of a car that is asked for; standing for both comes first."""


SAME_PLACE, SAME_HEADING = 0.02, 0.2
"""m and degrees: parking on marks by eye is no better than this; common practice, no published source."""


def same_place(one: Standing, other: Standing) -> bool:
    """Whether a car parked by eye at one of them stands at the other as well."""
    turn = abs((one.heading - other.heading + 180.0) % 360.0 - 180.0)
    return math.hypot(one.x - other.x, one.y - other.y) <= SAME_PLACE and turn <= SAME_HEADING


def modes_for(sides: Sequence[str]) -> tuple[Mode, ...]:
    """What to ask of a bay for these sides of a job."""
    if len(sides) > 1:
        return ("in_turn", "at_once")
    return ("left",) if sides[0] == "left" else ("right",) if sides[0] == "right" else ("single",)


def whole(found: BayFit) -> tuple[Fit, ...]:
    """What was found for all sides asked for: both at once and in turn, or the one side there is."""
    both = tuple(f for mode in WHOLE for f in found.fits if f.mode == mode)
    return both or found.fits


def takes_all(found: BayFit) -> bool:
    """Whether the bay takes all sides that were asked for, in turn at least."""
    return any(f.fits for f in whole(found))


def best(found: BayFit) -> Fit:
    """The place to tell first: it serves most, with least to move; of those that do not fit, the nearest miss."""
    return min((*whole(found), *found.fits), key=lambda f: _grade(found, f))


def best_first(found: Iterable[BayFit]) -> list[BayFit]:
    """Bays by how well they suit; equal ones stay in order."""
    return sorted(found, key=lambda b: _grade(b, best(b)))


def _grade(found: BayFit, fit: Fit) -> tuple[int, int, int, float]:
    """Smaller is better: all sides without moving a thing, all sides, one side, none; then most room."""
    complete = fit in whole(found)
    if not fit.fits:
        return 4, 0, 0 if complete else 1, -fit.spare
    rank = (0 if not fit.moved else 1) if complete else (2 if not fit.moved else 3)
    return rank, len(fit.moved), 0 if fit.mode in ("at_once", "single") else 1, -fit.spare

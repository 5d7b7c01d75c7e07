"""Illuminance over an area: mean, minimum, uniformity, and where to measure (EN 12464-1)."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

WIDEST_GRID_M = 10.0


@dataclass(frozen=True, slots=True)
class Light:
    """Mean and minimum in lx; `uniformity` U0 = minimum / mean, 0 to 1."""

    mean: float
    minimum: float
    uniformity: float


def light_of(readings: Sequence[float]) -> Light:
    """Mean, minimum and uniformity of illuminances in lx. Raises ValueError for none or negative ones."""
    if not readings:
        raise ValueError("there are no light readings: measure at least one point")
    if not all(r >= 0 for r in readings):
        raise ValueError(f"an illuminance of {min(readings)} lx cannot be: expected 0 or more")
    mean, least = math.fsum(readings) / len(readings), min(readings)
    # in full darkness nothing is uneven, but nothing is even either
    return Light(mean, least, least / mean if mean else 0.0)


def uniformity(readings: Sequence[float]) -> float:
    """U0 = minimum / mean of illuminances."""
    return light_of(readings).uniformity


def grid_spacing(longer_side_m: float) -> float:
    """Largest distance in m between measuring points, p = 0.2 * 5^(log10 d), at most 10 m."""
    if not longer_side_m > 0:
        raise ValueError(f"an area with a side of {longer_side_m} m cannot be: it is positive")
    return min(WIDEST_GRID_M, 0.2 * float(5.0 ** math.log10(longer_side_m)))


def grid_points(length_m: float, width_m: float) -> tuple[int, int]:
    """Numbers of points along both sides, each side over the spacing and rounded to nearest, 1 at least."""
    p = grid_spacing(max(length_m, width_m))
    along, across = (max(1, math.floor(side / p + 0.5)) for side in (length_m, width_m))
    return along, across

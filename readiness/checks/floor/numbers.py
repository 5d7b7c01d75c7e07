"""What is asked of a floor, as numbers with uncertainty: slopes, flatness, twist. Car axes, m and mm.

They are kept by surface: the parts of a finding and its details ask for the same ones, and a bay's survey stays the
same from answer to answer.
"""

from __future__ import annotations

import math
from functools import lru_cache

from readiness.job import WHEELS
from readiness.measure.plane import fit_plane, twist_weights
from readiness.measure.surface import Surface, minus, plane_weights
from readiness.measure.uncertain import Estimate


@lru_cache(maxsize=16)
def slopes(surface: Surface) -> tuple[Estimate, Estimate]:
    """Slopes in mm/m of the least-squares plane of the wheel contacts: up ahead, and up to the left."""
    wheels = {w: surface.places[w] for w in WHEELS}
    origin = plane_weights(wheels, 0.0, 0.0)
    ahead, left = plane_weights(wheels, 1.0, 0.0), plane_weights(wheels, 0.0, 1.0)
    return surface.total(minus(ahead, origin)), surface.total(minus(left, origin))


def in_degrees(slope: Estimate) -> Estimate:
    """The angle of a slope in mm/m."""
    rise = slope.value / 1000.0
    return Estimate(math.degrees(math.atan(rise)), math.degrees(slope.u / 1000.0 / (1.0 + rise * rise)))


@lru_cache(maxsize=16)
def peak_to_valley(surface: Surface, points: tuple[str, ...]) -> Estimate:
    """Highest over lowest point in mm about the least-squares plane through all of them."""
    at = {p: surface.places[p] for p in points}
    top, bottom = extremes(surface, points)
    over = minus({top: 1.0}, plane_weights(at, *at[top]))
    under = minus({bottom: 1.0}, plane_weights(at, *at[bottom]))
    return surface.total(minus(over, under))


@lru_cache(maxsize=16)
def extremes(surface: Surface, points: tuple[str, ...]) -> tuple[str, str]:
    """The points furthest over and under the best plane through all of them."""
    ranked = sorted(zip(residuals(surface, points), points, strict=True))
    return ranked[-1][1], ranked[0][1]


@lru_cache(maxsize=16)
def residuals(surface: Surface, points: tuple[str, ...]) -> tuple[float, ...]:
    """Heights in mm over the least-squares plane through the points."""
    return fit_plane([(*surface.places[p], surface.heights[p]) for p in points]).residuals


@lru_cache(maxsize=16)
def twist(surface: Surface) -> Estimate:
    """How far in mm one wheel contact is off the plane of the other three (see `measure.plane.twist_weights`)."""
    contacts = [(*surface.places[w], surface.heights[w]) for w in WHEELS]
    lf, lr, rr, rf = contacts
    return surface.total(dict(zip(WHEELS, twist_weights(lf, lr, rr, rf), strict=True)))

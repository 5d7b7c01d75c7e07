"""Places of the bay as a car that stands there sees them, and places about the car in the bay's axes."""

from __future__ import annotations

import math

from readiness.job import Standing
from readiness.measure.overlap import XY


def in_car(standing: Standing, at: XY) -> XY:
    x, y = at[0] - standing.x, at[1] - standing.y
    h = math.radians(standing.heading)
    return x * math.cos(h) + y * math.sin(h), y * math.cos(h) - x * math.sin(h)


def in_bay(standing: Standing, at: XY) -> XY:
    h = math.radians(standing.heading)
    x, y = at
    return (
        standing.x + x * math.cos(h) - y * math.sin(h),
        standing.y + x * math.sin(h) + y * math.cos(h),
    )

"""How a thing that stands on feet takes up the heights under them: how far it is lifted, how it leans."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from operator import mul
from typing import NamedTuple

from readiness.measure.plane import THINNEST

XY = tuple[float, float]


class Resting(NamedTuple):
    """The plane z = base + along x + across y, in the unit of the heights and per m."""

    base: float
    along: float
    across: float

    def at(self, x: float, y: float) -> float:
        return self.base + self.along * x + self.across * y


@dataclass(frozen=True, slots=True)
class Footing:
    """What every foot's height counts in the lean of the thing, in x and in y (per m); the centre of the feet.

    Least squares where there are more than three feet. Feet on one line lean the thing along that line only,
    and a single foot does not lean it: across, it is taken to stand as it did.
    """

    centre: XY
    along: tuple[float, ...]
    across: tuple[float, ...]

    def plane(self, heights: Sequence[float]) -> Resting:
        """The plane that rests on the feet at these heights, one a foot."""
        if len(heights) != len(self.along):
            raise ValueError(f"{len(self.along)} feet stand on as many heights, there are {len(heights)}")
        along, across = math.fsum(map(mul, self.along, heights)), math.fsum(map(mul, self.across, heights))
        mean = math.fsum(heights) / len(heights)
        return Resting(mean - along * self.centre[0] - across * self.centre[1], along, across)


@lru_cache(maxsize=256)
def footing(feet: tuple[XY, ...]) -> Footing:
    """The footing of feet at these places in m. Raises ValueError where there is no foot."""
    if not feet:
        raise ValueError("what stands on the floor needs at least one foot")
    n = len(feet)
    xm, ym = math.fsum(x for x, _ in feet) / n, math.fsum(y for _, y in feet) / n
    offs = [(x - xm, y - ym) for x, y in feet]
    sxx, sxy, syy = (math.fsum(p[i] * p[k] for p in offs) for i, k in ((0, 0), (0, 1), (1, 1)))
    det, size = sxx * syy - sxy * sxy, sxx + syy
    if size == 0.0:
        return Footing((xm, ym), (0.0,) * n, (0.0,) * n)
    if det <= THINNEST * size * size:  # one line: the slope of least size that fits lies along it
        return Footing((xm, ym), tuple(dx / size for dx, _ in offs), tuple(dy / size for _, dy in offs))
    return Footing(
        (xm, ym),
        tuple((syy * dx - sxy * dy) / det for dx, dy in offs),
        tuple((sxx * dy - sxy * dx) / det for dx, dy in offs),
    )

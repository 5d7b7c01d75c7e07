"""A straight line through numbers that were read one after the other: how fast they drift, and how sure that is.

Ordinary least squares with the usual formulas for the slope's standard error and its interval by Student's t
(any textbook of statistics; from memory, the tests compare with scipy.stats.linregress).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from readiness.measure.chance import two_sided


@dataclass(frozen=True, slots=True)
class Trend:
    """The line y = middle + slope (x - x_middle), in the units of x and y.

    `low` and `high` are the ends of the slope's 95 % interval; `u` is its standard error, with `dof` degrees of freedom.
    """

    slope: float
    u: float
    low: float
    high: float
    dof: int
    x_middle: float
    middle: float

    def at(self, x: float) -> float:
        return self.middle + self.slope * (x - self.x_middle)

    @property
    def sure(self) -> bool:
        """Whether the interval leaves nought out, so that there is a drift one way."""
        return self.low > 0.0 or self.high < 0.0


def trend(x: Sequence[float], y: Sequence[float]) -> Trend:
    """The line of least squares through the points.

    Raises ValueError for fewer than three points or not as many x as y, for x that are all the same, and for numbers
    that are not finite.
    """
    n = len(x)
    if n != len(y) or n < 3:
        raise ValueError(f"a trend needs three points or more, each with x and y; there are {n} and {len(y)}")
    if not all(math.isfinite(v) for v in (*x, *y)):
        raise ValueError("a trend needs numbers, one of them is not finite")
    x_middle, middle = math.fsum(x) / n, math.fsum(y) / n
    sxx = math.fsum((v - x_middle) ** 2 for v in x)
    if sxx == 0.0:
        raise ValueError("a trend needs points at different x, these are all the same")
    slope = math.fsum((a - x_middle) * (b - middle) for a, b in zip(x, y, strict=True)) / sxx
    left = math.fsum((b - middle - slope * (a - x_middle)) ** 2 for a, b in zip(x, y, strict=True))
    dof = n - 2
    u = math.sqrt(left / dof / sxx)
    reach = two_sided(dof) * u
    return Trend(slope, u, slope - reach, slope + reach, dof, x_middle, middle)

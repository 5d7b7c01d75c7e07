"""What standards of building say a floor may be: gaps under a line or a straightedge, and F-numbers."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from statistics import fmean, stdev

DIN_18202_MM = {
    3: ((0.1, 2.0), (1.0, 4.0), (4.0, 10.0), (10.0, 12.0), (15.0, 15.0)),
    4: ((0.1, 1.0), (1.0, 3.0), (4.0, 9.0), (10.0, 12.0), (15.0, 15.0)),
}
"""DIN 18202 table 3, finished floors: row -> (distance in m, gap in mm)."""
BS_8204_MM = {"SR1": 3.0, "SR2": 5.0, "SR3": 10.0}
"""BS 8204 surface regularity: largest gap in mm under a 2 m straightedge."""
FLOOR_LINE = 12
"""Readings, one foot apart, that ASTM E1155 wants at least in a line."""


def din18202_limit(row: int, length_m: float) -> float:
    """Largest gap in mm that DIN 18202 table 3 allows in row 3 or 4 under a line of this length in m.

    Linear between the table's points, rounded to 1 mm (half up); from 15 m on the last value holds.
    It bounds flatness, not slope. Raises ValueError for another row and below 0.1 m.
    """
    if row not in DIN_18202_MM:
        raise ValueError(f"row {row} of DIN 18202 table 3 is not known here: expected 3 or 4")
    table = DIN_18202_MM[row]
    if not length_m >= table[0][0]:
        raise ValueError(f"DIN 18202 states no limit for {length_m:g} m: expected 0.1 m or more")
    for (x0, y0), (x1, y1) in itertools.pairwise(table):
        if length_m <= x1:
            exact = y0 + (y1 - y0) * (length_m - x0) / (x1 - x0)
            return float(math.floor(exact + 0.5 + 1e-9))
    return table[-1][1]


def bs8204_class(gap_mm: float) -> str:
    """BS 8204 class of a largest gap in mm under a 2 m straightedge: 'SR1' to 'SR3', '' if none."""
    if not gap_mm >= 0:
        raise ValueError(f"a gap of {gap_mm} mm cannot be: expected 0 or more")
    return next((name for name, most in BS_8204_MM.items() if gap_mm <= most), "")


def f_numbers(heights_in: Sequence[float]) -> tuple[float, float]:
    """Flatness FF and levelness FL of one line of heights in inches, one foot apart (ASTM E1155).

    FF = 4.57 / (3 s_q + |mean q|), q the change of neighbouring differences; FL = 12.5 / (3 s_z +
    |mean z|), z the rise over ten feet; constants from memory. Infinite for a perfect line.
    """
    if len(heights_in) < FLOOR_LINE:
        raise ValueError(f"F-numbers need a line of {FLOOR_LINE} readings, there are {len(heights_in)}")
    d = [b - a for a, b in itertools.pairwise(heights_in)]
    q = [b - a for a, b in itertools.pairwise(d)]
    z = [b - a for a, b in zip(heights_in, heights_in[10:], strict=False)]
    return _f(4.57, q), _f(12.5, z)


def _f(constant: float, values: Sequence[float]) -> float:
    spread = 3.0 * stdev(values) + abs(fmean(values))
    return constant / spread if spread else math.inf

"""Height differences by level: nets of runs, loops, reversal, and what a floor may be.

A run is one measured height difference between two nodes. A net of runs is adjusted by weighted
least squares (Mikhail and Ackermann, Observations and Least Squares, 1976). `level_net` does the same
for the readings of a level, of which the zero error is one more unknown.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from statistics import fmean, stdev

from readiness.measure.graph import joined
from readiness.measure.least_squares import Observation, Solution, solved, widening
from readiness.measure.uncertain import Estimate

SUSPECT = 3.29
"""Standardised residual beyond which a run is suspect: 0.1 % risk (Baarda), from memory."""
_ARCSEC_PER_RAD = 3600.0 * 180.0 / math.pi

DIN_18202_MM = {
    3: ((0.1, 2.0), (1.0, 4.0), (4.0, 10.0), (10.0, 12.0), (15.0, 15.0)),
    4: ((0.1, 1.0), (1.0, 3.0), (4.0, 9.0), (10.0, 12.0), (15.0, 15.0)),
}
"""DIN 18202 table 3, finished floors: row -> (distance in m, gap in mm)."""
BS_8204_MM = {"SR1": 3.0, "SR2": 5.0, "SR3": 10.0}
"""BS 8204 surface regularity: largest gap in mm under a 2 m straightedge."""
FLOOR_LINE = 12
"""Readings, one foot apart, that ASTM E1155 wants at least in a line."""


@dataclass(frozen=True, slots=True)
class Run:
    """A measured height difference from `start` up to `end`, and its standard uncertainty, one unit."""

    start: str
    end: str
    dh: float
    u: float


@dataclass(frozen=True, slots=True)
class Net:
    """An adjusted net, in the unit of its runs.

    `heights` holds every node; `names` the adjusted ones in the order of `covariance`, which rests on
    the stated u of the runs. Residuals are adjusted minus measured, `standardised` in units of their
    own u (0 where nothing checks a run). `s0` near 1 says the stated u are right; NaN without redundancy.
    """

    heights: dict[str, float]
    names: tuple[str, ...]
    covariance: tuple[tuple[float, ...], ...]
    residuals: tuple[float, ...]
    standardised: tuple[float, ...]
    chi_square: float
    dof: int
    s0: float

    def height(self, name: str) -> Estimate:
        """Height of a node; u is 0 for a known one, and wider where the runs disagree beyond their u."""
        if name not in self.names:
            return Estimate(self.heights[name])
        k = self.names.index(name)
        return Estimate(self.heights[name], widening(self.s0) * math.sqrt(self.covariance[k][k]))

    def suspects(self, limit: float = SUSPECT) -> tuple[int, ...]:
        """Numbers of the runs that fit worst, if worse than `limit`; all of them if they tie.

        A single loop that does not close cannot say which of its runs is wrong: all tie.
        """
        return worst(self.standardised, limit)


def worst(standardised: Sequence[float], limit: float = SUSPECT) -> tuple[int, ...]:
    """Numbers of the largest standardised residuals, all that tie, if they are beyond `limit`."""
    most = max((abs(w) for w in standardised), default=0.0)
    if most <= limit:
        return ()
    return tuple(i for i, w in enumerate(standardised) if abs(w) >= most * (1 - 1e-6))


def adjust(runs: Sequence[Run], datum: str, known: Mapping[str, float] | None = None) -> Net:
    """Adjust a net of runs by weighted least squares, weights 1 / u^2.

    `datum` is the node of height 0 unless `known` gives its height; every node in `known` stays fixed.
    Raises ValueError for no runs, a run from a node to itself, a u that is not positive, an unknown
    datum, and nodes that no run connects to a known one.
    """
    fixed = {datum: 0.0, **(known or {})}
    _check(runs, datum, fixed)
    names = tuple(dict.fromkeys(n for r in runs for n in (r.start, r.end) if n not in fixed))
    solution = solved([_rise(run, fixed) for run in runs], names)
    return _net(fixed, solution)


def misclosure(runs: Sequence[Run]) -> Estimate:
    """Sum of the height differences round a closed loop, 0 if all is well, and its u.

    Runs in walking order; one measured the other way round counts with the other sign. Raises
    ValueError where the runs do not follow one another back to the start.
    """
    if not runs:
        raise ValueError("a loop needs runs, there are none")
    first = runs[0]
    here = first.start if len(runs) == 1 or first.end in (runs[1].start, runs[1].end) else first.end
    origin, total = here, 0.0
    for k, run in enumerate(runs, 1):
        if here not in (run.start, run.end):
            raise ValueError(f"run {k}, {run.start} to {run.end}, does not go on from {here}")
        forward = here == run.start
        total += run.dh if forward else -run.dh
        here = run.end if forward else run.start
    if here != origin:
        raise ValueError(f"the loop starts at {origin} and ends at {here}: it is not closed")
    return Estimate(total, math.hypot(*(r.u for r in runs)))


def misclosure_limit(k_mm: float, distance_km: float) -> float:
    """Largest misclosure in mm of a loop of this length, k sqrt(km) (classes of levelling, FGCS)."""
    return k_mm * math.sqrt(distance_km)


# --- spirit and digital levels -------------------------------------------------------------------


def reversed_pair(r1: float, r2: float) -> tuple[float, float]:
    """Slope and zero error from a level read, turned end for end, and read again, in one unit.

    r1 = slope + zero, r2 = -slope + zero. For readings of equal u, both have u / sqrt 2.
    """
    return (r1 - r2) / 2.0, (r1 + r2) / 2.0


def height_difference(length_m: float, slope_mm_per_m: float) -> float:
    """Rise in mm over a horizontal length in m at a slope in mm/m."""
    return length_m * slope_mm_per_m


def arcsec_from_mm_per_m(sensitivity: float) -> float:
    """Angle in arcseconds of a vial sensitivity in mm/m."""
    return math.atan(sensitivity / 1000.0) * _ARCSEC_PER_RAD


def mm_per_m_from_arcsec(angle: float) -> float:
    """Sensitivity in mm/m of a vial whose division is this angle in arcseconds."""
    return 1000.0 * math.tan(angle / _ARCSEC_PER_RAD)


def vial_radius_m(sensitivity: float, division_mm: float = 2.0) -> float:
    """Radius in m of the vial whose bubble moves one division at this tilt in mm/m."""
    return division_mm / sensitivity


# --- what a floor may be -------------------------------------------------------------------------


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


# --- inside the adjustment -----------------------------------------------------------------------


def _rise(run: Run, fixed: Mapping[str, float]) -> Observation[str]:
    parts = {n: sign for n, sign in ((run.end, 1.0), (run.start, -1.0)) if n not in fixed}
    return Observation(parts, run.dh + fixed.get(run.start, 0.0) - fixed.get(run.end, 0.0), run.u)


def _net(fixed: Mapping[str, float], solution: Solution[str]) -> Net:
    import numpy as np

    root = np.array(solution.root).reshape(len(solution.values), -1)
    covariance = tuple(tuple(line) for line in (root @ root.T).tolist())
    return Net(
        {**fixed, **solution.values}, tuple(solution.values), covariance, solution.residuals,
        solution.standardised, solution.chi_square, solution.dof, solution.s0,
    )  # fmt: skip


def _check(runs: Sequence[Run], datum: str, fixed: Mapping[str, float]) -> None:
    if not runs:
        raise ValueError("there are no runs to adjust: measure at least one height difference")
    for k, run in enumerate(runs, 1):
        if run.start == run.end:
            raise ValueError(f"run {k} goes from {run.start} to itself: give two different nodes")
        if not (run.u > 0 and math.isfinite(run.u) and math.isfinite(run.dh)):
            raise ValueError(f"run {k}, {run.start} to {run.end}, needs a finite height and a positive u")
    nodes = {n for r in runs for n in (r.start, r.end)}
    if datum not in nodes:
        raise ValueError(f"no run touches the datum {datum}: the nodes are {', '.join(sorted(nodes))}")
    lost = nodes - joined([(r.start, r.end) for r in runs], fixed)
    if lost:
        raise ValueError(
            f"the runs fall into separate pieces: nothing connects {', '.join(sorted(lost))} to {datum}; "
            "measure one more height difference between the pieces"
        )

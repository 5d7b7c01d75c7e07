"""What regularity classes say of surveyed points, as information: gaps under a straightedge, F-numbers.

A gap is found at surveyed points only; between them the floor may gap more. Only straight lines of
points count, for that is what a straightedge lies along.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from readiness.measure.floor_standards import (
    DIN_18202_MM,
    FLOOR_LINE,
    bs8204_class,
    din18202_limit,
    f_numbers,
)

XY = tuple[float, float]
XYZ = tuple[float, float, float]
"""Place in plan in m, height in mm."""

BESIDE = 0.025
"""m that a point may lie beside a line: half the width of a straightedge; common practice, no published source."""
BS_8204_LENGTH = 2.0
"""m, the straightedge of BS 8204."""
FOOT = 0.3048
"""m between neighbouring readings (ASTM E1155)."""
FOOT_TOLERANCE = 0.03
"""Share by which a spacing may differ from a foot; ours, no published source."""
_MM_PER_INCH = 25.4


@dataclass(frozen=True, slots=True)
class Line:
    """Three or more points in a straight line in plan: names in order, m along it, heights in mm."""

    names: tuple[str, ...]
    along: tuple[float, ...]
    heights: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Gap:
    """`mm` under a straightedge that rests on the two points `on`, `length` m apart, at the point `under`."""

    mm: float
    under: str
    on: tuple[str, str]
    length: float
    share: float
    """Where `under` lies between the two, 0 to 1."""

    @property
    def weights(self) -> dict[str, float]:
        """What each height counts in the gap, so that its uncertainty follows (`Surface.total`)."""
        first, last = self.on
        weights = {self.under: -1.0}
        for name, weight in ((first, 1.0 - self.share), (last, self.share)):
            weights[name] = weights.get(name, 0.0) + weight
        return weights


def lines(points: Mapping[str, XYZ], beside: float = BESIDE) -> tuple[Line, ...]:
    """All straight lines of three or more points in plan, those with most points first.

    Points of a line lie within `beside` m of the straight line between its ends; two points are on one line
    only. Of several points at one place the first counts.
    """
    first_at: dict[XY, str] = {}
    for name, (x, y, _) in points.items():
        first_at.setdefault((x, y), name)
    names, places = list(first_at.values()), list(first_at)
    through = [order for k in range(len(places)) for order in _through(places, k, beside)]
    done: set[tuple[int, int]] = set()
    found = []
    for order in sorted(through, key=len, reverse=True):
        if (order[0], order[-1]) not in done:
            done.update(itertools.permutations(order, 2))
            found.append(_line([names[k] for k in order], points))
    return tuple(found)


def _through(places: Sequence[XY], k: int, beside: float) -> Iterator[list[int]]:
    """Points between point k and each later one, both among them, in order, where there are three or more.

    Without numpy, which is not there yet when a shop is opened: a hundred points take less than to import it.
    """
    off = [(x - places[k][0], y - places[k][1]) for x, y in places]
    for to_x, to_y in off[k + 1 :]:
        away = math.hypot(to_x, to_y)
        ux, uy, reach = to_x / away, to_y / away, away * (1.0 + 1e-9)
        on = [
            (along, i)
            for i, (x, y) in enumerate(off)
            if -beside <= ux * y - uy * x <= beside and 0.0 <= (along := ux * x + uy * y) <= reach
        ]
        if len(on) > 2:
            yield [i for _, i in sorted(on)]


def _line(names: Sequence[str], points: Mapping[str, XYZ]) -> Line:
    (x0, y0, _), (x1, y1, _) = points[names[0]], points[names[-1]]
    length = math.hypot(x1 - x0, y1 - y0)
    along = tuple(((points[n][0] - x0) * (x1 - x0) + (points[n][1] - y0) * (y1 - y0)) / length for n in names)
    return Line(tuple(names), along, tuple(points[n][2] for n in names))


# --- gaps ----------------------------------------------------------------------------------------


def rests(line: Line, longest: float = math.inf) -> Iterator[Gap]:
    """Every way in which a straightedge up to `longest` m can rest on two points over others, with its largest gap.

    It rests on two points if none between them is higher: they are neighbours in the upper convex hull of
    the points from one to the other.
    """
    for i, start in enumerate(line.along):
        steepest = -math.inf
        for j in range(i + 1, len(line.along)):
            length = line.along[j] - start
            if length > longest:
                break
            slope = (line.heights[j] - line.heights[i]) / length if length else -math.inf
            if slope >= steepest and j > i + 1:
                yield _gap(line, i, j)
            steepest = max(steepest, slope)


def _gap(line: Line, i: int, j: int) -> Gap:
    z0, z1, start, length = line.heights[i], line.heights[j], line.along[i], line.along[j] - line.along[i]
    under = [
        (z0 + (z1 - z0) * (line.along[k] - start) / length - line.heights[k], k) for k in range(i + 1, j)
    ]
    mm, k = max(under, key=lambda found: found[0])
    return Gap(mm, line.names[k], (line.names[i], line.names[j]), length, (line.along[k] - start) / length)


def gap_under(line: Line, length_m: float) -> Gap | None:
    """The largest gap under a straightedge of this length in m, wherever along the line it rests on the floor.

    0 where the floor is nowhere hollow; None where no three points lie within its length, and nothing is known.
    """
    worst = max(rests(line, length_m), key=lambda gap: gap.mm, default=None)
    if worst is not None:
        return worst
    for k, (start, end) in enumerate(zip(line.along, line.along[2:], strict=False), 1):
        if end - start <= length_m:
            return Gap(0.0, line.names[k], (line.names[k], line.names[k]), 0.0, 0.0)
    return None


def bs8204(found: Iterable[Line]) -> tuple[str, Gap] | None:
    """BS 8204 class, '' if none, of the largest gap under a 2 m straightedge; None where no line tells."""
    gaps = [gap for line in found if (gap := gap_under(line, BS_8204_LENGTH)) is not None]
    worst = max(gaps, key=lambda gap: gap.mm, default=None)
    return None if worst is None else (bs8204_class(max(worst.mm, 0.0)), worst)


def din18202(found: Iterable[Line], row: int) -> tuple[Gap, float] | None:
    """The gap that uses most of what DIN 18202 table 3 allows in row 3 or 4 over its chord, and that limit in mm.

    The floor is within the row if the gap is not over the limit. None where no line is hollow over 0.1 m or more.
    """
    shortest = DIN_18202_MM[3][0][0]
    gaps = [gap for line in found for gap in rests(line) if gap.length >= shortest]
    judged = [(gap, din18202_limit(row, gap.length)) for gap in gaps]
    return max(judged, key=lambda one: one[0].mm / one[1], default=None)


# --- F-numbers -----------------------------------------------------------------------------------


def f_lines(found: Iterable[Line]) -> list[tuple[tuple[str, ...], float, float]]:
    """Names, FF and FL of every line of 12 points or more that are a foot apart (ASTM E1155).

    Each line for itself: how the standard puts the lines of a floor together is not known here.
    """
    return [
        (names, *f_numbers([z / _MM_PER_INCH for z in heights]))
        for line in found
        for names, heights in _a_foot_apart(line)
        if len(names) >= FLOOR_LINE
    ]


def _a_foot_apart(line: Line) -> Iterator[tuple[tuple[str, ...], tuple[float, ...]]]:
    """Names and heights of the stretches of a line in which neighbours are a foot apart."""
    begin = 0
    for k, step in enumerate([*(b - a for a, b in itertools.pairwise(line.along)), math.inf], 1):
        if abs(step - FOOT) > FOOT_TOLERANCE * FOOT:
            yield line.names[begin:k], line.heights[begin:k]
            begin = k

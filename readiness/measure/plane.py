"""Planes through measured heights, and the twist of four wheel contacts.

Least squares of z = a + b x + c y. With x and y in m and z in mm, slopes come out in mm/m. What uncertainty
a plane has is said by `surface`, which knows the errors behind the heights.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

XYZ = tuple[float, float, float]

THINNEST = 1e-12
"""Points whose width is a millionth of their length lie on one line for all that heights can tell."""


@dataclass(frozen=True, slots=True)
class Fit:
    """The plane z = a + b x + c y with its residuals (measured minus plane).

    `s` is the residual standard deviation, NaN for three points; `dof` = points - 3.
    """

    a: float
    b: float
    c: float
    residuals: tuple[float, ...]
    s: float
    dof: int


def fit_plane(points: Sequence[XYZ]) -> Fit:
    """Best plane through (x, y, z) by least squares.

    Raises ValueError for fewer than three distinct places or places on one line.
    """
    _check(points)
    n = len(points)
    xm, ym, zm = (math.fsum(p[k] for p in points) / n for k in range(3))
    sxx = sxy = syy = sxz = syz = 0.0
    for x, y, z in points:
        dx, dy, dz = x - xm, y - ym, z - zm
        sxx += dx * dx
        sxy += dx * dy
        syy += dy * dy
        sxz += dx * dz
        syz += dy * dz
    det = sxx * syy - sxy * sxy
    if det <= THINNEST * (sxx + syy) ** 2:
        raise ValueError("the points lie on one line: a plane needs a third place beside that line")
    b, c = (sxz * syy - syz * sxy) / det, (syz * sxx - sxz * sxy) / det
    residuals = tuple((z - zm) - b * (x - xm) - c * (y - ym) for x, y, z in points)
    dof = n - 3
    s = math.sqrt(math.fsum(r * r for r in residuals) / dof) if dof else math.nan
    return Fit(zm - b * xm - c * ym, b, c, residuals, s, dof)


def twist_weights(lf: XYZ, lr: XYZ, rr: XYZ, rf: XYZ) -> tuple[float, float, float, float]:
    """What each height counts in how far one of four contacts, in order round the car, is off the plane of the others.

    Where the tracks differ, the wheel that is off most counts. Positive: left front and right rear are high. On a
    rectangle it is z_lf - z_lr + z_rr - z_rf, the same for every wheel, and four times the largest residual about the
    best plane. The weights cancel every plane: they and their moments in x and y sum to zero. Each is, up to a
    common factor, the area of the triangle of the other three. Raises ValueError if three contacts lie on one line.
    """
    areas = (_area(lr, rr, rf), -_area(rr, rf, lf), _area(rf, lf, lr), -_area(lf, lr, rr))
    least = min(abs(a) for a in areas)
    alternate = all(a * b < 0 for a, b in itertools.pairwise(areas))
    if least <= 1e-9 * max(abs(a) for a in areas) or not alternate:
        raise ValueError("the four contacts are no four corners in order round the car: check their places")
    scale = math.copysign(least, areas[0])
    w_lf, w_lr, w_rr, w_rf = (a / scale for a in areas)
    return w_lf, w_lr, w_rr, w_rf


def _check(points: Sequence[XYZ]) -> None:
    places = {(x, y) for x, y, _ in points}
    if len(places) < 3:
        raise ValueError(f"a plane needs heights at three different places, there are {len(places)}")
    if not all(math.isfinite(v) for p in points for v in p):
        raise ValueError("a plane needs numbers, one of the points is not finite")


def _area(p: XYZ, q: XYZ, r: XYZ) -> float:
    """Twice the signed area of a triangle in plan."""
    return (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0])

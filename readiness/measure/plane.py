"""Planes through measured heights: slope, flatness, and the twist of four wheel contacts.

Least squares of z = a + b x + c y. With x and y in m and z in mm, slopes come out in mm/m.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

from readiness.measure.uncertain import Estimate

XYZ = tuple[float, float, float]
Matrix3 = tuple[XYZ, XYZ, XYZ]

THINNEST = 1e-12
"""Points whose width is a millionth of their length lie on one line for all that heights can tell."""


@dataclass(frozen=True, slots=True)
class Fit:
    """The plane z = a + b x + c y with its residuals (measured minus plane).

    `covariance` is that of (a, b, c); NaN if three points without weights leave it unknown. `s` is
    the residual standard deviation, with weights that of unit weight; `dof` = points - 3.
    """

    a: float
    b: float
    c: float
    residuals: tuple[float, ...]
    covariance: Matrix3
    s: float
    dof: int


def fit_plane(points: Sequence[XYZ], weights: Sequence[float] | None = None) -> Fit:
    """Best plane through (x, y, z) by least squares; `weights` are 1 / u^2 of each height.

    With weights the covariance rests on u, widened where the scatter is larger than u explains; without,
    on the scatter alone. Raises ValueError for fewer than three distinct places or places on one line.
    """
    _check(points, weights)
    ws = [1.0] * len(points) if weights is None else list(weights)
    total = math.fsum(ws)
    xm, ym, zm = (math.fsum(w * p[k] for w, p in zip(ws, points, strict=True)) / total for k in range(3))
    sxx = sxy = syy = sxz = syz = 0.0
    for w, (x, y, z) in zip(ws, points, strict=True):
        dx, dy, dz = x - xm, y - ym, z - zm
        sxx += w * dx * dx
        sxy += w * dx * dy
        syy += w * dy * dy
        sxz += w * dx * dz
        syz += w * dy * dz
    det = sxx * syy - sxy * sxy
    if det <= THINNEST * (sxx + syy) ** 2:
        raise ValueError("the points lie on one line: a plane needs a third place beside that line")
    b, c = (sxz * syy - syz * sxy) / det, (syz * sxx - sxz * sxy) / det
    a = zm - b * xm - c * ym
    residuals = tuple((z - zm) - b * (x - xm) - c * (y - ym) for x, y, z in points)
    dof = len(points) - 3
    chi2 = math.fsum(w * r * r for w, r in zip(ws, residuals, strict=True))
    s = math.sqrt(chi2 / dof) if dof else math.nan
    variance = s * s if weights is None else max(1.0, s * s if dof else 1.0)
    inverse = (syy / det, -sxy / det, sxx / det)
    return Fit(a, b, c, residuals, _covariance(variance, total, xm, ym, inverse), s, dof)


def flatness(fit: Fit) -> float:
    """Highest minus lowest residual about the least-squares plane, in the unit of the heights.

    Three points lie in their plane whatever the floor does: with `fit.dof` 0 this is 0 and proves nothing.
    """
    return max(fit.residuals) - min(fit.residuals) if fit.dof else 0.0


def height_at(fit: Fit, x: float, y: float) -> Estimate:
    """Height of the plane at (x, y); u is the plane's, local unevenness `fit.s` comes on top."""
    return Estimate(fit.a + fit.b * x + fit.c * y, _u(fit, (1.0, x, y)))


def slopes(fit: Fit, heading_deg: float = 0.0) -> tuple[Estimate, Estimate]:
    """Slope along and across a heading, counterclockwise from x.

    Along > 0 rises ahead; across > 0 rises to the left (ISO 8855: x forward, y left).
    """
    h = math.radians(heading_deg)
    cos, sin = math.cos(h), math.sin(h)
    along = Estimate(fit.b * cos + fit.c * sin, _u(fit, (0.0, cos, sin)))
    across = Estimate(fit.c * cos - fit.b * sin, _u(fit, (0.0, -sin, cos)))
    return along, across


def twist(lf: XYZ, lr: XYZ, rr: XYZ, rf: XYZ) -> float:
    """How far one of four contacts (x, y, z), in order round the car, is off the plane of the others.

    Where the tracks differ, the wheel that is off most counts. Positive: left front and right rear are
    high. On a rectangle it is z_lf - z_lr + z_rr - z_rf, the same for every wheel, and four times the
    largest residual about the best plane. Raises ValueError if three contacts lie on one line.
    """
    weights = twist_weights(lf, lr, rr, rf)
    return math.fsum(w * p[2] for w, p in zip(weights, (lf, lr, rr, rf), strict=True))


def twist_weights(lf: XYZ, lr: XYZ, rr: XYZ, rf: XYZ) -> tuple[float, float, float, float]:
    """What each height counts in `twist`; for equal u of the heights, u of the twist is u |weights|.

    The weights cancel every plane: they and their moments in x and y sum to zero. Each is, up to a
    common factor, the area of the triangle of the other three, with alternating signs.
    """
    areas = (_area(lr, rr, rf), -_area(rr, rf, lf), _area(rf, lf, lr), -_area(lf, lr, rr))
    least = min(abs(a) for a in areas)
    alternate = all(a * b < 0 for a, b in itertools.pairwise(areas))
    if least <= 1e-9 * max(abs(a) for a in areas) or not alternate:
        raise ValueError("the four contacts are no four corners in order round the car: check their places")
    scale = math.copysign(least, areas[0])
    w_lf, w_lr, w_rr, w_rf = (a / scale for a in areas)
    return w_lf, w_lr, w_rr, w_rf


def _check(points: Sequence[XYZ], weights: Sequence[float] | None) -> None:
    places = {(x, y) for x, y, _ in points}
    if len(places) < 3:
        raise ValueError(f"a plane needs heights at three different places, there are {len(places)}")
    if not all(math.isfinite(v) for p in points for v in p):
        raise ValueError("a plane needs numbers, one of the points is not finite")
    if weights is None:
        return
    if len(weights) != len(points):
        raise ValueError(f"{len(points)} points need as many weights, there are {len(weights)}")
    if not all(w > 0 and math.isfinite(w) for w in weights):
        raise ValueError("a weight is 1 / u^2 of a height and must be positive and finite")


def _covariance(v: float, total: float, xm: float, ym: float, inverse: XYZ) -> Matrix3:
    """Covariance of (a, b, c); the mean height and the slopes about the centre are uncorrelated."""
    bb, bc, cc = (v * q for q in inverse)
    ab, ac = -(xm * bb + ym * bc), -(xm * bc + ym * cc)
    aa = v / total - xm * ab - ym * ac
    return (aa, ab, ac), (ab, bb, bc), (ac, bc, cc)


def _u(fit: Fit, row: XYZ) -> float:
    """Standard uncertainty of row . (a, b, c)."""
    if math.isnan(fit.covariance[0][0]):
        raise ValueError("three points without weights leave their uncertainty unknown: give 1 / u^2 of each")
    k = range(3)
    variance = math.fsum(row[i] * fit.covariance[i][j] * row[j] for i in k for j in k)
    return math.sqrt(max(variance, 0.0))


def _area(p: XYZ, q: XYZ, r: XYZ) -> float:
    """Twice the signed area of a triangle in plan."""
    return (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0])

"""Where a body stands, and which way it points, from tapes between known marks and known points of it.

Least squares by Gauss and Newton, from where two tapes put one point and others a second. Lengths in m, plan
geometry only; the errors of tapes and marks as in `trilateration`.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from readiness.measure.chance import NORMAL_95, chi_square_tail
from readiness.measure.trilateration import NO_LENGTH, XY, covering, crossing, sound, worst_u

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class TapeTo:
    """One tape, from a known mark to a known point of a body in the body's own axes."""

    mark: XY
    point: XY
    length: float


@dataclass(frozen=True, slots=True)
class Posed:
    """How a body lies by its tapes: where its own origin is, and its heading in degrees, counterclockwise."""

    x: float
    y: float
    heading: float
    covariance: tuple[tuple[float, float, float], ...]
    """Of x, y and heading, in m and degrees."""
    residuals: tuple[float, ...]
    """How much longer each tape would be by this pose, m."""
    chi_square: float
    dof: int

    @property
    def u(self) -> float:
        """Standard uncertainty of the place in its worst direction, m."""
        (xx, xy, _), (_, yy, _), _ = self.covariance
        return worst_u(((xx, xy), (xy, yy)))

    @property
    def u_heading(self) -> float:
        return math.sqrt(self.covariance[2][2])

    @property
    def pivot(self) -> tuple[XY, float]:
        """The place, in the axes of the marks, that errs independently of the heading, and its standard uncertainty in
        its worst direction, m.

        A place (x, y) off the origin errs by that of the origin and by (-y, x) times the heading's error. Where that
        leaves nothing in common with the heading, the covariance is what is left of the origin's without it.
        """
        (xx, xy, xh), (_, yy, yh), (*_, hh) = self.covariance
        if not hh > 0:
            return (self.x, self.y), self.u
        xh, yh, hh = math.radians(xh), math.radians(yh), math.radians(1.0) ** 2 * hh
        at = self.x - yh / hh, self.y + xh / hh
        mixed = xy - xh * yh / hh
        return at, worst_u(((xx - xh * xh / hh, mixed), (mixed, yy - yh * yh / hh)))

    @property
    def chance(self) -> float:
        """Probability that sound tapes disagree by as much; without a tape to spare, 1 where they can be kept."""
        if self.dof:
            return chi_square_tail(self.chi_square, self.dof)
        return 1.0 if self.chi_square < 1e-6 else 0.0

    def place(self, point: XY) -> XY:
        """Where a point of the body is."""
        cos, sin = math.cos(math.radians(self.heading)), math.sin(math.radians(self.heading))
        return self.x + cos * point[0] - sin * point[1], self.y + sin * point[0] + cos * point[1]


def pose_from_tapes(tapes: Sequence[TapeTo], *, u_tape: float, u_mark: float = 0.0) -> tuple[Posed, ...]:
    """Every way in which the body can lie by least squares, the one with the smallest misfit first.

    Two points of a body may as well lie on the other side of the line of the marks: such mirror images are all
    here, and which one is meant the caller knows. With all points on the line of the marks, u is large and no
    more than a hint. Covariance and misfit rest on the stated u: two tapes from one
    mark share how far it lies off. Raises ValueError where the tapes cannot tell: fewer than three, or no point
    with tapes from two marks and none beside it.
    """
    if not u_tape > 0:
        raise ValueError(f"a tape's standard uncertainty of {u_tape} m cannot be: it is positive")
    found: list[Posed] = []
    for start in _starts(tapes):
        one = _fitted(tapes, start, u_tape, u_mark)
        if not any(_same(one, other) for other in found):
            found.append(one)
    return tuple(sorted(found, key=lambda p: p.chi_square))


def suspects(
    tapes: Sequence[TapeTo], *, u_tape: float, u_mark: float = 0.0, least: float = 0.01,
    can_be: Callable[[Posed], bool] = lambda _: True,
) -> tuple[int, ...]:  # fmt: skip
    """Numbers of the tapes any one of which may be misread: without it the others fit by a chance of `least` or
    more, in a pose that can be. With one tape to spare that is each of them, unless its absence makes no pose."""
    named = []
    for k in range(len(tapes)):
        try:
            rest = pose_from_tapes([*tapes[:k], *tapes[k + 1 :]], u_tape=u_tape, u_mark=u_mark)
        except ValueError:
            continue
        if any(p.chance >= least and can_be(p) for p in rest):
            named.append(k)
    return tuple(named)


def _same(one: Posed, other: Posed) -> bool:
    return math.dist((one.x, one.y), (other.x, other.y)) < 1e-5 and (
        abs((one.heading - other.heading + 180.0) % 360.0 - 180.0) < 1e-3
    )


def _starts(tapes: Sequence[TapeTo]) -> list[tuple[float, float, float]]:
    """Closed-form poses, angle in radians: where two tapes put one point, and others or one tape a second."""
    by_point: dict[XY, dict[XY, float]] = {}
    for t in tapes:
        by_point.setdefault(t.point, {}).setdefault(t.mark, t.length)
    ranked = sorted(by_point, key=lambda p: -len(by_point[p]))
    if len(tapes) < 3 or len(ranked) < 2 or len(by_point[ranked[0]]) < 2:
        raise ValueError(
            "these tapes tell no pose: it takes two points, one of them with tapes from two marks"
        )
    p, q = ranked[:2]
    starts = []
    for at in _images(list(by_point[p].items())):
        rays = list(by_point[q].items())
        ends = rays if len(rays) > 1 else [*rays, (at, math.dist(p, q))]
        for far in _images(ends):
            turn = math.atan2(far[1] - at[1], far[0] - at[0]) - math.atan2(q[1] - p[1], q[0] - p[0])
            cos, sin = math.cos(turn), math.sin(turn)
            starts.append((at[0] - cos * p[0] + sin * p[1], at[1] - sin * p[0] - cos * p[1], turn))
    return starts


def _images(rays: Sequence[tuple[XY, float]]) -> tuple[XY, XY]:
    """Both places by the first two tapes; where these miss, the place between that is nearest to both."""
    (a, ra), (b, rb) = rays[:2]
    apart = sound(a, b, ra, rb)
    s, h = crossing(apart, ra, rb)
    ex, ey = (b[0] - a[0]) / apart, (b[1] - a[1]) / apart
    return (a[0] + s * ex - h * ey, a[1] + s * ey + h * ex), (a[0] + s * ex + h * ey, a[1] + s * ey - h * ex)


# --- least squares -------------------------------------------------------------------------------

STEPS = 30
"""Gauss-Newton ends long before; near where two mirror images meet it goes slowly."""
NUDGE = 1e-3
"""m; over which the bending of the misfit is found."""


class _Misfit:
    """What the tapes say against a pose: x and y in m, and the angle times `size`, so that all are lengths."""

    def __init__(self, tapes: Sequence[TapeTo], u_tape: float, u_mark: float) -> None:
        import numpy as np

        self.marks, self.points = np.array([t.mark for t in tapes]), np.array([t.point for t in tapes])
        self.lengths = np.array([t.length for t in tapes])
        self.size = float(max(math.dist(s.point, t.point) for s in tapes for t in tapes))
        self.u_tape, self.u_mark = u_tape, u_mark
        self.shared = np.array([[s.mark == t.mark for s in tapes] for t in tapes])

    def off(self, pose: Array) -> Array:
        import numpy as np

        return np.asarray(np.linalg.norm(self._rays(pose)[0], axis=1) - self.lengths)

    def slopes(self, pose: Array) -> tuple[Array, Array]:
        """How the misfit changes with the pose, and the inverse of the root of its covariance."""
        import numpy as np

        rays, spin = self._rays(pose)
        ways = rays / np.maximum(np.linalg.norm(rays, axis=1), NO_LENGTH)[:, None]
        design = np.column_stack([ways, (ways * spin).sum(axis=1) / self.size])
        spread = self.u_tape**2 * np.eye(len(ways)) + self.u_mark**2 * self.shared * (ways @ ways.T)
        return design, np.linalg.inv(np.linalg.cholesky(spread))

    def _rays(self, pose: Array) -> tuple[Array, Array]:
        """From each mark to its point, and which way the point goes as the body turns."""
        import numpy as np

        angle = pose[2] / self.size
        cos, sin = math.cos(angle), math.sin(angle)
        turned = self.points @ np.array([[cos, sin], [-sin, cos]])
        return pose[:2] + turned - self.marks, np.column_stack([-turned[:, 1], turned[:, 0]])


def _fitted(
    tapes: Sequence[TapeTo], start: tuple[float, float, float], u_tape: float, u_mark: float
) -> Posed:
    import numpy as np

    misfit = _Misfit(tapes, u_tape, u_mark)
    pose = np.array([start[0], start[1], start[2] * misfit.size])
    for _ in range(STEPS):
        step = _step(misfit, pose)
        pose = pose + step
        if np.abs(step).max() < 1e-9:
            break
    design, whiten = misfit.slopes(pose)
    off = misfit.off(pose)
    back = np.diag([1.0, 1.0, math.degrees(1.0 / misfit.size)])
    covariance = back @ _spread(misfit, pose, whiten @ design, whiten) @ back
    x, y, heading = (back @ pose).tolist()
    return Posed(
        x, y, (heading + 180.0) % 360.0 - 180.0, tuple(tuple(row) for row in covariance.tolist()), tuple(off.tolist()),
        float(((whiten @ off) ** 2).sum()), len(tapes) - 3,
    )  # fmt: skip


def _step(misfit: _Misfit, pose: Array) -> Array:
    """One step of Gauss and Newton, shortened until it makes the misfit no larger."""
    import numpy as np

    design, whiten = misfit.slopes(pose)
    off = whiten @ misfit.off(pose)
    step = np.asarray(-np.linalg.lstsq(whiten @ design, off, rcond=1e-9)[0])
    for _ in range(30):
        if ((whiten @ misfit.off(pose + step)) ** 2).sum() <= (off**2).sum():
            break
        step = step / 2.0
    return step


def _spread(misfit: _Misfit, pose: Array, slopes: Array, whiten: Array) -> Array:
    """Covariance of a pose: in each main direction what the tapes leave open, to second order.

    The misfit bends as the pose goes along a direction: with its slope there (see `covering`), or square to it,
    which says at least how far one can go at all. What the other directions can make up for holds nothing.
    """
    import numpy as np

    left, size, right = np.linalg.svd(slopes, full_matrices=False)
    u = []
    for k, way in enumerate(right):
        bent = misfit.off(pose + NUDGE * way) - 2.0 * misfit.off(pose) + misfit.off(pose - NUDGE * way)
        bent = whiten @ bent / NUDGE**2
        for other in range(len(size)):
            if other != k:
                bent = bent - left[:, other] * (left[:, other] @ bent)
        u.append(
            min(
                covering(float(size[k]), abs(float(left[:, k] @ bent))),
                _at_most(float(size[k]), float(np.linalg.norm(bent))),
            )
        )
    return np.asarray(right.T @ np.diag(np.square(u)) @ right)


def _at_most(slope: float, curve: float) -> float:
    """How far one can go at most, as a standard uncertainty, where the slope works against the bend."""
    return (slope + math.sqrt(slope**2 + 2.0 * curve * NORMAL_95)) / curve / NORMAL_95 if curve else math.inf

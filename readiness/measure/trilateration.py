"""Places from tapes: where two tapes meet that are held to two known marks.

Lengths in m, plan geometry only. The errors of the tapes, and of where the marks lie, are independent; a mark
that lies off counts as its tape does, by as much as it lies off along the tape.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from readiness.measure.chance import NORMAL_95

XY = tuple[float, float]
Matrix2 = tuple[XY, XY]

TOUCHING = 3.0
"""Standard uncertainties by which tapes may miss one another and still count as touching on the line of the marks."""
NO_LENGTH = 1e-9
"""m; what arithmetic in floats may lose."""


class TapesApartError(ValueError):
    """Two tapes that cannot meet. `gap` > 0 in m: by how much; `short`: both together are too short, otherwise one
    is too long."""

    def __init__(self, apart: float, ra: float, rb: float) -> None:
        self.short = ra + rb < apart
        self.gap = apart - ra - rb if self.short else abs(ra - rb) - apart
        marks, tapes = f"the marks are {apart:.3f} m apart", f"tapes of {ra:.3f} m and {rb:.3f} m"
        why = "are too short" if self.short else "differ too much"
        super().__init__(f"the tapes do not meet: {marks}, and {tapes} {why} by {self.gap:.3f} m")


@dataclass(frozen=True, slots=True)
class Met:
    """Where two tapes meet, and the covariance of x and y in m²."""

    at: XY
    covariance: Matrix2

    @property
    def u(self) -> float:
        """Standard uncertainty in the worst direction, m."""
        return worst_u(self.covariance)


def worst_u(covariance: Matrix2) -> float:
    """Standard uncertainty of a place in the direction in which it is known worst: the root of the larger
    eigenvalue of its covariance."""
    (xx, xy), (_, yy) = covariance
    return math.sqrt((xx + yy) / 2.0 + math.hypot((xx - yy) / 2.0, xy))


def two_tapes(a: XY, b: XY, ra: float, rb: float, *, u_tape: float, u_mark: float = 0.0) -> tuple[Met, Met]:
    """The places `ra` from mark a and `rb` from mark b: left and right of the line, looking from a to b.

    `u_tape` and `u_mark` are standard uncertainties, of each tape and of each mark in any direction. Tapes that miss
    one another by no more than these explain touch on the line, and both places are the same.

    Along the marks the uncertainty is of first order. Across them the place comes from h², and near the line
    of the marks first order says far too little or too much: see `covering`. There the two directions no longer err
    together in proportion, so that nothing cancels and every direction between them has to hold the errors of both:
    see `_unruly`.

    Raises ValueError for marks at one place and for lengths that are none, TapesApartError for tapes that do not meet.
    """
    apart, u = sound(a, b, ra, rb), math.hypot(u_tape, u_mark)
    if max(apart - ra - rb, abs(ra - rb) - apart) > TOUCHING * math.sqrt(2.0) * u + NO_LENGTH:
        raise TapesApartError(apart, ra, rb)
    s, h = crossing(apart, ra, rb)
    ds = ra / apart, -rb / apart
    dh2 = 2.0 * ra * (1.0 - s / apart), 2.0 * s * rb / apart
    u_h2 = math.hypot(u * math.hypot(*dh2), 2.0 * u * u)
    u_s, u_h = u * math.hypot(*ds), covering(2.0 * h / u_h2, 2.0 / u_h2) if u_h2 else 0.0
    unruly = _unruly(h, u_h2)
    both = (1.0 - unruly) * u * u * (ds[0] * dh2[0] + ds[1] * dh2[1]) / u_h2 * u_h if u_h2 else 0.0
    turn, wider = ((b[0] - a[0]) / apart, (b[1] - a[1]) / apart), 1.0 + unruly
    left, right = (
        _placed(a, turn, (s, w * h), (wider * u_s * u_s, w * both, wider * u_h * u_h)) for w in (1.0, -1.0)
    )
    return left, right


def _unruly(h: float, u_h2: float) -> float:
    """0 far from the line of the marks, where h errs in proportion to h², to 1 where the sign of h² is not even known.

    At 1 the errors along and across may add up in full: (a + b)² <= 2 a² + 2 b². In between as the square of what
    h² may lie off against twice h², which holds by simulation.
    """
    off = NORMAL_95 * u_h2
    return 1.0 if off >= 2.0 * h * h else (off / (2.0 * h * h)) ** 2


def crossing(apart: float, ra: float, rb: float) -> XY:
    """Where two circles cross: along the line of their middles from the first, and across it, 0 where they miss."""
    s = (ra * ra - rb * rb + apart * apart) / (2.0 * apart)
    return s, math.sqrt(max(ra * ra - s * s, 0.0))


def covering(slope: float, curve: float) -> float:
    """Standard uncertainty of a length t that is found from `slope` t + `curve` t² / 2, whose own is 1.

    A 1.645th of the most by which t can lie off when that lies off by 1.645 either way. For one unknown it covers
    the truth in 90 cases of 100 at 1.645 u, as the guard bands mean it, however near t is to where it turns back;
    far from there it is first order.
    """
    square, bent = slope * slope, 2.0 * curve * NORMAL_95
    far = 2.0 * NORMAL_95 / (slope + math.sqrt(square + bent)) if slope or curve else math.inf
    back = (
        2.0 * NORMAL_95 / (slope + math.sqrt(square - bent))
        if square > bent
        else slope / curve
        if curve
        else math.inf
    )
    return max(far, back) / NORMAL_95


def sound(a: XY, b: XY, ra: float, rb: float) -> float:
    """How far the marks are apart; ValueError where tapes from them can tell nothing."""
    if not all(map(math.isfinite, (*a, *b, ra, rb))) or min(ra, rb) < 0:
        raise ValueError(f"tapes of {ra} m and {rb} m cannot be: a length is 0 or more")
    apart = math.dist(a, b)
    if apart <= NO_LENGTH:
        raise ValueError("the two marks are at one place: tapes from them tell no place")
    return apart


def _placed(a: XY, turn: XY, at: XY, spread: tuple[float, float, float]) -> Met:
    """A place and its spread (along², mixed, across²) from the axes of the marks to those of the marks' own places."""
    (c, s), (along, across) = turn, at
    vs, both, vh = spread
    mixed = c * s * (vs - vh) + (c * c - s * s) * both
    xx, yy = c * c * vs - 2.0 * c * s * both + s * s * vh, s * s * vs + 2.0 * c * s * both + c * c * vh
    place = a[0] + c * along - s * across, a[1] + s * along + c * across
    return Met(place, ((xx, mixed), (mixed, yy)))

"""Decisions under uncertainty: pass, fail or too close to call.

The guard band is w = k u on each limit, k = 1.645 by default (5 % risk on one side; the rule of
ISO 14253-1 in its 2017 edition, from memory). The probability of conformity is
Phi((H - y) / u) - Phi((L - y) / u) (JCGM 106:2012, 7.3 and 7.4; formula from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from statistics import NormalDist
from typing import Literal

DEFAULT_FACTOR = 1.645

SAME = 1e-12
"""Share by which a number may differ from a limit and still lie on it: what arithmetic in floats loses."""

_phi = NormalDist().cdf

Call = Literal["pass", "fail", "too_close"]


@dataclass(frozen=True, slots=True)
class Decision:
    """What one number with its uncertainty says about its limits.

    `margin` is the distance to the nearer limit, negative outside; None without limits.
    `decidable` is False when the guard bands leave no zone in which any reading could pass;
    `u_needed` is then the standard uncertainty below which some reading could.
    """

    call: Call
    guard: float
    margin: float | None
    p_conform: float
    decidable: bool = True
    u_needed: float | None = None


@lru_cache(maxsize=1024)  # from answer to answer most numbers stay as they are
def decide(
    y: float, u: float, low: float | None, high: float | None, factor: float = DEFAULT_FACTOR
) -> Decision:
    """Judge y against low <= y <= high with standard uncertainty u >= 0.

    pass if low + w <= y <= high - w; fail if y < low - w or y > high + w; else too close.
    `factor` 0 is simple acceptance. Raises ValueError for numbers that are not finite, and for a
    lower limit above the upper one.
    """
    if not (math.isfinite(y) and math.isfinite(u)) or u < 0:
        raise ValueError(f"cannot judge {y} with uncertainty {u}")
    if low is not None and high is not None and not low <= high:
        raise ValueError(
            f"cannot judge against limits {low} to {high}: the lower one lies above the upper one"
        )
    w = factor * u
    margin = _margin(y, low, high)
    decidable, needed = True, None
    if low is not None and high is not None and 2 * w > high - low:
        decidable, needed = False, (high - low) / (2 * factor)
    return Decision(_call(y, w, low, high), w, margin, conformance(y, u, low, high), decidable, needed)


def conformance(y: float, u: float, low: float | None, high: float | None) -> float:
    """Probability that the true value lies within the limits (JCGM 106)."""
    if u == 0:
        inside = (low is None or y >= low) and (high is None or y <= high)
        return 1.0 if inside else 0.0
    above = 1.0 if high is None else _phi((high - y) / u)
    below = 0.0 if low is None else _phi((low - y) / u)
    return above - below


def e_n(x: float, reference: float, expanded_x: float, expanded_reference: float) -> float:
    """E_n = (x - X) / sqrt(U_x^2 + U_X^2); |E_n| <= 1 agrees (ISO/IEC 17043, ISO 13528)."""
    return (x - reference) / math.hypot(expanded_x, expanded_reference)


def _call(y: float, w: float, low: float | None, high: float | None) -> Call:
    below = -math.inf if low is None else low - SAME * max(abs(y), abs(low))
    above = math.inf if high is None else high + SAME * max(abs(y), abs(high))
    if y < below - w or y > above + w:
        return "fail"
    if below + w <= y <= above - w:
        return "pass"
    return "too_close"


def _margin(y: float, low: float | None, high: float | None) -> float | None:
    distances = [y - low] if low is not None else []
    if high is not None:
        distances.append(high - y)
    return min(distances) if distances else None

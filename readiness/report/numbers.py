"""Numbers of a finding as a person reads them: with the shop's units, rounded once."""

from __future__ import annotations

import math

from readiness import units
from readiness.checks.kind import Part
from readiness.job import System

FINEST = 6
"""Decimals; less than that is nothing."""


def shown(part: Part, system: System) -> str:
    """The number with its unit; empty for a state and for what was not read."""
    return units.show(part.value, part.unit, system) if isinstance(part.value, float) else ""


def limits_in_words(part: Part, system: System) -> str:
    """'225 to 240 kPa', 'at most 8 kPa'; empty without limits."""
    low, high = part.low, part.high
    if low is not None and high is not None:
        return f"{units.number(low, part.unit, system)} to {units.show(high, part.unit, system)}"
    if low is not None:
        return f"at least {units.show(low, part.unit, system)}"
    return "" if high is None else f"at most {units.show(high, part.unit, system)}"


def spread(value: float | None, unit: str, system: System) -> str:
    """A guard band or an uncertainty with its unit, so exact that a reader can work on with it; empty without one.

    Two significant digits (JCGM 100:2008, 7.2.6), three where the first is a one. A difference of temperatures has no
    zero point.
    """
    if not value:
        return ""
    of = "delta_degC" if unit == "degC" else unit
    return units.show(value, of, system, digits=decimals(value, of, system))


def decimals(value: float, unit: str, system: System) -> int:
    """How many decimals two significant digits of a number take in the unit shown, three where the first is a one."""
    exact = abs(float(units.number(value, unit, system, FINEST).removesuffix(" %")))
    if not exact:
        return FINEST
    first = math.floor(math.log10(exact))
    return min(FINEST, max(0, (2 if exact < 2 * 10.0**first else 1) - first))


def chance(p: float | None) -> str:
    """A probability in per cent, never rounded up to certainty nor down to none."""
    if p is None:
        return ""
    if p > 0.9999:
        return "> 99.99 %"
    if p < 0.0001:
        return "< 0.01 %"
    return f"{100 * p:.{1 if 0.01 < p < 0.99 else 2}f} %"

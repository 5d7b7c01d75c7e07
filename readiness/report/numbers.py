"""Numbers of a finding as a person reads them: with the shop's units, rounded once."""

from __future__ import annotations

from readiness import units
from readiness.checks.kind import Part
from readiness.job import System


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


def difference(value: float | None, unit: str, system: System) -> str:
    """A margin, a guard band, an uncertainty with its unit; a difference of temperatures has no zero point."""
    return "" if value is None else units.show(value, "delta_degC" if unit == "degC" else unit, system)


def chance(p: float | None) -> str:
    """A probability in per cent, never rounded up to certainty nor down to none."""
    if p is None:
        return ""
    if p > 0.9999:
        return "> 99.99 %"
    if p < 0.0001:
        return "< 0.01 %"
    return f"{100 * p:.{1 if 0.01 < p < 0.99 else 2}f} %"

"""Quantities -> what people read: each is converted once and rounded once on its way out."""

from __future__ import annotations

import math
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache
from typing import Literal

from readiness.units.names import KINDS, between, name_of
from readiness.units.typed import shown, with_unit

System = Literal["metric", "us"]

_DECIMALS = {
    "kPa": 1, "psi": 1, "°C": 1, "°F": 1, "mm": 1, "in": 3, "m": 3, "ft": 3, "µm": 0, "mil": 1, "mm/m": 2,
    "in per 10 ft": 3, "°": 2, "lx": 0, "fc": 1, "V": 2, "L": 1, "gal": 2, "kg": 1, "lb": 1, "min": 1,
    "N/mm": 1, "lbf/in": 1,
    "kg/m³": 1, "lb/gal": 3,
}  # fmt: skip
"""Decimals shown, by display unit: about a tenth of what a shop's instrument resolves."""


def entry_unit(unit: str, system: System = "metric") -> str:
    """The unit in which a bare number is understood and which stands beside the field; may be empty."""
    return KINDS[unit].metric if system == "metric" else KINDS[unit].us


def label(unit: str, system: System = "metric") -> str:
    """The display unit alone; empty for plain numbers and fractions."""
    return entry_unit(unit, system)


@lru_cache(maxsize=4096)  # a judgement says the same few hundred numbers after every answer
def show(value: float, unit: str, system: System = "metric", *, digits: int | None = None) -> str:
    """A number with its unit, for reading: converted once, rounded once, half away from zero.

    `digits` decimals at most, by default what suits the unit; trailing zeros are dropped. A 'fraction' is
    shown in eighths ('3/4') if within 0.001 of one, otherwise in percent.
    """
    return with_unit(number(value, unit, system, digits), label(unit, system))


def number(value: float, unit: str, system: System = "metric", digits: int | None = None) -> str:
    """The number alone, as `show` gives it; typed back as a bare number, it is that quantity again."""
    if not math.isfinite(value):
        return "–"
    if unit == "fraction":
        return _share(value, digits)
    to = label(unit, system)
    a, b = name_of(unit), name_of(to or unit, unit)
    decimal = Decimal(repr(float(value))) if a == b else Decimal(format(between(a, b)(value), ".14g"))
    places = _DECIMALS.get(to, 0 if unit == "count" else 3) if digits is None else digits
    return shown(decimal, places, finer=digits is None)


def _share(value: float, digits: int | None) -> str:
    eighths = round(value * 8) if abs(value) < 1 else 8
    if digits is None and 0 < abs(eighths) < 8 and abs(value - eighths / 8) <= 0.001:
        return str(Fraction(eighths, 8))
    percent = shown(Decimal(repr(float(value))) * 100, 1 if digits is None else digits, finer=digits is None)
    return f"{percent} %"

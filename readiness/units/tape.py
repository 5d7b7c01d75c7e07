"""A length as one reads it off a tape: whole millimetres, or inches and sixteenths."""

from __future__ import annotations

import math
from fractions import Fraction

from readiness.units.showing import System

INCH = 25.4
"""mm; exact by definition (international yard and pound agreement, 1959)."""
SIXTEENTHS = 16


def tape(length: float, system: System = "metric") -> str:
    """A length of zero or more in m, rounded half up: '3412 mm', '134 5/16 in'."""
    mm = length * 1000.0
    if system == "metric":
        return f"{math.floor(mm + 0.5)} mm"
    whole, rest = divmod(math.floor(mm / INCH * SIXTEENTHS + 0.5), SIXTEENTHS)
    part = str(Fraction(rest, SIXTEENTHS)) if rest else ""
    return " ".join(word for word in (str(whole) if whole or not part else "", part, "in") if word)

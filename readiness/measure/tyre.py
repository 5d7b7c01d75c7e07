"""A tyre as its side wall says it: size, diameters, load capacity, speed.

Sizes by ISO 4000-1 and UN Regulation 30: '215/60 R17 96H' is 215 mm wide, 60 % as high as wide, on
a rim of code 17, load index 96, speed symbol H. How far it gives under its load follows from its pressure.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import lru_cache

from readiness.measure.springs import STANDARD_GRAVITY

_SIZE = re.compile(
    r"P?(?P<width>\d{3})/(?P<aspect>\d{2,3}) ?Z?R ?(?P<rim>\d{2})C?"
    r"(?: ?\(?(?P<load>\d{2,3})(?:/\d{2,3})? ?(?P<speed>[A-Z])\)?)?"
    r"(?: (?:XL|RF|EXTRA LOAD|REINFORCED|M\+S))*",
    re.ASCII,
)
_EXPECTED = "expected something like 215/60 R17 96H, as on the side wall"
_WIDTHS, _ASPECTS, _RIMS = (105, 395), (20, 95), (10, 24)

NOMINAL_RIM_MM = {
    10: 254, 12: 305, 13: 330, 14: 356, 15: 381, 16: 406, 17: 432, 18: 457, 19: 483, 20: 508, 21: 533,
    22: 559, 23: 584, 24: 610,
}  # fmt: skip
"""Nominal rim diameter d by rim code, UN R30 and ISO 4000-1; from memory."""

LOAD_INDEX_KG = {
    60: 250, 61: 257, 62: 265, 63: 272, 64: 280, 65: 290, 66: 300, 67: 307, 68: 315, 69: 325,
    70: 335, 71: 345, 72: 355, 73: 365, 74: 375, 75: 387, 76: 400, 77: 412, 78: 425, 79: 437,
    80: 450, 81: 462, 82: 475, 83: 487, 84: 500, 85: 515, 86: 530, 87: 545, 88: 560, 89: 580,
    90: 600, 91: 615, 92: 630, 93: 650, 94: 670, 95: 690, 96: 710, 97: 730, 98: 750, 99: 775,
    100: 800, 101: 825, 102: 850, 103: 875, 104: 900, 105: 925, 106: 950, 107: 975, 108: 1000, 109: 1030,
    110: 1060, 111: 1090, 112: 1120, 113: 1150, 114: 1180, 115: 1215, 116: 1250, 117: 1285, 118: 1320,
    119: 1360, 120: 1400, 121: 1450, 122: 1500, 123: 1550, 124: 1600, 125: 1650, 126: 1700,
}  # fmt: skip
"""Load capacity by load index, ISO 4000-1 and UN R30. 80 to 110 read in two public tables that agree;
the others from memory."""

SPEED_KMH = {
    "L": 120, "M": 130, "N": 140, "P": 150, "Q": 160, "R": 170, "S": 180, "T": 190, "U": 200, "H": 210,
    "V": 240, "W": 270, "Y": 300,
}  # fmt: skip
"""Speed by speed symbol, UN R30; from memory except W."""


@dataclass(frozen=True, slots=True)
class TyreSize:
    """Width in mm, aspect ratio in %, rim code in inches; load index and speed symbol where given."""

    width: int
    aspect: int
    rim: int
    load_index: int | None = None
    speed: str = ""

    def __str__(self) -> str:
        service = f" {self.load_index}{self.speed}" if self.load_index is not None else ""
        return f"{self.width}/{self.aspect} R{self.rim}{service}"


@lru_cache(maxsize=64)
def parse_size(text: str) -> TyreSize:
    """The size that a side wall or placard shows. Raises ValueError with one sentence.

    Of two load indices (single / twin wheels) the first, for single wheels, counts.
    """
    match = _SIZE.fullmatch(" ".join(text.upper().split()))
    if match is None:
        raise ValueError(f"{text.strip()!r} is not a tyre size: {_EXPECTED}")
    width, aspect, rim = (int(match[k]) for k in ("width", "aspect", "rim"))
    _within(text, "width", width, _WIDTHS, "mm")
    if width % 5 or width % 10 == 0:
        raise ValueError(f"{text.strip()!r}: a width of {width} mm does not exist, widths end in 5")
    _within(text, "aspect ratio", aspect, _ASPECTS, "%")
    _within(text, "rim", rim, _RIMS, "inches")
    load = int(match["load"]) if match["load"] else None
    speed = match["speed"] or ""
    if load is not None:
        load_capacity_kg(load)
        speed_kmh(speed)
    return TyreSize(width, aspect, rim, load, speed)


def diameter_mm(size: TyreSize) -> float:
    """Outer diameter in mm from the size code, 25.4 rim + 2 width aspect / 100."""
    return 25.4 * size.rim + 2 * size.width * size.aspect / 100


def design_diameter_mm(size: TyreSize) -> int:
    """Design diameter in whole mm, d + 2 H with H rounded half up (UN R30 6.1.2; rule from memory).

    Raises ValueError for a rim code without a nominal diameter.
    """
    if size.rim not in NOMINAL_RIM_MM:
        raise ValueError(f"rim code {size.rim} has no nominal diameter: known are {_span(NOMINAL_RIM_MM)}")
    # whole numbers, because half up must not depend on how 112.5 is stored
    height = (size.width * size.aspect + 50) // 100
    return NOMINAL_RIM_MM[size.rim] + 2 * height


def vertical_stiffness(size: TyreSize, gauge_kpa: float) -> float:
    """Vertical stiffness in N/mm of a radial tyre of this size at this gauge pressure in kPa.

    Kz = 0.00028 p sqrt((1.03 - 0.004 AR) SN (SN AR / 50 + DR)) + 3.45 in kgf/mm, with section width SN and rim
    diameter DR in mm and aspect ratio AR in %: T. Rhyne, Development of a vertical stiffness relationship
    for belted radial tires, Tire Science and Technology 33 (2005); formula from memory. Raises ValueError
    for a pressure below zero.
    """
    if gauge_kpa < 0:
        raise ValueError(f"a gauge pressure of {gauge_kpa:g} kPa carries no tyre: it is zero or more")
    width, aspect, rim = size.width, size.aspect, 25.4 * size.rim
    shape = math.sqrt((1.03 - 0.004 * aspect) * width * (width * aspect / 50.0 + rim))
    return (0.00028 * gauge_kpa * shape + 3.45) * STANDARD_GRAVITY


def load_capacity_kg(index: int) -> float:
    """Load in kg that one tyre of this load index may carry. Raises ValueError if not 60 to 126."""
    if index not in LOAD_INDEX_KG:
        raise ValueError(f"load index {index} is not known: expected {_span(LOAD_INDEX_KG)}")
    return float(LOAD_INDEX_KG[index])


def speed_kmh(symbol: str) -> float:
    """Speed in km/h of a speed symbol. Raises ValueError for an unknown one."""
    if symbol.upper() not in SPEED_KMH:
        raise ValueError(f"speed symbol {symbol!r} is not known: expected one of {', '.join(SPEED_KMH)}")
    return float(SPEED_KMH[symbol.upper()])


def _within(text: str, what: str, value: int, bounds: tuple[int, int], unit: str) -> None:
    low, high = bounds
    if not low <= value <= high:
        raise ValueError(f"{text.strip()!r}: {what} {value} {unit} is outside {low} to {high} {unit}")


def _span(table: dict[int, int]) -> str:
    return f"{min(table)} to {max(table)}"

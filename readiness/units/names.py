"""Units of a shop: their names, what they measure, and how they convert.

Pint converts, with one registry made from our own small `units.txt`. It is given exact numbers and unit
names, never typed text, and is imported at the first conversion that needs it: nothing waits for it at start.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from fractions import Fraction
from functools import cache, lru_cache
from pathlib import Path
from typing import Any, NamedTuple

from readiness.units.typed import UnitsError, raised

MEASURES: dict[str, str] = {
    "pressure": "kPa",
    "temperature": "degC",
    "depth": "mm",
    "length": "mm",
    "distance": "m",
    "height": "mm",
    "slope": "mm/m",
    "angle": "deg",
    "illuminance": "lx",
    "voltage": "V",
    "thickness": "um",
    "mass": "kg",
    "volume": "L",
    "time": "min",
}
"""What an instrument measures -> canonical unit. 'length' is a steel rule or tape for marks and ride
heights, 'distance' a tape or laser in plan, 'height' a rotating laser and its staff."""


class Kind(NamedTuple):
    """A canonical unit: what it is, how it is displayed, an everyday value, units people mix up."""

    noun: str
    metric: str
    us: str
    example: float
    common: tuple[str, ...] = ()


KINDS = {
    "kPa": Kind("a pressure", "kPa", "psi", 230, ("psi", "bar", "kPa")),
    "degC": Kind("a temperature", "°C", "°F", 21, ("°C", "°F")),
    "delta_degC": Kind("a temperature difference", "°C", "°F", 5, ("°C", "°F")),
    "mm": Kind("a length", "mm", "in", 381, ("mm", "cm", "in", "m")),
    "m": Kind("a length", "m", "ft", 3.4, ("m", "mm", "cm", "ft", "in")),
    "um": Kind("a thickness", "µm", "mil", 120, ("µm", "mil", "mm")),
    "mm/m": Kind("a slope", "mm/m", "in per 10 ft", 3, ("mm/m", "%", "°")),
    "deg": Kind("an angle", "°", "°", 0.3, ("°",)),
    "lx": Kind("an illuminance", "lx", "fc", 450, ("lx", "fc")),
    "V": Kind("a voltage", "V", "V", 12.6),
    "L": Kind("a volume", "L", "gal", 45, ("L", "gal")),
    "N/mm": Kind("a spring rate", "N/mm", "lbf/in", 25, ("N/mm", "lbf/in", "kgf/mm")),
    "kg": Kind("a mass", "kg", "lb", 20, ("kg", "lb")),
    "min": Kind("a time", "min", "min", 30, ("min", "h")),
    "kg/m**3": Kind("a density", "kg/m³", "lb/gal", 745, ("kg/m³", "kg/L")),
    "fraction": Kind("a part of a whole", "", "", 0.75, ("%",)),
    "count": Kind("a plain number", "", "", 3),
    "": Kind("a plain number", "", "", 3),
}

WORDS = {
    "pascal": "Pa|pascal",
    "hectopascal": "hPa",
    "kilopascal": "kPa|kilopascal",
    "megapascal": "MPa",
    "bar": "bar",
    "millibar": "mbar|mb|millibar",
    "atmosphere": "atm",
    "psi": "psi|psig|lb/in²|lbf/in²",
    "kgf_per_cm2": "kgf/cm²|kg/cm²",
    "inch_mercury": 'inHg|in Hg|"Hg|in. Hg',
    "mm_mercury": "mmHg|mm Hg",
    "degree_celsius": "°C|degC|C|deg C|° C|celsius|degrees C|degree celsius|degrees celsius",
    "degree_fahrenheit": "°F|degF|F|deg F|° F|fahrenheit|degrees F|degree fahrenheit|degrees fahrenheit",
    "kelvin": "K|kelvin",
    "kilometer": "km",
    "meter": "m|metre|meter",
    "centimeter": "cm|centimetre|centimeter",
    "millimeter": "mm|millimetre|millimeter",
    "micrometer": "µm|um|micron|micrometre|micrometer",
    "inch": 'in|"|inch|inches',
    "foot": "ft|'|foot|feet",
    "yard": "yd|yard",
    "mil": "mil|thou",
    "mm_per_m": "mm/m",
    "cm_per_m": "cm/m",
    "slope_percent": "%|percent|pct",
    "inch_per_foot": 'in/ft|"/ft|"/\'|inch/foot',
    "inch_per_10_feet": "in per 10 ft",
    "degree": "°|deg|degree",
    "radian": "rad|radian",
    "arcminute": "arcmin|arcminute|minute of arc",
    "arcsecond": "arcsec|arcsecond|second of arc",
    "lux": "lx|lux|lm/m²",
    "foot_candle": "fc|ftc|footcandle|foot candle|lm/ft²",
    "volt": "V|volt",
    "liter": "L|litre|liter",
    "milliliter": "mL|millilitre|milliliter",
    "us_gallon": "gal|gallon|gal US|US gal|US gallon",
    "us_quart": "qt|quart",
    "uk_gallon": "gal UK|UK gal|impgal|imp gal|gal imp|imperial gallon|UK gallon",
    "kg_per_m3": "kg/m³",
    "kg_per_liter": "kg/L",
    "lb_per_gallon": "lb/gal",
    "kilogram": "kg|kilogram|kilo",
    "gram": "g|gram",
    "tonne": "t|tonne",
    "pound": "lb|pound",
    "ounce": "oz|ounce",
    "newton_per_mm": "N/mm|kN/m",
    "lbf_per_inch": "lbf/in|lb/in",
    "kgf_per_mm": "kgf/mm|kg/mm",
    "second": "s|sec|second",
    "minute": "min|minute",
    "hour": "h|hr|hour",
    "day": "d|day",
}
"""Name in the registry -> spellings, the one to show first. Capitals do not matter, nor a plural s."""

NAMES = {"fraction": "fraction", "count": "count", "": "plain", "delta_degC": "delta_degree_celsius"}
"""Canonical units that nobody types -> name in the registry."""
SHOWN = {name: row.split("|")[0] for name, row in WORDS.items()} | {"percent": "%"}
"""Name in the registry -> how it is shown."""
SPELT = {word.casefold(): name for name, row in WORDS.items() for word in row.split("|")}

_DIFFERENCES = {
    "degree_celsius": "delta_degree_celsius",
    "degree_fahrenheit": "delta_degree_fahrenheit",
    "kelvin": "delta_degree_celsius",
}


@lru_cache(maxsize=1024)
def name_of(unit: str, within: str = "") -> str:
    """The registry's name of a canonical or typed unit, as one would read it where `within` is wanted.

    Raises UnitsError for an unknown unit.
    """
    if unit in NAMES:
        return NAMES[unit]
    word = " ".join(raised(unit).split()).replace(" /", "/").replace("/ ", "/").casefold()
    name = SPELT.get(word) or SPELT.get(word.removesuffix("s"))
    if name is None:
        raise UnitsError(f"'{unit}' is not a unit known here.")
    if name == "slope_percent" and within == "fraction":
        return "percent"
    if name == "meter" and within == "min":
        return "minute"
    return _DIFFERENCES.get(name, name) if within == "delta_degC" else name


def noun_of(name: str) -> str:
    """What a unit of the registry measures: 'a pressure' for psi."""
    if name == "slope_percent":
        return "a share or a slope"
    nouns = ((dimension(name_of(unit)), kind.noun) for unit, kind in KINDS.items())
    return next((noun for its, noun in nouns if its == dimension(name)), "another kind of quantity")


# --- conversion ----------------------------------------------------------------------------------


BY_DEFINITION = {
    ("hour", "minute"): Fraction(60),
    ("millimeter", "meter"): Fraction(1, 1000),
    ("centimeter", "meter"): Fraction(1, 100),
    ("bar", "kilopascal"): Fraction(100),
    ("percent", "fraction"): Fraction(1, 100),
    ("slope_percent", "mm_per_m"): Fraction(10),
}
"""What the files of a shop are full of; opening a job need not wait for Pint. A test compares each with it."""


@cache
def _registry() -> Any:
    import pint

    return pint.UnitRegistry(str(Path(__file__).with_name("units.txt")), non_int_type=Fraction)


def prepare() -> None:
    """Load Pint and the registry now; for a worker, so that the first typed unit need not wait for it."""
    exact("psi", "kilopascal")


def convert(value: float, from_unit: str, to_unit: str) -> float:
    """`value` in another unit; both units canonical or as people spell them.

    Temperatures have their zero points, 'delta_degC' has none. A slope and an angle convert by the
    tangent. Raises UnitsError for an unknown unit or another dimension.
    """
    return _conversion(from_unit, to_unit)(value)


def compatible(unit_a: str, unit_b: str) -> bool:
    """Whether one converts to the other. A temperature and a temperature difference do not."""
    try:
        return same(name_of(unit_a), name_of(unit_b))
    except UnitsError:
        return False


@lru_cache(maxsize=1024)
def _conversion(from_unit: str, to_unit: str) -> Callable[[float], float]:
    a, b = name_of(from_unit), name_of(to_unit)
    if not same(a, b):
        raise UnitsError(
            f"{from_unit or 'A plain number'} does not convert to {to_unit or 'a plain number'}."
        )
    return between(a, b)


@lru_cache(maxsize=1024)
def between(a: str, b: str) -> Callable[[float], float]:
    """The conversion from one name in the registry to another of the same kind."""
    if a == b:
        return float
    if dimension(a) != dimension(b) and dimension(a) == "[angle]":
        to_radian, from_slope = between(a, "radian"), between("mm_per_m", b)
        return lambda value: from_slope(math.tan(to_radian(value)) * 1000.0)
    if dimension(a) != dimension(b):
        to_slope, from_radian = between(a, "mm_per_m"), between("radian", b)
        return lambda value: from_radian(math.atan(to_slope(value) / 1000.0))
    scale, offset = (float(part) for part in exact(a, b))
    return lambda value: value * scale + offset


@lru_cache(maxsize=1024)
def exact(a: str, b: str) -> tuple[Fraction, Fraction]:
    """Scale and offset from one name in the registry to another; exact but for the digits of pi."""
    if a == b:
        return Fraction(1), Fraction(0)
    if (a, b) in BY_DEFINITION:
        return BY_DEFINITION[a, b], Fraction(0)
    at_0, at_1 = (_registry().Quantity(Fraction(x), a).to(b).magnitude for x in (0, 1))
    return Fraction(at_1 - at_0), Fraction(at_0)


@cache
def dimension(name: str) -> str:
    """Pint's dimension of a name in the registry; temperature differences stand apart."""
    if name.startswith("delta_"):
        return "[temperature difference]"
    powers = sorted(_registry().get_dimensionality(name).items())
    return " ".join(base if power == 1 else f"{base}^{power}" for base, power in powers)


def same(a: str, b: str) -> bool:
    """Whether two names in the registry convert: one dimension, or an angle and a slope."""
    return linear(a, b) or {dimension(a), dimension(b)} == {"[angle]", "[slope]"}


def linear(a: str, b: str) -> bool:
    """Whether one converts to the other by a scale and an offset."""
    return a == b or (a, b) in BY_DEFINITION or dimension(a) == dimension(b)

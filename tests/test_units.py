"""What people type, and what they read back.

Factors are checked against published values (`reference/check-values`, section 10), against scipy.constants
(CODATA and NIST SP 811 conversions) and against the default unit file of Pint, which is not ours.
"""

from __future__ import annotations

import subprocess
import sys
from fractions import Fraction

import pytest

from readiness import units
from readiness.units import names, parse

FACTORS = [  # value, from, to, expected, source and how far it was verified
    (1, "psi", "kPa", 6.894757293168, "0.45359237 x 9.80665 / 0.0254^2: library (pint) + hand"),
    (1, "psi", "kPa", 6.894757, "NIST SP 811 B.8, seven digits: from memory"),
    (1, "bar", "kPa", 100.0, "exact: library"),
    (1, "psi", "bar", 0.06894757293, "library"),
    (1, "atm", "kPa", 101.325, "exact: library"),
    (1, "atm", "psi", 14.695949, "eight digits: library"),
    (1, "inHg", "kPa", 3.386388640, "conventional mercury: library"),
    (1, "kgf/cm2", "kPa", 98.0665, "exact: library"),
    (1, "in", "mm", 25.4, "exact: hand"),
    (1, "ft", "m", 0.3048, "exact: hand"),
    (1, "lb", "kg", 0.45359237, "exact: hand"),
    (1, "gal", "L", 3.785411784, "exact: library"),
    (1, "gal UK", "L", 4.54609, "exact: library"),
    (1, "fc", "lx", 10.763910417, "1 / 0.3048^2: hand"),
    (1, "fc", "lx", 10.76391, "NIST SP 811 B.8: from memory"),
    (32, "degF", "degC", 0.0, "(F - 32) / 1.8: hand"),
    (212, "degF", "degC", 100.0, "(F - 32) / 1.8: hand"),
    (-40, "degC", "degF", -40.0, "(F - 32) / 1.8: hand"),
    (0, "degC", "K", 273.15, "ITS-90 definition: hand"),
    (9, "°F", "°F", 9.0, "identity"),
]
FACTORS += [
    (percent, "%", "mm/m", 10 * percent, "slope row of section 10: hand")
    for percent in (0.1, 0.25, 0.5, 1.0, 2.0)
]
FACTORS += [
    (percent, "%", "deg", degrees, "slope row of section 10, six decimals: hand")
    for percent, degrees in
    [(0.1, 0.057296), (0.25, 0.143239), (0.5, 0.286477), (1.0, 0.572939), (2.0, 1.145763)]
]  # fmt: skip
FACTORS += [
    (degrees, "deg", "mm/m", slope, "slope row of section 10, six decimals: hand")
    for degrees, slope in
    [(0.05, 0.872665), (0.1, 1.745331), (0.25, 4.363350), (0.5, 8.726868), (1.0, 17.455065)]
]  # fmt: skip
FACTORS += [
    (slope, "mm/m", "arcsec", arcsec, "vial row of section 4, three decimals: hand")
    for slope, arcsec in [(0.02, 4.125), (0.05, 10.313), (0.1, 20.626), (0.3, 61.879), (0.5, 103.132)]
]


@pytest.mark.parametrize(
    ("value", "unit", "to", "expected"),
    [row[:4] for row in FACTORS],
    ids=[f"{row[0]} {row[1]} in {row[2]} [{row[4]}]".replace("::", ":") for row in FACTORS],
)
def test_published_factors(value: float, unit: str, to: str, expected: float) -> None:
    digits = len(f"{expected}".split(".")[1])
    within = max(0.51 * 10.0**-digits, 1e-12)  # half a unit in the last printed digit
    assert units.convert(value, unit, to) == pytest.approx(expected, rel=0, abs=within)


@pytest.mark.parametrize(
    ("ours", "to", "theirs", "scale"),
    [
        ("psi", "kPa", "psi", 1e-3), ("atm", "kPa", "atm", 1e-3), ("bar", "kPa", "bar", 1e-3),
        ("in", "mm", "inch", 1e3), ("ft", "m", "foot", 1), ("yd", "m", "yard", 1), ("mil", "um", "mil", 1e6),
        ("um", "m", "micron", 1), ("lb", "kg", "lb", 1), ("oz", "kg", "oz", 1), ("t", "kg", "metric_ton", 1),
        ("gal", "L", "gallon_US", 1e3), ("impgal", "L", "gallon_imp", 1e3), ("L", "L", "liter", 1e3),
        ("arcmin", "rad", "arcmin", 1), ("arcsec", "rad", "arcsec", 1), ("deg", "rad", "degree", 1),
        ("h", "s", "hour", 1), ("d", "s", "day", 1), ("min", "s", "minute", 1),
    ],
)  # fmt: skip
def test_factors_agree_with_scipy_constants(ours: str, to: str, theirs: str, scale: float) -> None:
    from scipy import constants

    assert units.convert(1.0, ours, to) == pytest.approx(getattr(constants, theirs) * scale, rel=1e-14)


@pytest.mark.parametrize(
    ("unit", "to", "theirs", "theirs_to"),
    [
        ("mmHg", "kPa", "mmHg", "kPa"), ("inHg", "kPa", "inHg", "kPa"), ("hPa", "kPa", "hPa", "kPa"),
        ("mbar", "kPa", "mbar", "kPa"), ("qt", "L", "quart", "L"), ("lb/gal", "kg/m**3", "lb/gal", "kg/m**3"),
        ("kg/L", "kg/m**3", "kg/L", "kg/m**3"), ("mL", "L", "mL", "L"), ("fc", "lx", "lumen/foot**2", "lux"),
    ],
)  # fmt: skip
def test_factors_agree_with_pints_own_unit_file(unit: str, to: str, theirs: str, theirs_to: str) -> None:
    import pint

    expected = pint.UnitRegistry().Quantity(1.0, theirs).to(theirs_to).magnitude
    assert units.convert(1.0, unit, to) == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("celsius", [-40.0, -5.0, 0.0, 21.0, 37.5])
def test_temperatures_agree_with_scipy(celsius: float) -> None:
    from scipy.constants import convert_temperature

    for scale, unit in [("F", "degF"), ("K", "K")]:
        expected = convert_temperature(celsius, "C", scale)
        assert units.convert(celsius, "degC", unit) == pytest.approx(expected, rel=1e-14)


def test_no_two_spellings_differ_only_in_capitals() -> None:
    from readiness.units.names import SPELT, WORDS

    assert len(SPELT) == sum(len(row.split("|")) for row in WORDS.values())


MERCURY = 13.5951 * 9.80665 * 0.0254
"""kPa per inch of conventional mercury."""

ACCEPTED = [  # text, canonical unit, value from the definitions (inch 25.4 mm, ...)
    ("32 psi", "kPa", 32 * 6.894757293168361), ("2.2 bar", "kPa", 220), ("2,2 bar", "kPa", 220),
    ("220", "kPa", 220), ("0.22 MPa", "kPa", 220), ("1013 hPa", "kPa", 101.3), ("1013 mbar", "kPa", 101.3),
    ("29.92 inHg", "kPa", 29.92 * MERCURY), ("29.92 in Hg", "kPa", 29.92 * MERCURY),
    ("2.5 kgf/cm2", "kPa", 2.5 * 98.0665), ("2.5 kg/cm²", "kPa", 2.5 * 98.0665), ("1 atm", "kPa", 101.325),
    ("2.4 Bar", "kPa", 240), ("33 PSI", "kPa", 33 * 6.894757293168361), ("230KPA", "kPa", 230),
    ("32 lb/in2", "kPa", 32 * 6.894757293168361), ("220 kPa.", "kPa", 220), (" 220\tkPa\n", "kPa", 220),
    ("2.2\u00a0bar", "kPa", 220), ("2.2\u202fbar", "kPa", 220), ("+220", "kPa", 220),
    ("5/16 in", "mm", 7.9375), ('1 3/8"', "mm", 34.925), ("1-3/8 in", "mm", 34.925), ("1½ in", "mm", 38.1),
    ("¼ in", "mm", 6.35), ("¾″", "mm", 19.05), ("1 3⁄8”", "mm", 34.925), ("2/32 in", "mm", 1.5875),
    ("1.6 mm", "mm", 1.6), ("1,5", "mm", 1.5), (",5", "mm", 0.5), ("−3 mm", "mm", -3), ("38 CM", "mm", 380),
    ("15 inches", "mm", 381), ("15 in.", "mm", 381), ("-1 3/8 in", "mm", -34.925),
    ("12' 3 1/2\"", "m", 147.5 * 0.0254), ("12’ 3½”", "m", 147.5 * 0.0254), ("12' 3 1/2''", "m", 147.5 * 0.0254),
    ("6 ft 2 in", "m", 74 * 0.0254), ("6ft2in", "m", 74 * 0.0254), ("6 ft. 2 in.", "m", 74 * 0.0254),
    ("3.4 m", "m", 3.4), ("3 m 20 cm", "m", 3.2), ("3 m 20 cm 5 mm", "m", 3.205), ("-3 m 20 cm", "m", -3.2),
    ("0.01 km", "m", 10), ("5 yd", "m", 4.572), ("120 µm", "um", 120), ("120 μm", "um", 120),
    ("120 um", "um", 120), ("4.7 mil", "um", 119.38), ("4.7 mils", "um", 119.38), ("0.12 mm", "um", 120),
    ("0.3°", "deg", 0.3), ("0.3 deg", "deg", 0.3), ("0.3º", "deg", 0.3), ("0° 20'", "deg", 1 / 3),
    ("1° 2' 3\"", "deg", 1 + 2 / 60 + 3 / 3600), ("20 arcmin", "deg", 1 / 3), ("36 arcsec", "deg", 0.01),
    ("0.5 rad", "deg", 28.64788975654116), ("10 mm/m", "deg", 0.572938697683), ("1 %", "deg", 0.572938697683),
    ("3 mm/m", "mm/m", 3), ("3 mm per m", "mm/m", 3), ("3 mm / m", "mm/m", 3), ("0.5 %", "mm/m", 5),
    ("0.5%", "mm/m", 5), ("6 mm per 2 m", "mm/m", 3), ("1/4 in per 10 ft", "mm/m", 250 / 120),
    ("1/4\" / 10'", "mm/m", 250 / 120), ("¼ in per 10 ft", "mm/m", 250 / 120), ("1/8 in/ft", "mm/m", 125 / 12),
    ("-1/4 in per 10 ft", "mm/m", -250 / 120), ("0.5 deg", "mm/m", 8.726867790759),
    ("30 arcsec", "mm/m", 0.145444105358), ("21 C", "degC", 21), ("21°C", "degC", 21), ("21 ℃", "degC", 21),
    ("70 F", "degC", 38 / 1.8), ("70 °F", "degC", 38 / 1.8), ("-5 °C", "degC", -5), ("- 5", "degC", -5),
    ("294.15 K", "degC", 21), ("20 °C", "degC", 20), ("9 °F", "delta_degC", 5), ("3 K", "delta_degC", 3),
    ("450 lx", "lx", 450), ("450 LUX", "lx", 450), ("42 fc", "lx", 42 / 0.3048**2), ("45 L", "L", 45),
    ("45 l", "L", 45), ("45 litres", "L", 45), ("12 gal", "L", 12 * 3.785411784), ("12 gal UK", "L", 54.55308),
    ("12 impgal", "L", 54.55308), ("12 imperial gallons", "L", 54.55308), ("3/4", "fraction", 0.75),
    ("¾", "fraction", 0.75), ("75 %", "fraction", 0.75), ("0.75", "fraction", 0.75), ("0", "fraction", 0),
    ("12.6 V", "V", 12.6), ("12,6 volts", "V", 12.6), ("2 h", "min", 120), ("30 min", "min", 30),
    ("1 h 30 min", "min", 90), ("1h30m", "min", 90), ("90 s", "min", 1.5), ("1 day", "min", 1440),
    ("20 kg", "kg", 20), ("44 lbs", "kg", 44 * 0.45359237), ("745 kg/m3", "kg/m**3", 745),
    ("745 kg/m**3", "kg/m**3", 745), ("0.745 kg/L", "kg/m**3", 745), ("4", "count", 4), ("0.6", "", 0.6),
]  # fmt: skip


@pytest.mark.parametrize(
    ("text", "unit", "value"), ACCEPTED, ids=lambda x: repr(x) if isinstance(x, str) else ""
)
def test_accepted(text: str, unit: str, value: float) -> None:
    assert parse(text, unit) == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize(
    ("unit", "metric", "us"),
    [
        ("kPa", 10.0, 10 * 6.894757293168361), ("degC", 10.0, -22 / 1.8), ("mm", 10.0, 254.0), ("m", 10.0, 3.048),
        ("um", 10.0, 254.0), ("lx", 10.0, 10 / 0.3048**2), ("L", 10.0, 37.85411784), ("kg", 10.0, 4.5359237),
        ("mm/m", 10.0, 10000 / 120), ("deg", 10.0, 10.0), ("V", 10.0, 10.0), ("min", 10.0, 10.0), ("count", 10.0, 10.0),
    ],
)  # fmt: skip
def test_a_bare_number_means_the_unit_beside_the_field(unit: str, metric: float, us: float) -> None:
    assert parse("10", unit) == metric
    assert parse("10", unit, system="us") == pytest.approx(us, rel=1e-14)
    for system in ("metric", "us"):
        beside = units.entry_unit(unit, system)
        assert parse(f"10 {beside}", unit) == parse("10", unit, system=system)


@pytest.mark.parametrize("text", ["2.2 bar", "0.3 bar", "1.1 bar", "2,3 bar"])
def test_typed_decimals_are_rounded_once(text: str) -> None:
    """2.2 * 100 is 220.00000000000003 in floats; the person typed 220 kPa."""
    tenths = int(text[0]) * 10 + int(text[2])
    assert parse(text, "kPa") == tenths * 10


def test_no_negative_zero() -> None:
    assert str(parse("-0", "mm")) == "0.0"


def test_instruments_measure_in_known_units() -> None:
    for unit in units.MEASURES.values():
        assert parse(f"1 {units.entry_unit(unit)}", unit) == 1.0


def test_the_registry_and_numpy_wait_until_they_are_needed() -> None:
    code = """
import sys
from readiness import units
heavy = {"pint", "numpy", "textual", "rich", "shapely"}
units.parse("230 kPa", "kPa", low=100, high=500), units.parse("230", "kPa"), units.show(230.0, "kPa")
assert not heavy & set(sys.modules), heavy & set(sys.modules)
units.prepare()
assert "pint" in sys.modules
"""
    subprocess.run([sys.executable, "-c", code], check=True)


@pytest.mark.parametrize(("pair", "factor"), names.BY_DEFINITION.items(), ids=lambda v: str(v))
def test_what_holds_by_definition_is_what_pint_says(pair, factor):
    registry = names._registry()
    assert registry.Quantity(Fraction(1), pair[0]).to(pair[1]).magnitude == factor


def test_opening_a_shop_and_judging_its_jobs_waits_for_no_pint():
    """Only what a person types in another unit does, and a net of level runs for numpy."""
    code = """
import sys
from datetime import datetime, UTC
from readiness.records import places
from readiness.records.shop import ShopFolder
from readiness.verdict import judge
folder = ShopFolder(places.demo())
for job in folder.jobs():
    survey = folder.bays[job.bay].survey
    if survey is not None and survey.runs:
        continue
    judge(folder.visit(folder.journal(job.id, write=False).job), datetime(2026, 11, 25, 10, tzinfo=UTC))
print(*({"pint", "numpy", "shapely"} & set(sys.modules)))
"""
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.split() == []


@pytest.mark.parametrize(
    ("typed", "kept"),
    [("2,5", "2,5 mm"), (" -3 ", "-3 mm"), ("1/4", "1/4 mm"), ("2 in", "2 in"), ("", ""), ("abc", "abc")],
)
def test_a_bare_number_takes_the_unit_beside_it(typed, kept):
    assert units.completed(typed, "mm") == kept

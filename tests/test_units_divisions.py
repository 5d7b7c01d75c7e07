"""Readings in divisions of a vial, and spring rates.

The vial rows of the reference file say each sensitivity as a slope and as an angle: the outside check of the
two against one another. Spring rates are checked against Pint's own unit file, which is not ours.
"""

from __future__ import annotations

from fractions import Fraction
from math import atan, degrees, radians, tan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from readiness import units
from readiness.checks.entry import understood
from readiness.checks.kind import Question
from readiness.units import UnitsError, in_divisions, parse, undivided
from tests.outside import rows

SLOPE = Question("run", "Left rear up to left front", unit="mm/m", measures="slope", low=-50, high=50)
ANGLE = Question("tilt", "Tilt", unit="deg", measures="angle", low=-10, high=10)


def slope(text: str, division: str = "", question: Question = SLOPE) -> float:
    value = understood(question, text, "metric", division)[0]
    assert isinstance(value, float)
    return value


@pytest.mark.parametrize("row", rows("vial_sensitivity", lambda r: f"{r['mm_per_m']} mm/m"))
def test_a_division_in_arc_seconds_is_the_same_division_in_mm_per_m(row) -> None:
    by_angle = slope("2.5 div", f"{row['arcsec']} arcsec")
    assert by_angle == pytest.approx(2.5 * row["mm_per_m"], rel=1.5e-4)  # arc seconds are printed to 0.001
    assert slope("2.5 div", f"{row['mm_per_m']} mm/m") == 2.5 * row["mm_per_m"]


@pytest.mark.parametrize("row", rows("vial_sensitivity", lambda r: f"{r['mm_per_m']} mm/m"))
def test_a_division_of_2_mm_on_its_radius_is_the_row_s_slope(row) -> None:
    # the definition: the bubble runs 2 mm round a circle of that radius
    tilt = 2 / (row["vial_radius_m_for_2_mm_division"] * 1000)
    assert slope("1 div", f"{row['mm_per_m']} mm/m") == pytest.approx(1000 * tan(tilt), rel=2e-4)


@pytest.mark.parametrize(
    ("text", "division", "value"),
    [
        ("2.5 div", "0.3 mm/m", 0.75),
        ("2,5 divisions", "0.3 mm/m", 0.75),
        ("-2 1/2 div", "0.3 mm/m", -0.75),
        ("½ division", "0.1 mm/m", 0.05),
        ("1/3 div", "0.3 mm/m", 0.1),
        ("3 Div.", "0.1 mm/m", 0.3),
        ("0 div", "60 arcsec", 0.0),
        ("3 div", "60 arcsec", 1000 * tan(radians(3 / 60))),
        ("100 div", "1 arcmin", 1000 * tan(radians(100 / 60))),  # of the whole angle, not 100 tangents
        ("3 div", "0.02 %", 0.6),
        ("4 div", "0.0005 in per 10 in", 0.2),
        ("2 div", "1/2000 in/ft", 1 / 12),
        # anything else is what it says, whether the level has a vial or not
        ("2.5", "0.3 mm/m", 2.5),
        ("2.5 mm/m", "0.3 mm/m", 2.5),
        ("0.25 %", "60 arcsec", 2.5),
        ("0.1°", "", 1000 * tan(radians(0.1))),
        ("0° 1' 30\"", "", 1000 * tan(radians(0.025))),
        ("90 arcsec", "", 1000 * tan(radians(0.025))),
        ("1.5 arcmin", "", 1000 * tan(radians(0.025))),
    ],
)
def test_a_slope_is_taken_in_every_unit_of_a_level(text: str, division: str, value: float) -> None:
    assert slope(text, division) == pytest.approx(value, rel=1e-12, abs=1e-15)


def test_an_angle_is_taken_in_divisions_too() -> None:
    assert slope("3 div", "60 arcsec", ANGLE) == pytest.approx(0.05, rel=1e-12)
    assert slope("3 div", "0.3 mm/m", ANGLE) == pytest.approx(degrees(atan(0.0009)), rel=1e-12)


@given(st.fractions(-100, 100, max_denominator=64), st.sampled_from(["0.02 mm/m", "0.3 mm/m", "1 mm/m"]))
def test_divisions_are_counted_exactly(number: Fraction, division: str) -> None:
    typed = f"{'-' if number < 0 else ''}{abs(number.numerator)}/{number.denominator} div"
    exact = number * Fraction(division.split()[0])
    assert parse(undivided(typed, division), "mm/m") == float(exact)


def test_divisions_without_a_sensitivity_are_refused_with_what_to_do() -> None:
    with pytest.raises(UnitsError) as refused:
        slope("2.5 div")
    assert str(refused.value) == (
        "'2.5 div' needs the sensitivity of the level's vial: write what one division stands for in "
        "instruments.yaml, such as division: 0.3 mm/m, or enter the slope in mm/m."
    )


def test_divisions_out_of_bounds_are_not_plausible() -> None:
    with pytest.raises(UnitsError, match="90 mm/m is not plausible for left rear up to left front"):
        slope("300 div", "0.3 mm/m", Question("run", "left rear up to left front", unit="mm/m", measures="slope",
                                              low=-50, high=50))  # fmt: skip


def test_a_pressure_has_no_divisions() -> None:
    gauge = Question("pressure", "Left front", unit="kPa", measures="pressure", low=100, high=500)
    with pytest.raises(UnitsError, match="'div' is not a unit known here"):
        slope("230 div", "0.3 mm/m", gauge)


@pytest.mark.parametrize(
    "text", ["", "div", "2 div 3 div", "1 div per 2 m", "1e3 div", "2.5", "2 in", "x" * 99]
)
def test_what_is_no_single_number_of_divisions_is_left_to_the_reader_of_quantities(text: str) -> None:
    assert not in_divisions(text)
    assert undivided(text, "0.3 mm/m") == text


@pytest.mark.parametrize("division", ["1' 20\"", "-0.3 mm/m"])
def test_a_sensitivity_is_one_number(division: str) -> None:
    with pytest.raises(UnitsError, match="is no sensitivity of a vial"):
        undivided("1 div", division)


@pytest.mark.parametrize(
    ("ours", "theirs"),
    [("lbf/in", "lbf/inch"), ("kgf/mm", "kgf/mm"), ("kN/m", "kN/m"), ("lb/in", "lbf/inch")],
)
def test_spring_rates_agree_with_pints_own_unit_file(ours: str, theirs: str) -> None:
    import pint

    expected = pint.UnitRegistry().Quantity(1.0, theirs).to("N/mm").magnitude
    assert units.convert(1.0, ours, "N/mm") == pytest.approx(expected, rel=1e-12)


def test_a_spring_rate_shows_in_the_shop_s_units() -> None:
    # 180 lbf/in is 31.5 N/mm: 180 x 0.45359237 x 9.80665 / 25.4 by hand
    assert units.show(parse("180 lbf/in", "N/mm"), "N/mm") == "31.5 N/mm"
    assert units.show(parse("180", "N/mm", system="us"), "N/mm", "us") == "180 lbf/in"
    assert parse("25 N/mm", "N/mm") == 25.0

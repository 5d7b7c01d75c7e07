"""Laws of conversion, reading and showing."""

from __future__ import annotations

import math
from collections.abc import Callable
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from readiness import units
from readiness.units import UnitsError, parse
from readiness.units.names import KINDS, SPELT, dimension
from readiness.units.typed import shown

CANONICAL = sorted(KINDS)
SYSTEMS = ("metric", "us")
SAME_KIND = [
    (a, b) for a in SPELT for b in KINDS
    if units.compatible(a, b) and b != "delta_degC" and dimension(SPELT[a]) != "[temperature]"
]  # fmt: skip
sizes = st.floats(1e-6, 1e6) | st.floats(-1e6, -1e-6)


@given(st.sampled_from(SAME_KIND), sizes)
def test_there_and_back_changes_nothing(pair: tuple[str, str], value: float) -> None:
    a, b = pair
    if dimension(SPELT[a]) in (
        "[angle]",
        "[slope]",
    ):  # up to 45°; nearer the upright the tangent loses digits
        value = math.copysign(min(abs(value), units.convert(45.0, "deg", a)), value)
    assert units.convert(units.convert(value, a, b), b, a) == pytest.approx(value, rel=1e-12)


@given(st.sampled_from(["degC", "degF", "K"]), st.sampled_from(["degC", "degF", "K"]), st.floats(-200, 1000))
def test_temperatures_there_and_back(a: str, b: str, value: float) -> None:
    assert units.convert(units.convert(value, a, b), b, a) == pytest.approx(value, rel=1e-12, abs=1e-11)


@given(st.floats(-100, 100), st.floats(-50, 50))
def test_a_difference_of_temperatures_has_no_zero_point(start: float, step: float) -> None:
    moved = units.convert(start + step, "degC", "degF") - units.convert(start, "degC", "degF")
    assert moved == pytest.approx(1.8 * step, abs=1e-9)
    assert parse(f"{step:.6f} °F", "delta_degC") == pytest.approx(step / 1.8, abs=1e-6)


def _step(shown_number: str) -> float:
    """One unit of the last place shown."""
    return 10.0 ** -len(shown_number.partition(".")[2])


@given(
    st.sampled_from([u for u in CANONICAL if u != "fraction"]),
    st.sampled_from(SYSTEMS),
    st.floats(-200, 5000) | st.floats(-1, 1),
)
@example("um", "metric", 0.46875)
def test_what_is_shown_is_read_back_within_its_rounding(
    unit: str, system: units.System, value: float
) -> None:
    if unit == "deg":
        value /= 100
    text = units.number(value, unit, system)
    for typed in (text, f"{text} {units.label(unit, system)}"):
        again = units.number(parse(typed, unit, system=system), unit, system)
        assert again == text
    beside = units.label(unit, system)
    if beside and unit != "delta_degC":
        exact = units.convert(value, unit, beside)
        assert abs(float(text) - exact) <= _default_step(unit, system) / 2 * (1 + 1e-9)


def _default_step(unit: str, system: units.System) -> float:
    return _step(units.number(units.convert(100 + 1 / 7, units.label(unit, system), unit), unit, system))


@given(st.floats(0, 1))
def test_a_share_is_read_back_within_its_rounding(value: float) -> None:
    assert abs(parse(units.show(value, "fraction"), "fraction") - value) <= 0.001 + 1e-12


@given(st.sampled_from([u for u in CANONICAL if u not in ("fraction", "count", "")]), st.data())
def test_typed_numbers_come_back_as_typed(unit: str, data: st.DataObject) -> None:
    """Into the canonical unit and out again is one rounding, not two: 32 psi stays 32 psi."""
    tenths = data.draw(st.integers(1, 800))
    places = 0 if unit in ("um", "lx") else 1
    system = data.draw(st.sampled_from(SYSTEMS))
    typed = f"{Decimal(tenths).scaleb(-places):f}".removesuffix(".0")
    shown_again = units.show(parse(typed, unit, system=system), unit, system)
    assert shown_again.startswith(typed)
    assert parse(shown_again, unit) == parse(typed, unit, system=system)


@given(st.decimals(-(10**6), 10**6, places=6), st.integers(0, 4))
def test_rounding_is_half_away_from_zero(value: Decimal, places: int) -> None:
    scaled = abs(Fraction(value)) * 10**places
    expected = Fraction(math.floor(scaled + Fraction(1, 2)), 10**places)
    assert Fraction(shown(value, places)) == (expected if value > 0 else -expected)


@given(st.floats(allow_nan=False, allow_infinity=False), st.sampled_from(CANONICAL))
def test_no_exponent_and_no_negative_zero(value: float, unit: str) -> None:
    text = units.number(value, unit)
    assert "e" not in text.casefold()
    assert text not in ("-0", "-0 %", "-0.0")


NUMBERS = [
    "1",
    "23",
    "4.5",
    "6,7",
    "8/9",
    "0",
    "1/2",
    "-",
    "+",
    "e3",
    "_",
    ".",
    ",",
    " ",
    "/",
    "per",
    "½",
    "nan",
    "1e400",
]
scraps = st.lists(st.sampled_from(NUMBERS + sorted(SPELT)), max_size=6).map(" ".join)
glued = st.lists(st.sampled_from(NUMBERS + sorted(SPELT)), max_size=6).map("".join)


def _finite_or_a_sentence(understand: Callable[[], float]) -> float | None:
    """The number, or None for a refusal in one printable sentence; anything else fails."""
    said = ""
    try:
        value = understand()
    except UnitsError as refused:
        said = str(refused)
    if not said:
        assert math.isfinite(value)
        return value
    assert said.isprintable()
    assert said.endswith((".", "?"))
    assert len(said) < 320
    return None


@settings(max_examples=400)
@given(
    st.text(max_size=70) | scraps | glued, st.sampled_from(CANONICAL), st.sampled_from(SYSTEMS), st.booleans()
)
def test_any_text_is_a_finite_number_or_a_sentence(
    text: str, unit: str, system: units.System, bounded: bool
) -> None:
    bounds = {"low": 1.0, "high": 20.0} if bounded else {}
    _finite_or_a_sentence(lambda: parse(text, unit, system=system, name="left front", **bounds))


@settings(max_examples=400)
@given(scraps | glued | st.text(max_size=40), st.sampled_from(CANONICAL), st.floats(-1e6, 1e6))
def test_any_accuracy_is_a_half_width_or_a_sentence(text: str, unit: str, reading: float) -> None:
    width = _finite_or_a_sentence(lambda: units.accuracy(text, unit, reading))
    assert width is None or width >= 0


@given(st.integers(1, 999), st.integers(0, 999), st.sampled_from(["psi", "bar", "mm", "V", "%", "°C"]))
def test_point_and_comma_are_the_same_mark(whole: int, part: int, word: str) -> None:
    unit = {"psi": "kPa", "bar": "kPa", "mm": "mm", "V": "V", "%": "mm/m", "°C": "degC"}[word]
    digits = f"{part:02d}"[:2]
    assert parse(f"{whole},{digits} {word}", unit) == parse(f"{whole}.{digits} {word}", unit)


@given(st.integers(0, 30), st.integers(0, 11), st.integers(0, 15))
def test_feet_inches_and_sixteenths(feet: int, inches: int, sixteenths: int) -> None:
    exact = (Fraction(12 * feet + inches) + Fraction(sixteenths, 16)) * Fraction("0.0254")
    assert parse(f"{feet}' {inches} {sixteenths}/16\"", "m") == float(exact)

"""What is refused, and in which words; accuracy texts; how numbers are shown."""

from __future__ import annotations

from typing import Any

import pytest

from readiness import units
from readiness.units import UnitsError, parse, show

LEFT_FRONT: dict[str, Any] = {"low": 100.0, "high": 500.0, "name": "left front"}
LIGHT: dict[str, Any] = {"low": 50.0, "high": 5000.0, "name": "light"}


def refusal(text: str, unit: str, **asked: Any) -> str:
    with pytest.raises(UnitsError) as caught:
        parse(text, unit, **asked)
    return str(caught.value)


WORDED = [  # text, unit, what the field asks, the whole sentence
    ("23 bar", "kPa", LEFT_FRONT, "23 bar is not plausible for left front (1 to 5 bar): did you mean 2.3 bar?"),
    ("0,23 bar", "kPa", LEFT_FRONT, "0.23 bar is not plausible for left front (1 to 5 bar): did you mean 2.3 bar?"),
    ("2.3", "kPa", LEFT_FRONT, "2.3 kPa is not plausible for left front (100 to 500 kPa): did you mean 2.3 bar?"),
    ("33", "kPa", LEFT_FRONT,
     "33 kPa is not plausible for left front (100 to 500 kPa): did you mean 33 psi or 330 kPa?"),
    ("230", "kPa", LEFT_FRONT | {"system": "us"},
     "230 psi is not plausible for left front (14.5 to 72.52 psi): did you mean 230 kPa or 23 psi?"),
    ("-23 bar", "kPa", LEFT_FRONT, "-23 bar is not plausible for left front (1 to 5 bar)."),
    ("72", "degC", {"low": -30.0, "high": 50.0, "name": "bay air"},
     "72 °C is not plausible for bay air (-30 to 50 °C): did you mean 72 °F or 7.2 °C?"),
    ("75", "fraction", {}, "75 is not plausible (0 to 1): did you mean 75 %?"),
    ("6", "mm", {"high": 5.0}, "6 mm is not plausible (at most 5 mm): did you mean 0.6 mm?"),
    ("3 m 20 cm", "m", {"low": 4.0}, "3 m 20 cm is not plausible (at least 4 m)."),
    ("1/4 in per 10 ft", "mm/m", {"low": 5.0, "high": 9.0},
     "1/4 in per 10 ft is not plausible (5 to 9 mm/m)."),
    ("5 mm", "kPa", LEFT_FRONT, "5 mm is a length; left front wants a pressure, such as 230 kPa."),
    ("5 mm", "kPa", LEFT_FRONT | {"name": "Left front: pressure", "system": "us"},
     "5 mm is a length; left front pressure wants a pressure, such as 33.4 psi."),
    ("5 %", "kPa", LEFT_FRONT, "5 % is a share or a slope; left front wants a pressure, such as 230 kPa."),
    ("3 mm", "", {}, "3 mm is a length; this wants a plain number, such as 3."),
    ("", "kPa", LEFT_FRONT, "Nothing was typed; left front wants a pressure, such as 230 kPa."),
    (" \u00a0", "mm", {}, "Nothing was typed; this wants a length, such as 381 mm."),
    ("", "mm", {"low": 0.0, "high": 14.0, "name": "tread"},
     "Nothing was typed; tread wants a length, such as 7 mm."),
    ("2.4 Bra", "kPa", LEFT_FRONT, "'Bra' is not a unit known here: did you mean bar?"),
    ("32 psj", "kPa", LEFT_FRONT, "'psj' is not a unit known here: did you mean psi?"),
    ("12 gallns", "L", {}, "'gallns' is not a unit known here: did you mean gal?"),
    ("32 xyzzy", "kPa", LEFT_FRONT,
     "'xyzzy' is not a unit known here; left front wants a pressure, such as 230 kPa."),
]  # fmt: skip


@pytest.mark.parametrize(
    ("text", "unit", "asked", "sentence"), WORDED, ids=[f"{w[0]!r} for {w[1]}" for w in WORDED]
)
def test_the_whole_sentence(text: str, unit: str, asked: dict[str, Any], sentence: str) -> None:
    assert refusal(text, unit, **asked) == sentence


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("1.000,5", "two decimal marks"), ("1,000.5", "two decimal marks"), ("1.000.000", "two decimal marks"),
        ("2..4 bar", "two decimal marks"), ("1 000", "space inside"), ("1 000 kPa", "space inside"),
        ("1\u202f000", "space inside"), ("1½2", "space inside"), ("2 .4", "more than one number"),
        ("1,000", "thousands mark"), ("2.", "decimal mark"), ("2, bar", "decimal mark"),
        ("nan", "not a number"), ("NaN bar", "not a number"), ("inf", "not a number"), ("-Infinity", "not a number"),
        ("1e400", "exponent"), ("1e400 bar", "exponent"), ("1e3", "exponent"), ("2.2E+2 kPa", "exponent"),
        ("1_0", "underscore"), ("1/0 bar", "divides by zero"), ("1/0.5 bar", "divides by zero"), ("1 9/8 bar", "more than a whole"),
        ("2 bar 3 psi", "more than one number"), ("230-240 kPa", "not one number"), ("230 -240", "not one number"),
        ("--230", "not one number"), ("bar", "not one number"), ("/", "not one number"), ("2 bar x", "not a unit"),
        ("٢٣٠", "not one number"), ("２３０ kPa", "not one number"), ("1'000", "more than one number"),
        ("230 kPa; rm -rf", "not one number"), ("[/4]", "not one number"), ("0x10", "more than one number"),
    ],
)  # fmt: skip
def test_no_plain_number(text: str, says: str) -> None:
    assert says in refusal(text, "kPa")


@pytest.mark.parametrize(
    ("text", "unit"),
    [
        ("3 m 120 cm", "m"), ("20 cm 3 m", "m"), ("1.5 m 20 cm", "m"), ("5 lb 3 oz", "kg"), ("3 m 3 m", "m"),
        ("6' 2", "m"), ("1 h 90 min", "min"), ("6 ft 2 psi", "m"), ("20 °C 3 °C", "degC"),
    ],
)  # fmt: skip
def test_two_numbers_only_as_a_descending_compound(text: str, unit: str) -> None:
    said = refusal(text, unit)
    assert "more than one number" in said or "is a" in said


@pytest.mark.parametrize("text", ["13° 2 mm/m", "2 mm/m 1°", "1 % 0.5°", "13 deg 2 in/ft"])
@pytest.mark.parametrize("unit", ["mm/m", "deg"])
def test_an_angle_and_a_slope_are_no_compound(text, unit):
    with pytest.raises(UnitsError, match="more than one number"):
        parse(text, unit)


@pytest.mark.parametrize(
    ("text", "unit", "says"),
    [
        ("-300 °C", "degC", "colder"), ("-1 K", "degC", "colder"), ("90 deg", "mm/m", "upright"),
        ("1 in per 0 ft", "mm/m", "over no length"), ("1 in per 0.0 ft", "mm/m", "over no length"),
        ("1 in per 10", "mm/m", "per what length"), ("1 psi per 10 ft", "mm/m", "length per length"),
        ("1 in per 10 ft", "mm", "is a slope"), ("12.6 V", "kPa", "is a voltage"), ("5 min", "deg", "is a time"),
        ("20'", "deg", "is a length"), ("0.3°", "degC", "is an angle"), ("3 gal", "kg", "is a volume"),
    ],
)  # fmt: skip
def test_impossible_quantities(text: str, unit: str, says: str) -> None:
    assert says in refusal(text, unit)


@pytest.mark.parametrize(
    "text", ["\x1b[31m5 kPa", "5\x00", "5 \u202ebar", "\ud800", "5 kPa\x07", "9" * 65, "\x1b" * 500]
)
def test_what_cannot_be_shown_is_not_repeated(text: str) -> None:
    said = refusal(text, "kPa")
    assert said.isprintable()
    assert text not in said
    assert len(said) < 120


def test_a_comma_before_three_digits_counts_as_decimal_only_when_nothing_else_is_plausible() -> None:
    assert parse("2,205 m", "m", low=0.5, high=10.0) == 2.205
    assert "thousands mark" in refusal("1,000 lx", "lx", **LIGHT)
    assert "thousands mark" in refusal("1,000", "lx", low=1.0, high=5000.0)
    assert parse("0,750", "fraction") == 0.75
    assert parse("1,000 deg", "mm/m") == parse("1 deg", "mm/m")
    assert parse("1 ft 2,125 in", "mm") == parse("14.125 in", "mm")


def test_bounds_belong_to_the_plausible() -> None:
    assert parse("5 bar", "kPa", **LEFT_FRONT) == 500.0
    low = units.convert(20.0, "psi", "kPa")
    assert parse("20 psi", "kPa", low=low, high=low) == pytest.approx(low)


def test_an_explanation_replaces_the_sentence_and_an_empty_one_does_not() -> None:
    assert refusal("900", "kPa", **LEFT_FRONT, explain=lambda v: f"{v:g} is a truck's") == "900 is a truck's"
    assert "not plausible" in refusal("900", "kPa", **LEFT_FRONT, explain=lambda v: "")


def test_traps_of_lenient_parsers() -> None:
    """Each of these was seen to go wrong in other parsers of numbers and units."""
    assert parse("2,4", "kPa") != parse("24", "kPa")
    assert parse("2,4 bar", "kPa") == 240.0
    assert parse("3,5 bar", "kPa") == 350.0
    assert parse("3 m 20 cm", "m") == 3.2
    assert parse("20 °C", "degC") == 20.0
    assert parse("2.4 Bar", "kPa") == 240.0
    for text in ("1e400 bar", "nan bar", "1_0", "1_0 bar"):
        assert "'" in refusal(text, "kPa")


def test_written_quantities_carry_their_unit() -> None:
    assert units.parse_written("2.3 bar", "kPa") == pytest.approx(230.0)
    assert units.parse_written("3/4", "fraction") == 0.75
    assert units.parse_written("4", "count") == 4.0
    assert units.parse_written("0.6", "") == 0.6
    for unit in ("kPa", "degC", "m", "mm/m", "V", "min", "kg/m**3"):
        with pytest.raises(UnitsError, match="'230' has no unit"):
            units.parse_written("230", unit)


@pytest.mark.parametrize(
    ("text", "unit", "reading", "width"),
    [
        ("3 kPa", "kPa", 230, 3), ("0.5 psi", "kPa", 230, 0.5 * 6.894757293168361), ("5 %", "kPa", -230, 11.5),
        ("5%", "lx", 460, 23), ("1 °C", "degC", 21, 1), ("1 C", "degC", 21, 1), ("2 F", "degC", 21, 2 / 1.8),
        ("0.5 K", "degC", 21, 0.5), ("1 °C", "delta_degC", 3, 1), ("1 % + 2 mm", "mm", 350, 5.5),
        ("2 mm + 1 %", "mm", 350, 5.5), ("±1 mm", "mm", 350, 1), ("+/- 1 mm", "mm", 350, 1), ("0.1 %", "mm/m", 3, 1),
        ("5 %", "fraction", 0.5, 0.05), ("1/8", "fraction", 0.5, 0.125), ("0.5 mm/m", "deg", 0.2, 0.02864788736),
        ("5 %", "deg", 2, 0.1), ("0.02 V", "V", 12.6, 0.02), ("3 µm", "um", 120, 3), ("1/16 in", "mm", 381, 1.5875),
    ],
)  # fmt: skip
def test_accuracy(text: str, unit: str, reading: float, width: float) -> None:
    assert units.accuracy(text, unit, reading) == pytest.approx(width, rel=1e-9)


@pytest.mark.parametrize(
    "text", ["", "3", "good", "-3 kPa", "3 mm", "5 % +", "+ 3 kPa kPa", "500 %", "\x1b[1m"]
)
def test_accuracy_refused(text: str) -> None:
    with pytest.raises(UnitsError):
        units.accuracy(text, "kPa", 230.0)


@pytest.mark.parametrize(
    ("value", "unit", "metric", "us"),
    [
        (230, "kPa", "230 kPa", "33.4 psi"), (220.63223338138755, "kPa", "220.6 kPa", "32 psi"),
        (21, "degC", "21 °C", "69.8 °F"), (-40, "degC", "-40 °C", "-40 °F"), (5, "delta_degC", "5 °C", "9 °F"),
        (0, "degC", "0 °C", "32 °F"), (7.9375, "mm", "7.9 mm", "0.313 in"), (3.048, "m", "3.048 m", "10 ft"),
        (120, "um", "120 µm", "4.7 mil"), (2.5 / 1.2, "mm/m", "2.08 mm/m", "0.25 in per 10 ft"),
        (0.25, "deg", "0.25°", "0.25°"), (450, "lx", "450 lx", "41.8 fc"), (12.6, "V", "12.6 V", "12.6 V"),
        (37.85411784, "L", "37.9 L", "10 gal"), (20, "kg", "20 kg", "44.1 lb"), (90, "min", "90 min", "90 min"),
        (745, "kg/m**3", "745 kg/m³", "6.217 lb/gal"), (0.75, "fraction", "3/4", "3/4"),
        (0.6255, "fraction", "5/8", "5/8"), (0.6265, "fraction", "62.7 %", "62.7 %"), (1, "fraction", "100 %", "100 %"),
        (0, "fraction", "0 %", "0 %"), (4, "count", "4", "4"), (0.884964, "", "0.885", "0.885"),
        (-0.0, "mm", "0 mm", "0 in"), (0.04, "mm", "0.04 mm", "0.002 in"), (1e-12, "mm", "0 mm", "0 in"),
        (1e21, "m", "1" + "0" * 21 + " m", "32808398950131" + "0" * 8 + " ft"), (float("nan"), "mm", "– mm", "– in"),
    ],
)  # fmt: skip
def test_shown(value: float, unit: str, metric: str, us: str) -> None:
    assert show(value, unit) == metric
    assert show(value, unit, "us") == us


def test_rounded_half_up_as_written() -> None:
    """The nearest float to 2.675 lies below it, and round(0.5) is 0; a person rounds what is written."""
    assert show(2.675, "V") == "2.68 V"
    assert show(0.25, "kPa", digits=1) == "0.3 kPa"
    assert show(-2.675, "V") == "-2.68 V"
    assert show(656.5, "mm", digits=0) == "657 mm"
    assert show(parse("30.25 psi", "kPa"), "kPa", "us") == "30.3 psi"


def test_number_and_label_make_up_what_is_shown() -> None:
    assert (units.number(230.04, "kPa", "metric"), units.label("kPa", "metric")) == ("230", "kPa")
    assert (units.number(0.3333, "fraction", "us"), units.label("fraction", "us")) == ("33.3 %", "")
    assert units.number(2.0, "m", "metric", 2) == "2"


def test_compatible() -> None:
    for a, b in [("kPa", "bar"), ("mm", "um"), ("deg", "mm/m"), ("degC", "degF"), ("L", "gal UK")]:
        assert units.compatible(a, b)
        assert units.compatible(b, a)
    for a, b in [
        ("kPa", "mm"),
        ("degC", "delta_degC"),
        ("fraction", "mm/m"),
        ("count", ""),
        ("kPa", "furlong"),
    ]:
        assert not units.compatible(a, b)
    with pytest.raises(UnitsError, match="does not convert"):
        units.convert(1.0, "kPa", "mm")
    with pytest.raises(UnitsError, match="not a unit known here"):
        units.convert(1.0, "kPa", "furlong")

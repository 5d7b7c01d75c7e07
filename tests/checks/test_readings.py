"""Single readings: limits written with units, plausible bounds, shared air."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given as law
from hypothesis import strategies as st
from msgspec.structs import replace as changed

from readiness.checks.common import AIR
from readiness.checks.entry import understood
from readiness.checks.finding import find
from readiness.job import Reading
from readiness.units import UnitsError
from tests.scenes import AT, NOW, asked, check, given, judged, part, visit

SUPPLY = {
    "key": "supply", "label": "Supply", "measures": "voltage", "low": "12.4 V", "high": "14.8 V",
    "plausible_low": "6 V", "plausible_high": "18 V",
    "hint": "at the battery", "remedy": "Connect the support.",
}  # fmt: skip
AIR_ITEM = {
    "key": "air", "label": "Air in the bay", "measures": "temperature", "low": "5 °C", "high": "35 °C",
    "plausible_low": "-30 °C", "plausible_high": "50 °C", "shared": True,
}  # fmt: skip
PAINT = {
    "key": "paint", "label": "Paint", "measures": "thickness", "high": "0.3 mm",
    "plausible_low": "0 mm", "plausible_high": "3 mm",
}  # fmt: skip


def readings(*items, **more):
    return check("readings", {"items": list(items)}, **more)


def test_asks_in_the_canonical_unit_within_the_plausible():
    q = asked(readings(SUPPLY))["supply"]
    assert (q.unit, q.measures, q.low, q.high, q.hint) == ("V", "voltage", 6.0, 18.0, "at the battery")
    with pytest.raises(UnitsError):
        understood(q, "126", "metric")


def test_limits_convert_to_the_canonical_unit():
    # 0.3 mm is 300 um by definition of the prefixes
    p = part(judged(readings(PAINT), {"paint": "120 µm"}), "paint")
    assert (p.unit, p.high, p.low) == ("um", pytest.approx(300.0), None)
    assert p.outcome == "pass"


@pytest.mark.parametrize(
    ("volts", "outcome"),
    # voltmeter 0.05 V accuracy, 0.01 V steps: u = 0.0290 V, guard 0.0477 V
    [("12.6", "pass"), ("12.42", "too_close"), ("12.38", "too_close"), ("12.3", "fail"), ("15", "fail")],
)
def test_judges_with_the_instruments_uncertainty(volts, outcome):
    p = part(judged(readings(SUPPLY), {"supply": volts}), "supply")
    assert p.outcome == outcome
    assert p.u == pytest.approx(((0.05 / 3**0.5) ** 2 + (0.01 / 12**0.5) ** 2) ** 0.5)
    assert p.remedy == ("" if outcome == "pass" else "Connect the support.")


@law(st.floats(6, 18, allow_nan=False), st.floats(0.01, 1))
def test_a_tighter_limit_never_helps(volts, tighter):
    loose = part(judged(readings(SUPPLY), {"supply": f"{volts:.3f} V"}), "supply")
    tight = part(
        judged(readings({**SUPPLY, "low": f"{12.4 + tighter:.3f} V"}), {"supply": f"{volts:.3f} V"}), "supply"
    )
    assert loose.outcome == "pass" or tight.outcome != "pass"


def test_remedy_falls_back_to_the_checks():
    p = part(judged(readings(PAINT), {"paint": "900 µm"}), "paint")
    assert p.remedy == "Put readings right."


def test_repeat_readings_are_one_series():
    p = part(judged(readings(SUPPLY), {"supply": ("12.6", given("12.8", minutes=1))}), "supply")
    assert p.value == pytest.approx(12.7)
    assert len(p.readings) == 2
    # s / sqrt n of 12.6 and 12.8 is 0.1 V (GUM 4.2)
    assert p.u > 0.1


def test_missing_lapsed_and_without_instrument():
    assert part(judged(readings(SUPPLY)), "supply").outcome == "not_done"
    assert (
        part(judged(readings(SUPPLY), {"supply": given("12.6", minutes=-55)}), "supply").outcome == "lapsed"
    )
    p = part(judged(readings(SUPPLY), {"supply": given("12.6", instrument="")}), "supply")
    assert p.outcome == "not_done"
    assert "no instrument" in p.reason


@pytest.mark.parametrize(
    ("tool", "words"),
    [
        ("tape", "invented tape (tape) measures length, not this"),
        ("lost", "the shop has no instrument 'lost'"),
    ],
)
def test_a_tool_that_cannot_have_read_it_is_named(tool, words):
    # VIM 3.1: a measuring instrument is one for its kind of quantity (from memory)
    p = part(judged(readings(SUPPLY), {"supply": given("12.6", instrument=tool)}), "supply")
    assert p.outcome == "not_done"
    assert words in p.reason


def test_air_is_the_shared_question():
    q = asked(readings(AIR_ITEM))["air"]
    assert (q.key, q.unit, q.low, q.high, q.shared) == (AIR.key, AIR.unit, AIR.low, AIR.high, True)
    assert q.part == "air"


def test_air_read_for_another_check_counts():
    one = readings(AIR_ITEM)
    made = visit(one, readings={"readings": {"air": "21"}})
    assert [r.check for r in made.job.readings] == ["shared"]
    assert part(judged(one, {"air": "21"}), "air").outcome == "pass"
    assert part(judged(one, {"air": "41"}), "air").outcome == "fail"


def test_own_answer_under_a_shared_key_is_not_taken():
    one = readings(AIR_ITEM)
    own = Reading(
        check="readings",
        question="air",
        value=21.0,
        unit="degC",
        at=AT,
        by="A. Test",
        instrument="thermometer",
    )
    made = visit(one)
    made = replace(made, job=changed(made.job, readings=(own,)))
    assert find(made, one, "", NOW).outcome == "not_done"


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"measures": "voltages"}, "items[1].measures"),
        ({"low": "12.4 bar"}, "items[1].low"),
        ({"high": "14.8"}, "items[1].high"),
        ({"low": None, "high": None}, "items[1].low"),
        ({"low": "15 V"}, "items[1].high"),
        ({"plausible_low": "20 V"}, "items[1].plausible_high"),
        ({"high": "19 V"}, "items[1].high"),
        ({"key": "air"}, "items[1].key"),
        ({"label": ""}, "items[1].label"),
    ],
)
def test_items_that_make_no_sense_are_named(change, field):
    assert field in [path for path, _, _ in readings({**SUPPLY, **change}).limits.problems()]


def test_sound_items_have_no_problems():
    assert list(readings(SUPPLY, AIR_ITEM, PAINT).limits.problems()) == []


def test_keys_stand_once():
    assert [p for p, _, _ in readings(SUPPLY, SUPPLY).limits.problems()] == ["items[2].key"]

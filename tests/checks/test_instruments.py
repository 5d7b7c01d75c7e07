"""Instruments: known, in date and fine enough, by the readings of the whole job."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given as law
from hypothesis import strategies as st
from msgspec.structs import replace as changed

from readiness.checks import instruments as kind
from readiness.job import Event, Fix, Waiver
from tests.scenes import AT, INSTRUMENTS, NOW, check, given, part, visit

SUPPLY = check(
    "readings",
    {"items": [{"key": "supply", "label": "Supply", "measures": "voltage", "low": "12 V",
                "plausible_low": "6 V", "plausible_high": "18 V"}]},
    id="power", title="Power", voided_by=("power_off",),
)  # fmt: skip
LIGHT = check("light", {"places": ["board"], "least": 300.0, "no_sun": False})
AIR = check(
    "readings",
    {"items": [{"key": "air", "label": "Air", "measures": "temperature", "low": "5 °C", "shared": True,
                "plausible_low": "-30 °C", "plausible_high": "50 °C"}]},
    id="air",
)  # fmt: skip
TODAY = AT.date()


def need(measures, accuracy, purpose="the work"):
    return {"measures": measures, "accuracy": accuracy, "purpose": purpose}


def judge(*needs, answers=None, tools=None, now=NOW, **more):
    one = check("instruments", {"needs": list(needs)}, hold=720.0)
    known = {**INSTRUMENTS, **(tools or {})}
    made = visit(SUPPLY, LIGHT, AIR, one, readings=answers or {}, instruments=known, now=now, **more)
    return kind.judge(made.until(now).scene(one, "", now), one.limits)


def due(day, id="voltmeter"):
    return {id: changed(INSTRUMENTS[id], due=day)}


VOLTS = {"power": {"supply": "12.6"}}


def test_asks_nothing():
    one = check("instruments", {"needs": []})
    assert kind.ask(visit(one).scene(one, "", NOW), one.limits) == []


def test_in_date_on_the_very_day_and_not_the_day_after():
    on_the_day = part(judge(answers=VOLTS, tools=due(TODAY)), "date.voltmeter")
    assert on_the_day.outcome == "pass"
    after = part(judge(answers=VOLTS, tools=due(TODAY - timedelta(days=1))), "date.voltmeter")
    assert after.outcome == "fail"
    assert "invented voltmeter (voltmeter)" in after.reason
    assert f"{TODAY - timedelta(days=1)}" in after.reason
    assert "Power (supply)." in after.reason


@law(st.integers(-400, 400))
def test_in_date_is_a_matter_of_whole_days(days):
    p = part(judge(answers=VOLTS, tools=due(TODAY + timedelta(days=days))), "date.voltmeter")
    assert (p.outcome == "pass") == (days >= 0)


def test_the_day_of_the_reading_counts_not_that_of_the_judging():
    night = {"power": {"supply": given("12.6", minutes=14 * 60 + 50)}}  # 23:50, judged at 00:10
    p = part(
        judge(answers=night, tools=due(TODAY), now=AT + timedelta(minutes=15 * 60 + 10)), "date.voltmeter"
    )
    assert p.outcome == "pass"


def test_remedy_names_another_instrument_that_is_in_date():
    spare = changed(INSTRUMENTS["voltmeter"], id="spare", title="spare voltmeter")
    p = part(judge(answers=VOLTS, tools={**due(date(2020, 1, 1)), "spare": spare}), "date.voltmeter")
    assert "spare voltmeter (spare)" in p.remedy
    stale = changed(spare, due=date(2020, 1, 1))
    alone = part(judge(answers=VOLTS, tools={**due(date(2020, 1, 1)), "spare": stale}), "date.voltmeter")
    assert "another voltage instrument that is in date" in alone.remedy


@pytest.mark.parametrize(("accuracy", "outcome"), [("0.05 V", "pass"), ("0.1 V", "pass"), ("0.04 V", "fail")])
def test_fine_enough(accuracy, outcome):
    p = part(judge(need("voltage", accuracy), answers=VOLTS), "need.1.voltmeter")
    assert p.outcome == outcome
    assert "±0.05 V" in p.reason
    assert "2026-12-31" in p.reason


def test_share_of_the_reading_against_a_quantity():
    # the light meter is good to 5 %: 25 lx at 500 lx, 60 lx at 1200 lx
    fine = part(
        judge(need("illuminance", "30 lx"), answers={"light": {"light.1": "500"}}), "need.1.light-meter"
    )
    assert (fine.outcome, fine.value, fine.high) == ("pass", pytest.approx(25.0), pytest.approx(30.0))
    coarse = part(
        judge(need("illuminance", "30 lx"), answers={"light": {"light.1": "1200"}}), "need.1.light-meter"
    )
    assert (coarse.outcome, coarse.value) == ("fail", pytest.approx(60.0))
    assert coarse.margin == pytest.approx(-30.0)
    share = part(
        judge(need("illuminance", "5 %"), answers={"light": {"light.1": "1200"}}), "need.1.light-meter"
    )
    assert share.outcome == "pass"


@pytest.mark.parametrize("lux", [("500", "1200"), ("1200", "500")])
def test_the_reading_where_it_is_coarsest_decides(lux):
    first, second = lux
    answers = {"light": {"light.1": (given(first), given(second, minutes=1))}}
    p = part(judge(need("illuminance", "30 lx"), answers=answers), "need.1.light-meter")
    assert (p.outcome, p.value) == ("fail", pytest.approx(60.0))


def test_temperature_accuracy_has_no_zero_point():
    p = part(judge(need("temperature", "1.5 °C"), answers={"air": {"air": "21"}}), "need.1.thermometer")
    assert (p.outcome, p.value, p.high) == ("pass", pytest.approx(1.0), pytest.approx(1.5))


def test_too_coarse_names_one_that_would_do():
    fine = changed(INSTRUMENTS["voltmeter"], id="fine", title="fine voltmeter", accuracy="0.01 V")
    p = part(judge(need("voltage", "0.02 V"), answers=VOLTS, tools={"fine": fine}), "need.1.voltmeter")
    assert p.outcome == "fail"
    assert "fine voltmeter (fine)" in p.remedy


def test_a_need_that_nothing_was_read_for_is_not_done():
    p = part(judge(need("pressure", "3 kPa", "tyre pressure"), answers=VOLTS), "need.1")
    assert p.outcome == "not_done"
    assert "tyre pressure" in p.reason


def test_unknown_instrument_fails_with_a_sentence():
    p = part(judge(answers={"power": {"supply": given("12.6", instrument="ghost")}}), "date.ghost")
    assert p.outcome == "fail"
    assert "'ghost'" in p.reason


def test_instrument_for_another_quantity_is_said_not_raised():
    j = judge(need("pressure", "3 kPa"), answers={"power": {"supply": given("12.6", instrument="gauge")}})
    p = part(j, "need.1.gauge")
    assert p.outcome == "fail"
    assert "is no pressure" in p.reason


def test_nothing_read_is_not_done():
    assert [p.outcome for p in judge().parts] == ["not_done"]


def test_parts_carry_the_readings_concerned():
    j = judge(need("voltage", "1 V"), answers={**VOLTS, "light": {"light.1": "500"}})
    assert [r.question for r in part(j, "date.voltmeter").readings] == ["supply"]
    assert [r.question for r in part(j, "need.1.voltmeter").readings] == ["supply"]
    assert [r.question for r in part(j, "date.light-meter").readings] == ["light.1"]


OLD_AND_NEW = {"power": {"supply": (given("12.6", instrument="old"), given("12.7", minutes=6))}}
OLD = {"old": changed(INSTRUMENTS["voltmeter"], id="old", due=date(2020, 1, 1))}


def test_only_readings_that_still_count_are_looked_at():
    both = judge(answers=OLD_AND_NEW, tools=OLD)
    assert part(both, "date.old").outcome == "fail"
    at = AT + timedelta(minutes=5)
    fixed = judge(answers=OLD_AND_NEW, tools=OLD, fixes=[Fix(check="power", at=at, by="A. Test")])
    assert [p.key for p in fixed.parts] == ["date.voltmeter"]
    voided = judge(answers=OLD_AND_NEW, tools=OLD, events=[Event(event="power_off", at=at, by="A. Test")])
    assert [p.key for p in voided.parts] == ["date.voltmeter"]
    lapsed = judge(answers=OLD_AND_NEW, tools=OLD, now=AT + timedelta(minutes=62))
    assert [p.key for p in lapsed.parts] == ["date.voltmeter"]


@pytest.mark.parametrize(
    ("aside", "answers", "outcome"),
    [(("light",), VOLTS, "pass"), ((), VOLTS, "not_done"), (("power",), {}, "not_done"), (("light", "power"), {}, "pass")],
)  # fmt: skip
def test_what_was_set_aside_needs_no_instrument(aside, answers, outcome):
    waivers = [Waiver(check=c, reason="meter is lent", at=AT, by="A. Test") for c in aside]
    j = judge(need("illuminance", "10 %", "light"), answers=answers, waivers=waivers)
    assert part(j, "need.1").outcome == outcome


def test_what_another_check_still_reads_needs_one():
    lamps = check("light", {"places": ["board"], "least": 300.0, "no_sun": False}, id="lamps")
    one = check("instruments", {"needs": [need("illuminance", "10 %")]})
    aside = Waiver(check="light", reason="meter is lent", at=AT, by="A. Test")
    made = visit(LIGHT, lamps, one, waivers=[aside])
    assert part(kind.judge(made.scene(one, "", NOW), one.limits), "need.1").outcome == "not_done"


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        (need("volts", "1 V"), "needs[1].measures"),
        (need("voltage", "1 bar"), "needs[1].accuracy"),
        (need("voltage", "0 V"), "needs[1].accuracy"),
        (need("voltage", "fine"), "needs[1].accuracy"),
    ],
)
def test_needs_that_make_no_sense_are_named(wrong, field):
    assert [p for p, _, _ in check("instruments", {"needs": [wrong]}).limits.problems()] == [field]


def test_sound_needs_have_no_problems():
    needs = [need("voltage", "0.1 V"), need("illuminance", "10 %"), need("temperature", "1.5 °C")]
    assert list(check("instruments", {"needs": needs}).limits.problems()) == []

"""Light: each place, evenness and its uncertainty, sun and flicker."""

from __future__ import annotations

import math

import pytest
from hypothesis import given as law
from hypothesis import strategies as st
from uncertainties import ufloat

from readiness.job import Fix
from tests.scenes import AT, asked, check, given, judged, part

PLACES = ["board left", "board middle", "board right"]
WORKED = (412, 455, 498, 430, 505, 520, 415, 470, 485)
"""Worked average, lx: E_avg 465.556, E_min 412, U0 0.884964 (own case, by hand; U0 as in EN 12464-1)."""


def light(places=PLACES, **limits):
    return check("light", {"places": places, "least": 300.0, "no_sun": False, **limits})


def read(*lux):
    return {f"light.{n}": f"{v} lx" for n, v in enumerate(lux, 1)}


def meter_u(lux):
    """Light meter of the test instruments: 5 % and steps of 1 lx (GUM 4.3.7, F.2.2.1; from memory)."""
    return math.hypot(0.05 * lux / math.sqrt(3), 1.0 / (2 * math.sqrt(3)))


def test_asks_each_place_once_in_order_then_sun_then_flicker():
    questions = asked(light(no_sun=True, no_flicker=True))
    assert list(questions) == ["light.1", "light.2", "light.3", "sun", "flicker"]
    assert [q.label for q in questions.values()][:3] == ["Board left", "Board middle", "Board right"]
    assert all(q.measures == "illuminance" for k, q in questions.items() if k.startswith("light"))


def test_worked_average_row():
    places = [f"point {n}" for n in range(1, 10)]
    j = judged(light(places, uniformity=0.6), read(*WORKED))
    even = part(j, "uniformity")
    assert even.value == pytest.approx(0.884964, abs=5e-7)
    assert even.outcome == "pass"
    assert "Mean 466 lx, least 412 lx over 9 places." in j.notes


def test_uncertainty_of_evenness_agrees_with_the_uncertainties_library():
    # source: uncertainties 3.2, first-order propagation of independent inputs
    readings = (350, 520, 610)
    even = part(judged(light(uniformity=0.6), read(*readings)), "uniformity")
    inputs = [ufloat(r, meter_u(r)) for r in readings]
    expected = inputs[0] / (sum(inputs) / 3)
    assert even.value == pytest.approx(expected.n, rel=1e-12)
    assert even.u == pytest.approx(expected.s, rel=2e-3)


@law(st.lists(st.integers(200, 2000), min_size=3, max_size=3))
def test_evenness_lies_between_nothing_and_one(readings):
    even = part(judged(light(uniformity=0.6), read(*readings)), "uniformity")
    assert 0 < even.value <= 1
    assert even.value == pytest.approx(min(readings) / (sum(readings) / 3))


@pytest.mark.parametrize(
    ("lux", "outcome"),
    # 5 % of 400 lx is u = 11.6 lx, guard 19 lx; limits 400 and 800
    [(500, "pass"), (405, "too_close"), (395, "too_close"), (370, "fail"), (790, "too_close"), (900, "fail")],
)
def test_each_place_between_least_and_most(lux, outcome):
    p = part(judged(light(least=400.0, most=800.0), read(lux, 600, 600)), "light.1")
    assert p.outcome == outcome
    assert (p.low, p.high) == (400.0, 800.0)
    assert p.u == pytest.approx(meter_u(lux))


def test_remedy_of_dark_and_of_bright_differ_and_name_the_place():
    j = judged(light(most=800.0), read(100, 600, 1500))
    assert "bring a lamp (board left)" in part(j, "light.1").remedy
    assert "Dim or screen" in part(j, "light.3").remedy
    assert part(j, "light.2").remedy == ""


def test_uneven_names_darkest_and_brightest():
    p = part(judged(light(uniformity=0.6), read(310, 900, 2000)), "uniformity")
    assert p.outcome == "fail"
    assert p.remedy.index("board left") < p.remedy.index("board right")


def test_evenness_waits_for_the_last_place():
    j = judged(light(uniformity=0.6), read(500, 500))
    assert part(j, "uniformity").outcome == "not_done"
    assert part(j, "light.3").outcome == "not_done"
    assert j.notes == ("Mean 500 lx, least 500 lx over 2 places.",)


def test_no_evenness_asked_no_part():
    assert [p.key for p in judged(light(), read(500, 500, 500)).parts] == ["light.1", "light.2", "light.3"]


def test_full_darkness_fails_and_does_not_raise():
    j = judged(light(uniformity=0.6), read(0, 0, 0))
    assert {p.outcome for p in j.parts} == {"fail"}


def test_nearly_dark_place_is_judged():
    p = part(judged(light(uniformity=0.6), read(0, 500, 500)), "uniformity")
    assert p.outcome == "fail"
    assert p.value == 0


@pytest.mark.parametrize("key", ["sun", "flicker"])
@pytest.mark.parametrize(("answer", "outcome"), [("n", "pass"), ("y", "fail"), (None, "not_done")])
def test_sun_and_flicker(key, answer, outcome):
    one = light(no_sun=True, no_flicker=True)
    answers = {} if answer is None else {key: answer}
    p = part(judged(one, answers), key)
    assert p.outcome == outcome
    assert bool(p.remedy) == (outcome == "fail")


def test_a_reading_past_its_hold_time_has_lapsed():
    old = {**read(500, 500), "light.3": given("500 lx", minutes=-55)}
    assert part(judged(light(), old), "light.3").outcome == "lapsed"


def test_a_reading_without_a_meter_cannot_be_judged():
    p = part(judged(light(), {"light.1": given("500 lx", instrument="")}), "light.1")
    assert p.outcome == "not_done"
    assert "no instrument" in p.reason


def test_readings_before_a_fix_no_longer_count():
    fix = Fix(check="light", question="light.1", at=AT.replace(minute=5), by="A. Test")
    answers = {"light.1": (given("100 lx"), given("600 lx", minutes=6))}
    assert part(judged(light(), answers, fixes=[fix]), "light.1").value == 600
    assert part(judged(light(), answers), "light.1").value == 350


@pytest.mark.parametrize(
    ("limits", "field"),
    [
        ({"places": []}, "places"),
        ({"places": ["a", "a"]}, "places[2]"),
        ({"places": ["a", " "]}, "places[2]"),
        ({"most": 200.0}, "most"),
        ({"least": -1.0}, "least"),
        ({"places": ["a"], "uniformity": 0.6}, "uniformity"),
    ],
)
def test_limits_that_make_no_sense_are_named(limits, field):
    assert field in [path for path, _, _ in light(**limits).limits.problems()]


def test_sound_limits_have_no_problems():
    assert list(light(most=2000.0, uniformity=0.6).limits.problems()) == []


def test_two_places_alike_dark_leave_the_evenness_as_unsure_as_each_of_them():
    # source: uncertainties 3.2; which of the two is darkest makes no difference
    readings = (300, 300, 900)
    even = part(judged(light(uniformity=0.6), read(*readings)), "uniformity")
    inputs = [ufloat(r, meter_u(r)) for r in readings]
    assert even.u == pytest.approx((inputs[0] / (sum(inputs) / 3)).s, rel=2e-3)

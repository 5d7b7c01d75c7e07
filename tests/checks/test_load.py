"""Fuel and load against hand figures of the lever law, table 54B and the `uncertainties` library."""

from __future__ import annotations

import re
from datetime import timedelta
from math import exp, sqrt

import numpy as np
import pytest
from hypothesis import given as any_of
from hypothesis import settings
from hypothesis import strategies as st
from msgspec.structs import replace as changed
from uncertainties import ufloat

from readiness.checks import kinds
from readiness.checks.finding import find
from readiness.checks.load import changes_by_cause
from readiness.job import Event, Fix, Load, Reading, Station
from readiness.measure.uncertain import Traced
from tests.scenes import AT, NOW, SHEET, Visit, asked, check, given, judged, part, scene, visit

LIMITS = {"front_change": 8, "rear_change": 10}
TYRES = {
    "pressure_below": 5, "pressure_above": 20, "side_difference": 10, "least_tread": 2, "tread_difference": 2,
}  # fmt: skip
FULL = {"fuel": "1", "carried.1": "y", "carried.2": "y", "extra": "n"}
ELECTRIC = changed(SHEET, powertrain="electric", fuel=changed(SHEET.fuel, kind="none", tank=0.0))
BARE = changed(ELECTRIC, load=changed(SHEET.load, carried=()))
"""No fuel, nothing carried: only what is found in the car counts."""


def load(**limits):
    return check("load", {**LIMITS, **limits})


def thing(n, name, mass, station, more="n"):
    return {f"extra.{n}.name": name, f"extra.{n}.mass": mass, f"extra.{n}.station": station,
            f"extra.{n}.more": more}  # fmt: skip


def sign(found, axle):
    return 1 if "too much" in part(found, axle).reason else -1


def change(found):
    return tuple(sign(found, axle) * part(found, axle).value for axle in ("front", "rear"))


# --- the lever law -------------------------------------------------------------------------------


def test_as_the_procedure_asks_passes():
    found = judged(load(), FULL)
    assert {p.outcome for p in found.parts} == {"pass"}
    assert change(found) == (0.0, 0.0)


def test_ax4_a_mass_between_the_axles():
    # check-values AX4 (hand): 37.25 kg 2.30 m behind the front axle, wheelbase 2.70 m
    tank = changed(BARE, load=Load(stations=(Station(name="tank", x=0.4),)))
    found = judged(load(), {"extra": "y", **thing(1, "water bag", "37.25 kg", "tank")}, sheet=tank)
    assert change(found) == (pytest.approx(5.5185, abs=1e-4), pytest.approx(31.7315, abs=1e-4))


def test_ax5_a_mass_behind_the_rear_axle_lifts_the_front():
    # check-values AX5 (hand): 68 kg 3.20 m behind the front axle, wheelbase 2.70 m
    found = judged(load(), {"extra": "y", **thing(1, "crate", "68 kg", "boot floor")}, sheet=BARE)
    assert change(found) == (pytest.approx(-12.5926, abs=1e-4), pytest.approx(80.5926, abs=1e-4))
    assert {p.outcome for p in found.parts} == {"fail"}
    assert "Take the crate (68 kg, boot floor) out" in part(found, "front").remedy


def test_a_missing_carried_thing_counts_at_its_own_place():
    # by hand: -14 kg at x = -0.6: front +14 * 0.6 / 2.7, rear -14 * 3.3 / 2.7
    found = judged(load(), {**FULL, "carried.1": "n"})
    assert change(found) == (pytest.approx(14 * 0.6 / 2.7), pytest.approx(-14 * 3.3 / 2.7))
    assert "Put the spare wheel (14 kg) back" in part(found, "rear").remedy


# --- fuel ----------------------------------------------------------------------------------------


def petrol(rho15, t):
    """ASTM D1250-80 table 54B: alpha = K0/rho^2 + K1/rho, VCF = exp(-alpha dt (1 + 0.8 alpha dt))."""
    alpha = 346.4228 / rho15**2 + 0.4388 / rho15
    return rho15 * exp(-alpha * (t - 15) * (1 + 0.8 * alpha * (t - 15)))


@pytest.mark.parametrize(
    ("rho15", "t", "published"),
    [(720, 0, 733.717), (745, 0, 758.480), (745, 30, 731.372), (770, 30, 756.603)],
)
def test_the_density_used_below_is_that_of_the_check_values(rho15, t, published):
    # check-values, section 7 (constants text seen, figures by hand)
    assert petrol(rho15, t) == pytest.approx(published, abs=1e-3)


@pytest.mark.parametrize("t", [0, 15, 30])
def test_missing_fuel_weighs_what_it_weighs_at_the_temperature_of_the_bay(t):
    # EN 228 allows 720 to 775 kg/m3 at 15 C: the middle counts; 25 L missing at x = 0.4 m
    both = visit(
        check("tyres", TYRES), load(), readings={"tyres": {"air": f"{t} C"}, "load": {**FULL, "fuel": "1/2"}}
    )
    finding = find(both, both.checklist.check("load"), "single", NOW)
    mass = 25 * petrol(747.5, t) / 1000
    rear, front = (next(p for p in finding.parts if p.key == k) for k in ("rear", "front"))
    assert rear.value == pytest.approx(mass * 2.3 / 2.7, rel=1e-6)
    assert front.value == pytest.approx(mass * 0.4 / 2.7, rel=1e-6)


def test_without_a_thermometer_the_fuel_counts_at_15_degrees_and_wider():
    cold = judged(load(), {**FULL, "fuel": "1/2"})
    assert part(cold, "rear").value == pytest.approx(25 * 0.7475 * 2.3 / 2.7, rel=1e-6)
    both = visit(
        check("tyres", TYRES), load(), readings={"tyres": {"air": "15 C"}, "load": {**FULL, "fuel": "1/2"}}
    )
    known = find(both, both.checklist.check("load"), "single", NOW)
    assert part(cold, "rear").u > next(p.u for p in known.parts if p.key == "rear")


def test_the_gauge_widens_u_as_the_uncertainties_library_says():
    # gauge half width 1/16 of 50 L, density 720 to 775, no thermometer: 15 C +- 15 C, alpha 0.00121 per C
    level = ufloat(0.5, 1 / 16 / sqrt(3))
    rho = ufloat(747.5, 27.5 / sqrt(3)) * (1 - 0.001207 * ufloat(0, 15 / sqrt(3)))
    rear = (1 - level) * 50 / 1000 * rho * 2.3 / 2.7
    found = part(judged(load(), {**FULL, "fuel": "1/2"}), "rear")
    assert found.u == pytest.approx(rear.s, rel=2e-3)


def test_the_remedy_names_litres():
    found = part(judged(load(), {**FULL, "fuel": "1/4"}), "rear")
    assert found.outcome == "fail"
    assert "about 38 L of petrol" in found.remedy


def test_too_much_fuel_is_not_answered_with_ballast():
    half = changed(SHEET, fuel=changed(SHEET.fuel, level=0.5))
    found = part(judged(load(), FULL, sheet=half), "rear")
    assert found.outcome == "fail"
    assert "draw off 25 L" in found.remedy
    assert "ballast" not in found.remedy


def test_an_electric_car_is_not_asked_for_fuel():
    questions = asked(load(), sheet=ELECTRIC)
    assert list(questions) == ["carried.1", "carried.2", "extra"]
    found = judged(load(), {"carried.1": "y", "carried.2": "y", "extra": "n"}, sheet=ELECTRIC)
    assert {p.outcome for p in found.parts} == {"pass"}


def test_diesel_has_its_own_density():
    diesel = changed(SHEET, fuel=changed(SHEET.fuel, kind="diesel"))
    # EN 590: 820 to 845 kg/m3 at 15 C
    assert part(judged(load(), {**FULL, "fuel": "1/2"}, sheet=diesel), "rear").value == pytest.approx(
        25 * 0.8325 * 2.3 / 2.7, rel=1e-6
    )


# --- what is found in the car --------------------------------------------------------------------


def test_things_are_asked_about_one_after_another():
    assert "extra.1.name" not in asked(load(), FULL)
    one = {**FULL, "extra": "y", **thing(1, "tool chest", "30 kg", "boot floor")}
    assert "extra.2.name" not in asked(load(), one)
    assert "extra.2.name" in asked(load(), {**one, "extra.1.more": "y"})


def test_several_things_add_up():
    two = {
        "extra": "y",
        **thing(1, "chest", "30 kg", "boot floor", "y"),
        **thing(2, "sand", "20 kg", "front seats"),
    }
    found = judged(load(), two, sheet=BARE)
    # by hand: 30 * -0.5/2.7 + 20 * 1.3/2.7 and 30 * 3.2/2.7 + 20 * 1.4/2.7
    assert change(found) == (pytest.approx(11 / 2.7), pytest.approx(124 / 2.7))


def test_a_mass_judged_by_hand_is_wider_than_a_weighed_one():
    weighed = judged(load(), {"extra": "y", **thing(1, "chest", "30 kg", "rear seat")}, sheet=BARE)
    guess = {"extra": "y", **thing(1, "chest", given("30 kg", instrument=""), "rear seat")}
    guessed = judged(load(), guess, sheet=BARE)
    share = 2.2 / 2.7  # the rear axle's, for x = 0.5
    place = 30 / 2.7 * 0.15 / sqrt(3)
    assert part(guessed, "rear").u == pytest.approx(sqrt((2 / sqrt(3) * share) ** 2 + place**2), rel=1e-6)
    assert part(weighed, "rear").u < part(guessed, "rear").u


def test_a_thing_half_described_is_not_done():
    half = {**FULL, "extra": "y", "extra.1.name": "chest", "extra.1.station": "boot floor"}
    assert {p.outcome for p in judged(load(), half).parts} == {"not_done"}


def test_a_station_the_sheet_does_not_have_counts_as_no_go_and_says_so():
    made = visit(load(), readings={"load": {**FULL, "extra": "y", **thing(1, "chest", "5 kg", "boot floor")}})
    readings = tuple(
        changed(r, value="roof") if r.question == "extra.1.station" else r for r in made.job.readings
    )
    moved = Visit(
        made.checklist,
        made.sheet,
        made.bay,
        made.shop,
        made.instruments,
        changed(made.job, readings=readings),
    )
    finding = find(moved, made.checklist.check("load"), "single", NOW)
    assert finding.outcome == "not_done"
    assert "could not be judged" in finding.reason
    assert "'roof'" in finding.reason


@settings(max_examples=60)
@any_of(
    st.lists(st.text("ab x1", min_size=1, max_size=6).filter(str.strip), min_size=1, max_size=12, unique=True)
)
def test_stations_have_keys_of_one_letter_each_once(names):
    stations = tuple(Station(name=n, x=0.1 * k) for k, n in enumerate(names))
    sheet = changed(SHEET, load=Load(stations=stations))
    question = asked(load(), {"fuel": "1", "extra": "y"}, sheet=sheet)["extra.1.station"]
    keys = [c.key for c in question.choices]
    assert len(set(keys)) == len(keys) == len(names)
    assert all(len(k) == 1 and k.isalnum() for k in keys)


def test_without_stations_the_axles_serve():
    bare = changed(SHEET, load=Load())
    answers = {"fuel": "1", "extra": "y", **thing(1, "chest", "27 kg", "over the rear axle")}
    assert change(judged(load(), answers, sheet=bare)) == (pytest.approx(0.0), pytest.approx(27.0))


# --- ballast -------------------------------------------------------------------------------------

BALLAST = re.compile(r"([\d.]+) kg of ballast at ([a-z ]+?)(?= and |;|,)")


@pytest.mark.parametrize("fuel", ["0", "1/4", "1/2"])
@pytest.mark.parametrize("wheel", ["y", "n"])
def test_the_ballast_that_the_remedy_names_gives_the_axle_loads(fuel, wheel):
    answers = {**FULL, "fuel": fuel, "carried.1": wheel}
    found = judged(load(), answers)
    named = BALLAST.findall(part(found, "rear").remedy)
    assert named
    things = {"extra": "y"}
    for n, (mass, station) in enumerate(named, 1):
        things |= thing(n, "ballast", f"{mass} kg", station, "y" if n < len(named) else "n")
    for by in change(judged(load(), {**answers, **things})):
        assert by == pytest.approx(0.0, abs=0.6)


# --- time, series, order -------------------------------------------------------------------------


@pytest.mark.parametrize("key", FULL)
def test_any_missing_answer_is_not_done(key):
    rest = {k: v for k, v in FULL.items() if k != key}
    assert {p.outcome for p in judged(load(), rest).parts} == {"not_done"}


def test_hold_time_and_events_end_the_finding():
    one = check("load", LIMITS, hold=15, voided_by=("load_changed",))
    assert {p.outcome for p in judged(one, FULL, now=AT + timedelta(minutes=16)).parts} == {"lapsed"}
    filled = Event(event="load_changed", at=AT + timedelta(minutes=1), by="A. Test")
    assert {p.outcome for p in judged(one, FULL, events=[filled]).parts} == {"lapsed"}


def test_repeats_count_as_their_mean_until_a_fix():
    answers = {**FULL, "fuel": ("1/4", "1/2", given("1", minutes=5))}
    assert part(judged(load(), answers), "rear").value == pytest.approx(
        (1 - 1.75 / 3) * 50 * 0.7475 * 2.3 / 2.7, rel=1e-6
    )
    filled = Fix(check="load", question="fuel", at=AT + timedelta(minutes=4), by="A. Test", text="filled up")
    assert part(judged(load(), answers, fixes=[filled]), "rear").value == 0.0


MIXED = {**FULL, "fuel": "3/4", "extra": "y", **thing(1, "chest", "12 kg", "rear seat")}


@any_of(st.permutations(list(MIXED.items())))
def test_the_order_of_answers_does_not_matter(items):
    assert judged(load(), dict(items)) == judged(load(), MIXED)


def test_questions_are_typed_for_every_way_in():
    assert kinds()["load"].KIND == "load"
    assert asked(load(), MIXED)["extra.1.mass"].measures == "mass"
    assert isinstance(visit(load(), readings={"load": FULL}).job.readings[0], Reading)


def test_masses_from_the_same_scales_share_their_error():
    # simulation with numpy: one rectangular error of the scales for all three, places independent
    things = {**thing(1, "bag", "20 kg", "boot floor", "y"), **thing(2, "box", "30 kg", "boot floor", "y"),
              **thing(3, "chest", "25 kg", "rear seat")}  # fmt: skip
    found = judged(load(), {"extra": "y", **things}, sheet=BARE)
    rng = np.random.default_rng(11)
    n = 200_000
    scales = rng.normal(0, sqrt(0.25 / 3 + 0.01 / 12), (n, 1))
    masses = np.array([20, 30, 25]) + scales
    x = np.array([-0.5, -0.5, 0.5]) + rng.uniform(-0.15, 0.15, (n, 3))
    front = (masses * x / 2.7).sum(axis=1)
    rear = (masses * (1 - x / 2.7)).sum(axis=1)
    assert part(found, "front").u == pytest.approx(front.std(), rel=0.01)
    assert part(found, "rear").u == pytest.approx(rear.std(), rel=0.01)


# --- axle loads, for the checks that build on them --------------------------------------------------


def test_axle_changes_are_what_is_judged_with_the_errors_behind_it():
    answers = {**FULL, "fuel": "1/2", "extra": "y", **thing(1, "box", "40 kg", "boot floor", "y"),
               **thing(2, "bag", "10 kg", "boot floor")}  # fmt: skip
    by_cause = changes_by_cause(scene(load(), answers)).values()
    front, rear = (Traced(0.0).plus(*axle) for axle in zip(*by_cause, strict=True))
    found = judged(load(), answers)
    assert (front.value, rear.value) == pytest.approx(change(found))
    assert (front.u, rear.u) == pytest.approx((part(found, "front").u, part(found, "rear").u))
    assert set(rear.effects) == {
        "load: fuel, mass",
        "load: scales",
        "load: thing 1, place",
        "load: thing 2, place",
    }
    # moved ahead, a thing takes from the rear what it gives to the front, so the sum knows nothing of its place
    both = front.plus(rear)
    assert both.effects["load: thing 1, place"] == pytest.approx(0.0, abs=1e-12)
    assert both.effects["load: scales"] == pytest.approx(2 * sqrt(0.5**2 / 3 + 0.1**2 / 12))


def test_axle_changes_wait_for_every_answer():
    answers = dict(FULL)
    del answers["extra"]
    assert changes_by_cause(scene(load(), answers)) is None

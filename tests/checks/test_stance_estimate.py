"""Stance estimated from load and springs, against statics by hand, `uncertainties` and Monte Carlo (numpy)."""

from __future__ import annotations

from math import atan, degrees, sqrt

import numpy as np
import pytest
from hypothesis import given as any_of
from hypothesis import strategies as st
from msgspec.structs import replace as changed
from uncertainties import ufloat

from readiness.checks import stance
from readiness.checks.finding import find
from readiness.checks.stance.estimate import ASIDE_A, GIVE_A, KEY, RATE_A, deviation
from readiness.job import WHEELS, Carried, Load, Springs, Station
from readiness.measure.uncertain import Estimate, Traced
from tests.checks.test_stance import LIMITS, heights
from tests.scenes import NOW, SHEET, Given, asked, check, given, part, visit

G = 9.80665
"""m/s^2, standard gravity, ISO 80000-3; exact by definition."""
SPRUNG = changed(
    SHEET,
    springs=Springs(front=25.0, rear=30.0),
    load=Load(carried=(), stations=(Station(name="boot", x=-0.9), Station(name="seat", x=1.35))),
)
TALL = changed(
    SPRUNG, ride_heights=changed(SPRUNG.ride_heights, kind="floor_to_arch", front=690.0, rear=680.0)
)
STANCE = check("stance", {**LIMITS, "height": 30, "roll": 2, "pitch": 2})
LOAD = check("load", {"front_change": 50, "rear_change": 50})
TYRES = check("tyres", {"pressure_below": 20, "pressure_above": 20, "side_difference": 20, "least_tread": 1.6,
                        "tread_difference": 2})  # fmt: skip
EMPTY = {"fuel": "1", "extra": "n"}
PRESSURES = {"parked": "s", "air": "20", "sizes": "y", "pressure.lf": "230", "pressure.rf": "230",
             "pressure.lr": "250", "pressure.rr": "250"}  # fmt: skip
CHOSEN = {KEY: "estimated"}


def boxes(*masses: float) -> dict[str, str | Given]:
    """Boxes in the boot, 0.9 m behind the rear axle, each weighed."""
    answers: dict[str, str | Given] = {**EMPTY, "extra": "y" if masses else "n"}
    for n, mass in enumerate(masses, 1):
        answers |= {f"extra.{n}.name": "box", f"extra.{n}.mass": f"{mass} kg", f"extra.{n}.station": "boot",
                    f"extra.{n}.more": "y" if n < len(masses) else "n"}  # fmt: skip
    return answers


def found(load=EMPTY, answers=CHOSEN, *, sheet=SPRUNG, tyres=None, one=STANCE):
    readings = {"load": load or {}, "stance": answers, **({"tyres": tyres} if tyres else {})}
    return visit(TYRES, LOAD, one, readings=readings, sheet=sheet)


def deviations(*args, **more):
    made = found(*args, **more)
    return stance.deviations(made.scene(STANCE, "", NOW))


def judgement(*args, one=STANCE, **more):
    return stance.judge(found(*args, one=one, **more).scene(one, "", NOW), one.limits)


def test_a_box_in_the_boot_by_statics():
    # 60 kg 0.9 m behind the rear axle, wheelbase 2.7 m: the rear takes 80 kg, the front gives up 20 (lever law)
    off = deviations(boxes(60))
    assert off["lr"].value == pytest.approx(-40 * G / 30)
    assert off["rr"].value == pytest.approx(-40 * G / 30)
    assert off["lf"].value == pytest.approx(10 * G / 25)
    assert off["rf"].value == pytest.approx(10 * G / 25)
    found = judgement(boxes(60))
    pitch = degrees(atan((10 * G / 25 + 40 * G / 30) / 2700))
    assert part(found, "pitch").value == pytest.approx(pitch)
    assert "rear low" in part(found, "pitch").reason
    assert part(found, "height.lr").value == pytest.approx(380 - 40 * G / 30)


def test_every_reason_says_that_it_is_an_estimate_and_what_it_cannot_see():
    found = judgement(boxes(60))
    assert all("estimate" in p.reason for p in found.parts)
    assert {p.key for p in found.parts} == {
        "height.lf",
        "height.lr",
        "height.rr",
        "height.rf",
        "roll",
        "pitch",
    }
    assert "cannot see a tired or broken spring" in found.notes[0]
    assert "30 %" in found.notes[0]


def test_the_finding_rests_on_what_was_told_not_measured():
    made = found(boxes(60))
    assert find(made, STANCE, "", NOW).evidence == "told"


def test_first_order_agrees_with_monte_carlo():
    # 1e5 draws of the raw causes: scales, place of the box along and across, springs, the fuel gauge
    off = deviations(boxes(60))
    rng, n = np.random.default_rng(7), 100_000
    u_scales = sqrt(0.5**2 / 3 + 0.1**2 / 12)
    box = 60 + u_scales * rng.standard_normal(n)
    x = -0.9 + rng.uniform(-0.15, 0.15, n)
    y, y_fuel = rng.uniform(-ASIDE_A, ASIDE_A, n), rng.uniform(-ASIDE_A, ASIDE_A, n)
    fuel = rng.uniform(-1 / 16, 1 / 16, n) * 50 * 0.745
    front, rear = rng.uniform(1 - RATE_A, 1 + RATE_A, n), rng.uniform(1 - RATE_A, 1 + RATE_A, n)
    for wheel, axle, rate, track in (("lf", 1, 25 * front, 1.55), ("rf", 1, 25 * front, 1.55),
                                     ("lr", 0, 30 * rear, 1.53), ("rr", 0, 30 * rear, 1.53)):  # fmt: skip
        side = 1 if wheel[0] == "l" else -1
        load = 0.0
        for mass, at, aside in ((box, x, y), (fuel, np.full(n, 0.4), y_fuel)):
            share = at / 2.7 if axle else 1 - at / 2.7
            load = load + mass * share * (0.5 + side * aside / track)
        drawn = -load * G / rate
        # 1/k of a rate that may be out by 30 % is skewed, so what a spring gives counts as wider than its rate
        wide = -load * G / rate.mean() * (1 + GIVE_A / RATE_A * (1 - rate / rate.mean()))
        assert off[wheel].u == pytest.approx(wide.std(), rel=0.05)
        assert drawn.std() < off[wheel].u < 1.5 * drawn.std()
        assert off[wheel].value == pytest.approx(wide.mean(), rel=0.05, abs=0.02)
        for beyond in (
            drawn < off[wheel].value - 1.645 * off[wheel].u,
            drawn > off[wheel].value + 1.645 * off[wheel].u,
        ):
            assert beyond.mean() < 0.05


def test_effects_agree_with_the_uncertainties_library():
    mass, at = ufloat(80, 4), ufloat(0.5, 0.1)
    y, rate = ufloat(0, ASIDE_A / sqrt(3)), ufloat(30, 30 * GIVE_A / sqrt(3))
    rear = {w: -mass * (1 - at / 2.7) * (0.5 + s * y / 1.53) * G / rate for w, s in (("lr", 1), ("rr", -1))}
    wheel = {"mass": (1 - 0.5 / 2.7) * 4, "place": -80 * 0.1 / 2.7}
    change = {"box": (Traced(0.0), Traced(80 * (1 - 0.5 / 2.7), wheel))}
    ours = {w: deviation(SPRUNG, w, change, from_floor=False) for w in ("lr", "rr")}
    for w in ("lr", "rr"):
        assert ours[w].value == pytest.approx(rear[w].n)
        assert ours[w].u == pytest.approx(rear[w].s, rel=1e-9)
    # roll: what both springs and the mass do alike drops out, the side of the box does not
    assert ours["lr"].minus(ours["rr"]).u == pytest.approx((rear["lr"] - rear["rr"]).s, rel=1e-9)
    assert ours["lr"].plus(ours["rr"]).u == pytest.approx((rear["lr"] + rear["rr"]).s, rel=1e-9)


def test_nobody_knows_on_which_side_it_lies_so_roll_is_unsure_and_zero():
    found = judgement(boxes(60))
    roll = part(found, "roll")
    assert roll.value == 0.0
    lateral = 60 * ASIDE_A / sqrt(3)  # kg m, shared by both axles by the lever law
    expected = (lateral * (-20 / 60) / 1.55 * 2 * G / 25 + lateral * (80 / 60) / 1.53 * 2 * G / 30) / 2
    assert roll.u == pytest.approx(degrees(expected / 1540), rel=0.1)  # the fuel gauge adds a little


@any_of(st.lists(st.integers(1, 60), min_size=1, max_size=3))
def test_more_load_never_raises_the_end_it_lies_at(masses):
    off = deviations(boxes(*masses))
    less = deviations(boxes(*masses[:-1]))
    assert off["lr"].value < less["lr"].value
    assert off["lf"].value > less["lf"].value


@any_of(st.integers(-40, 40), st.integers(-40, 40))
def test_left_and_right_are_mirror_images(front, rear):
    change = {"thing": (Traced(front, {"a": 1.0}), Traced(rear, {"a": 2.0}))}
    for left, right in (("lf", "rf"), ("lr", "rr")):
        one, other = (deviation(SPRUNG, w, change, from_floor=True) for w in (left, right))
        assert one.value == other.value
        assert one.effects.pop("load: thing, side", 0) == -other.effects.pop("load: thing, side", 0)
        assert one.effects == other.effects


# --- measured heights hold the load ---------------------------------------------------------------


@any_of(st.integers(0, 200), st.sampled_from([SPRUNG, TALL]), st.booleans())
def test_a_change_of_load_alters_no_stance_that_was_measured(mass, sheet, choose):
    read = heights(395, 377, 372, 391) if sheet is SPRUNG else heights(695, 677, 672, 691)
    answers = {**read, **(CHOSEN if choose else {})}
    with_box, without = (
        deviations(load, answers, sheet=sheet, tyres=PRESSURES) for load in (boxes(mass + 1), EMPTY)
    )
    assert with_box == without == deviations({}, answers, sheet=sheet)
    assert with_box["lf"].value == pytest.approx(5.0)
    assert judgement(boxes(mass + 1), answers, sheet=sheet) == judgement({}, answers, sheet=sheet)


def test_one_height_that_was_read_counts_for_itself_and_the_rest_is_estimated():
    found = judgement(boxes(60), {**CHOSEN, "height.lr": "300 mm"})
    assert part(found, "height.lr").value == 300.0
    assert part(found, "height.lr").outcome == "fail"
    assert "estimate" not in part(found, "height.lr").reason
    assert "estimated" in part(found, "roll").reason


# --- floor to arch --------------------------------------------------------------------------------


def test_from_the_floor_the_tyres_give_too():
    # a tyre 50 kPa soft under half the share of its load index: see test_tyre_radius
    soft = {**PRESSURES, "pressure.lr": "200"}
    even, low = deviations(EMPTY, sheet=TALL, tyres=PRESSURES), deviations(EMPTY, sheet=TALL, tyres=soft)
    assert even["lr"].value == pytest.approx(0.0, abs=1e-9)
    assert -4.0 < low["lr"].value < -1.5
    loaded = deviations(boxes(60), sheet=TALL, tyres=PRESSURES)
    hub = deviations(boxes(60), tyres=PRESSURES)
    assert 1.2 < hub["lr"].value - loaded["lr"].value < 2.5  # 40 kg on a tyre of 150 to 300 N/mm
    assert hub == deviations(boxes(60), tyres=soft)


def test_from_the_floor_without_pressures_nothing_is_estimated():
    found = judgement(boxes(60), sheet=TALL)
    assert {p.outcome for p in found.parts} == {"not_done"}
    assert all("tyre pressures" in p.reason for p in found.parts)
    assert deviations(boxes(60), sheet=TALL) is None


# --- refused and not offered ----------------------------------------------------------------------


def test_without_the_load_nothing_is_estimated():
    found = judgement({})
    assert all("the estimate needs the answers of Load" in p.reason for p in found.parts)
    alone = visit(STANCE, readings={"stance": CHOSEN}, sheet=SPRUNG)
    (first, *_) = stance.judge(alone.scene(STANCE, "", NOW), STANCE.limits).parts
    assert "a check of the load in the checklist" in first.reason


@pytest.mark.parametrize(("levelled", "refused"), [("rear", {"lr", "rr"}), ("all", set(WHEELS))])
def test_a_car_that_levels_itself_is_measured(levelled, refused):
    found = judgement(boxes(60), sheet=changed(SPRUNG, self_levelling=levelled))
    for wheel in WHEELS:
        one = part(found, f"height.{wheel}")
        assert (one.outcome == "not_done") == (wheel in refused)
        assert ("the levelling hides the load" in one.reason) == (wheel in refused)
    assert {part(found, k).outcome for k in ("roll", "pitch")} == {"not_done"}
    assert deviations(boxes(60), sheet=changed(SPRUNG, self_levelling=levelled)) is None


def test_the_choice_is_optional_stands_last_and_is_only_there_with_springs():
    questions = list(asked(STANCE, sheet=SPRUNG).values())
    assert questions[-1].key == KEY
    assert questions[-1].optional
    assert not any(q.optional for q in questions[:-1])
    assert KEY not in asked(STANCE)


def test_not_chosen_nothing_is_estimated():
    for answers in ({}, {KEY: "n"}):
        assert deviations(boxes(60), answers) is None
        assert (
            part(judgement(boxes(60), answers), "height.lf").reason == "Left front ride height: not read yet."
        )


def test_a_sheet_without_heights_is_estimated_as_a_difference():
    bare = changed(SPRUNG, ride_heights=None)
    assert "estimate them from load and springs" in judgement(boxes(60), {}, sheet=bare).parts[0].remedy
    assert stance.body_kind(found(boxes(60), {}, sheet=bare).scene(STANCE, "", NOW)) is None
    found_ = judgement(boxes(60), sheet=bare)
    assert part(found_, "height.lr").value == pytest.approx(-40 * G / 30)
    assert deviations(boxes(60), sheet=bare) == deviations(boxes(60))
    assert stance.body_kind(found(boxes(60), sheet=bare).scene(STANCE, "", NOW)) == "hub_to_arch"


def test_things_that_were_carried_and_are_missing_raise_the_car():
    carrying = changed(SPRUNG, load=Load(carried=(Carried(name="spare wheel", mass=20.0, x=0.0),)))
    off = deviations({**EMPTY, "carried.1": "n"}, sheet=carrying)
    assert off["lr"].value == pytest.approx(10 * G / 30)
    assert off["lf"].value == 0.0


def test_an_estimate_ends_when_the_load_changes():
    one = check("load", {"front_change": 50, "rear_change": 50}, hold=5)
    made = visit(one, STANCE, readings={"load": {k: given(str(v)) for k, v in boxes(60).items()}, "stance": CHOSEN},
                 sheet=SPRUNG)  # fmt: skip
    assert stance.deviations(made.scene(STANCE, "", NOW)) is None


def test_roll_and_pitch_of_an_estimate_are_those_of_its_corners():
    off = deviations(boxes(45))
    along = off["lf"].plus(off["rf"]).minus(off["lr"].plus(off["rr"])).scaled(0.5)
    pitch = part(judgement(boxes(45)), "pitch")
    assert pitch.value == pytest.approx(degrees(atan(along.value / 2700)))
    assert pitch.u == pytest.approx(degrees(along.u / 2700), rel=1e-3)
    assert isinstance(along.estimate, Estimate)

"""Stance against a least-squares plane (numpy), the `uncertainties` library and hand figures."""

from __future__ import annotations

from datetime import timedelta
from math import atan, degrees, sqrt

import numpy as np
import pytest
from hypothesis import given as any_of
from hypothesis import strategies as st
from msgspec.structs import replace as changed
from uncertainties import ufloat, umath

from readiness.checks.entry import understood
from readiness.checks.stance.check import body_kind, deviations
from readiness.job import WHEELS, Event, Fix
from readiness.units import UnitsError
from tests.scenes import AT, SHEET, asked, check, given, judged, part, scene

LIMITS = {"height": 12, "roll": 0.4, "pitch": 0.3, "warp": 10}
WANTED = {"lf": 390, "lr": 380, "rr": 380, "rf": 390}
TAPE_U = sqrt(1 / 3 + 1 / 12)
EVEN = changed(SHEET, dimensions=changed(SHEET.dimensions, track_front=1.5, track_rear=1.5))


def stance(**limits):
    return check("stance", {**LIMITS, **limits})


def heights(lf, lr, rr, rf):
    return {
        "height.lf": f"{lf} mm",
        "height.lr": f"{lr} mm",
        "height.rr": f"{rr} mm",
        "height.rf": f"{rf} mm",
    }


def test_heights_as_the_sheet_pass_every_part():
    found = judged(stance(), heights(390, 380, 380, 390))
    assert [p.key for p in found.parts] == [
        "height.lf", "height.lr", "height.rr", "height.rf", "roll", "pitch", "warp",
    ]  # fmt: skip
    assert {p.outcome for p in found.parts} == {"pass"}
    assert [part(found, k).value for k in ("roll", "pitch", "warp")] == [0.0, 0.0, 0.0]


def test_one_low_corner_by_hand():
    # right rear 12 mm low: roll atan(6 / 1540) to the right, pitch atan(6 / 2700) nose up, warp 12
    found = judged(stance(), heights(390, 380, 368, 390))
    assert part(found, "roll").value == pytest.approx(degrees(atan(6 / 1540)))
    assert part(found, "pitch").value == pytest.approx(degrees(atan(6 / 2700)))
    assert part(found, "warp").value == pytest.approx(12.0)
    assert "right side low" in part(found, "roll").reason
    assert "rear low" in part(found, "pitch").reason
    assert part(found, "height.rr").outcome == "too_close"
    assert part(found, "warp").outcome == "too_close"


def test_far_out_corner_fails_and_says_what_to_do():
    found = judged(stance(), heights(390, 380, 350, 390))
    assert part(found, "height.rr").outcome == "fail"
    assert "stays low" in part(found, "height.rr").remedy
    assert "stays high" in part(judged(stance(), heights(430, 380, 380, 390)), "height.lf").remedy
    spot = next(s for s in found.picture if getattr(s, "marked", False))
    assert spot.at == (0.0, -0.765)


@any_of(*(st.integers(-25, 25) for _ in WHEELS))
def test_roll_and_pitch_are_the_slopes_of_the_best_plane(lf, lr, rr, rf):
    # numpy.linalg.lstsq over the four corners of a rectangle, in mm over m
    found = judged(stance(), heights(390 + lf, 380 + lr, 380 + rr, 390 + rf), sheet=EVEN)
    x, y = np.array([2.7, 0, 0, 2.7]), np.array([0.75, 0.75, -0.75, -0.75])
    (_, b, c), *_ = np.linalg.lstsq(
        np.column_stack([np.ones(4), x, y]), np.array([lf, lr, rr, rf]), rcond=None
    )
    assert part(found, "roll").value == pytest.approx(abs(degrees(atan(c / 1000))), abs=1e-9)
    assert part(found, "pitch").value == pytest.approx(abs(degrees(atan(b / 1000))), abs=1e-9)


def test_uncertainty_agrees_with_the_uncertainties_library():
    found = judged(stance(), heights(395, 377, 372, 391))
    lf, lr, rr, rf = (ufloat(v, TAPE_U) for v in (5, -3, -8, 1))
    roll = umath.degrees(umath.atan((lf + lr - rf - rr) / 2 / 1540))
    pitch = umath.degrees(umath.atan((lr + rr - lf - rf) / 2 / 2700))
    warp = lf - lr + rr - rf
    for key, expected in (("roll", roll), ("pitch", pitch), ("warp", warp)):
        assert part(found, key).value == pytest.approx(abs(expected.n), abs=1e-12)
        assert part(found, key).u == pytest.approx(expected.s, rel=1e-6)


@any_of(*(st.integers(-25, 25) for _ in WHEELS))
def test_mirroring_left_and_right_swaps_the_wheels_and_nothing_else(lf, lr, rr, rf):
    one = judged(stance(), heights(390 + lf, 380 + lr, 380 + rr, 390 + rf))
    other = judged(stance(), heights(390 + rf, 380 + rr, 380 + lr, 390 + lf))
    swap = {
        "height.lf": "height.rf",
        "height.rf": "height.lf",
        "height.lr": "height.rr",
        "height.rr": "height.lr",
    }
    for p in one.parts:
        mirror = part(other, swap.get(p.key, p.key))
        assert (p.outcome, p.u) == (mirror.outcome, pytest.approx(mirror.u))
        assert p.value == pytest.approx(mirror.value, abs=1e-9)


@any_of(st.integers(-120, 120))
def test_a_body_that_sits_evenly_higher_neither_rolls_nor_pitches(lift):
    found = judged(stance(), heights(*(WANTED[w] + lift for w in WHEELS)))
    assert [part(found, k).value for k in ("roll", "pitch", "warp")] == pytest.approx([0, 0, 0], abs=1e-12)


def test_a_sheet_without_ride_heights_is_not_done_and_names_the_field():
    bare = changed(SHEET, ride_heights=None)
    assert asked(stance(), sheet=bare) == {}
    (only,) = judged(stance(), sheet=bare).parts
    assert only.outcome == "not_done"
    assert "ride_heights" in only.reason
    assert bare.sheet in only.reason


def test_floor_to_arch_has_its_own_bounds_and_hint():
    tall = changed(
        SHEET, ride_heights=changed(SHEET.ride_heights, kind="floor_to_arch", front=690.0, rear=680.0)
    )
    question = asked(stance(), sheet=tall)["height.lf"]
    assert (question.low, question.high) == (570.0, 810.0)
    assert "floor" in question.hint
    assert judged(stance(), heights(690, 680, 680, 690), sheet=tall).notes == ()


def test_a_missing_corner_leaves_its_height_and_the_attitude_not_done():
    answers = heights(390, 380, 380, 390)
    del answers["height.rr"]
    found = judged(stance(), answers)
    assert {p.key for p in found.parts if p.outcome == "not_done"} == {"height.rr", "roll", "pitch", "warp"}
    assert part(found, "height.lf").outcome == "pass"


def test_a_touched_tyre_voids_the_heights():
    one = check("stance", LIMITS, voided_by=("tyre_touched",))
    touched = Event(event="tyre_touched", at=AT + timedelta(minutes=2), by="A. Test")
    assert {p.outcome for p in judged(one, heights(390, 380, 380, 390), events=[touched]).parts} == {"lapsed"}


def test_heights_lapse_with_the_hold_time():
    one = check("stance", LIMITS, hold=20)
    late = judged(one, heights(390, 380, 380, 390), now=AT + timedelta(minutes=20))
    assert {p.outcome for p in late.parts} == {"lapsed"}


def test_repeats_are_a_series_until_a_fix():
    answers = {**heights(390, 380, 380, 390), "height.rr": ("350 mm", "352 mm", given("380 mm", minutes=5))}
    assert part(judged(stance(), answers), "height.rr").value == pytest.approx((350 + 352 + 380) / 3)
    fix = Fix(check="stance", question="height.rr", at=AT + timedelta(minutes=4), by="A. Test", text="spring")
    assert part(judged(stance(), answers, fixes=[fix]), "height.rr").value == 380.0


@any_of(st.permutations(list(heights(395, 377, 372, 391).items())))
def test_the_order_of_readings_does_not_matter(items):
    assert judged(stance(), dict(items)) == judged(stance(), heights(395, 377, 372, 391))


@pytest.mark.parametrize("may_be_set_aside", [True, False])
def test_setting_aside_is_offered_only_where_it_lets_the_car_go(may_be_set_aside):
    one = changed(stance(), if_applicable=may_be_set_aside)
    found = judged(one, sheet=changed(SHEET, ride_heights=None))
    assert ("set the check aside" in part(found, "height").remedy) is may_be_set_aside


# --- which height was read, and what is bent ------------------------------------------------------

TALL = changed(SHEET, ride_heights=changed(SHEET.ride_heights, kind="floor_to_arch", front=690.0, rear=680.0))


@pytest.mark.parametrize(
    ("sheet", "typed", "sentence"),
    [
        # 205/55 R16: radius (16 x 25.4 + 2 x 205 x 0.55) / 2 = 316 mm by hand
        (SHEET, "706 mm", "706 mm reads like floor to arch; the sheet's 390 mm is hub to arch: "
                          "hold the end of the tape at the wheel centre."),
        (TALL, "374 mm", "374 mm reads like hub to arch; the sheet's 690 mm is floor to arch: "
                         "hold the end of the tape on the floor."),
    ],
)  # fmt: skip
def test_a_height_from_the_other_place_is_recognised(sheet, typed, sentence):
    with pytest.raises(UnitsError) as refused:
        understood(asked(stance(), sheet=sheet)["height.lf"], typed, "metric")
    assert str(refused.value) == sentence


@pytest.mark.parametrize(
    ("typed", "accepted"), [("270", True), ("510", True), ("269", False), ("511", False)]
)
def test_a_height_far_from_the_sheet_s_is_refused(typed, accepted):
    question = asked(stance())["height.lf"]
    if accepted:
        assert understood(question, typed, "metric")[0] == float(typed)
        return
    with pytest.raises(UnitsError, match=r"not plausible for left front height \(270 to 510 mm\)"):
        understood(question, typed, "metric")


@pytest.mark.parametrize("limit", [4, 30])
def test_diagonals_that_differ_by_more_than_5_mm_are_mis_measured_or_bent_whatever_the_limit(limit):
    found = judged(stance(warp=limit), heights(396, 380, 380, 390))
    warp = part(found, "warp")
    assert warp.outcome == ("too_close" if limit == 4 else "pass")
    assert warp.reason.endswith("More than 5 mm is mis-measured or bent.")
    assert warp.remedy.startswith("Read all four again; if it stays, the body or a spring seat may be bent")
    assert any("may be bent" in note for note in found.notes) == (warp.outcome == "pass")


def test_diagonals_that_differ_by_5_mm_are_nothing_to_talk_of():
    found = judged(stance(), heights(395, 380, 380, 390))
    assert "bent" not in part(found, "warp").reason
    assert not any("bent" in note for note in found.notes)


def test_from_the_hub_the_tyres_are_taken_from_their_pressures():
    (note,) = judged(stance(), heights(390, 380, 380, 390)).notes
    assert note.endswith("how far these give is taken from their pressures.")


@any_of(*(st.integers(-25, 25) for _ in WHEELS))
def test_deviations_are_reading_less_sheet_and_mirror_with_the_car(lf, lr, rr, rf):
    one, other = (
        deviations(scene(stance(), heights(*h)))
        for h in ((390 + lf, 380 + lr, 380 + rr, 390 + rf), (390 + rf, 380 + rr, 380 + lr, 390 + lf))
    )
    assert {w: t.value for w, t in one.items()} == {"lf": lf, "lr": lr, "rr": rr, "rf": rf}
    for left, right in (("lf", "rf"), ("lr", "rr")):
        assert (one[left].value, one[right].value) == (other[right].value, other[left].value)
    assert {w: t.effects for w, t in one.items()} == {
        w: {f"height {w}": pytest.approx(TAPE_U)} for w in WHEELS
    }


def test_deviations_need_all_four():
    answers = heights(390, 380, 380, 390)
    del answers["height.rr"]
    assert deviations(scene(stance(), answers)) is None
    assert body_kind(scene(stance())) == "hub_to_arch"
    assert body_kind(scene(stance(), sheet=TALL)) == "floor_to_arch"
    assert body_kind(scene(stance(), sheet=changed(SHEET, ride_heights=None))) is None

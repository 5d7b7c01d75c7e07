"""What was put under a foot counts as floor there: against hand figures and the same floor measured with it."""

from __future__ import annotations

from datetime import timedelta
from math import dist

import pytest
from hypothesis import given as any_of
from hypothesis import settings
from hypothesis import strategies as st

from readiness.checks.finding import find
from readiness.checks.floor.check import fix_brings, heights_of
from readiness.job import WHEELS, Fix, SurveyPoint
from tests.checks.floors import HOLDS, LASER_U, PLACES, flat, floor, heights, staffs, surveyed
from tests.scenes import AT, NOW, asked, check, given, judged, part, scene, visit

FLAT_BUT_ONE = {**flat(), "reflector.1": -10.0}


BAY = surveyed(
    lambda x, y: 0.0,
    points=tuple(
        SurveyPoint(name=f"s{n}", x=x, y=y, height=FLAT_BUT_ONE[place])
        for n, (place, (x, y)) in enumerate(PLACES.items())
    ),
)
"""A level floor, surveyed under each wheel and foot, with a drain under the first foot."""


def test_only_feet_that_are_off_may_be_packed():
    assert [k for k in asked(floor(), HOLDS, bay=BAY) if k.startswith("packed.")] == ["packed.reflector.1"]
    assert not [k for k in asked(floor(), staffs(flat())) if k.startswith("packed.")]
    assert not [k for k in asked(floor(), {"source": "survey"}, bay=BAY) if k.startswith("packed.")]


def test_a_plate_under_a_low_foot_puts_the_floor_right():
    bare = judged(floor(flatness=4), HOLDS, bay=BAY)
    assert part(bare, "target.reflector.1").value == pytest.approx(10.0)
    assert "Put a plate of 10 mm under reflector foot 1" in part(bare, "target.reflector.1").remedy
    assert "enter it as packed" in part(bare, "target.reflector.1").remedy
    assert part(bare, "flatness").outcome != "pass"
    assert part(bare, "flatness").remedy.startswith("Pack reflector foot 1 by 10 mm if the procedure allows")
    put = judged(floor(flatness=4), {**HOLDS, "packed.reflector.1": "10 mm"}, bay=BAY)
    assert {p.outcome for p in put.parts} == {"pass"}
    assert part(put, "flatness").value == pytest.approx(0.0, abs=1e-9)
    assert "Reflector foot 1 is packed by 10 mm." in put.notes


def test_a_plate_is_as_uncertain_as_it_may_be_wrong():
    # half width 0.5 mm: 0.5 / sqrt 3 (JCGM 100 4.3.7), independent of the floor's own u
    bare, put = (
        part(judged(floor(), {**staffs(FLAT_BUT_ONE), **more}), "target.reflector.1").u
        for more in ({}, {"packed.reflector.1": "8 mm"})
    )
    assert put**2 - bare**2 == pytest.approx(0.5**2 / 3.0)
    assert bare > LASER_U


@any_of(heights, st.integers(-30, 30))
@settings(max_examples=25)
def test_packing_is_the_same_as_a_staff_read_on_the_plate(zs, plate):
    floor_ = dict(zip(PLACES, zs, strict=True))
    floor_["reflector.1"] = floor_["reflector.1"] - 60.0  # far enough off to be asked for
    on_top = {**floor_, "reflector.1": floor_["reflector.1"] + plate}
    packed = judged(floor(), {**staffs(floor_), "packed.reflector.1": f"{plate} mm"})
    read = judged(floor(), staffs(on_top))
    for key in (
        "slope_along",
        "slope_across",
        "flatness",
        "twist",
        "target.reflector.1",
        "target.reflector.2",
    ):
        assert part(packed, key).value == pytest.approx(part(read, key).value, abs=1e-6)


def test_a_foot_that_stays_low_may_be_packed_further_and_stays_asked_for():
    answers = {**staffs(FLAT_BUT_ONE), "packed.reflector.1": "4 mm"}
    found = part(judged(floor(target_height=3), answers), "target.reflector.1")
    assert found.value == pytest.approx(6.0, abs=1e-3)
    even = {**staffs(FLAT_BUT_ONE), "packed.reflector.1": "10 mm"}
    assert "packed.reflector.1" in asked(floor(), even)


def test_a_high_foot_is_screwed_in_with_a_minus():
    high = staffs({**flat(), "reflector.2": 9.0})
    assert "with a minus" in part(judged(floor(), high), "target.reflector.2").remedy
    found = judged(floor(), {**high, "packed.reflector.2": "-9 mm"})
    assert part(found, "target.reflector.2").outcome == "pass"
    assert "Reflector foot 2 is screwed in by 9 mm." in found.notes


def test_the_quick_check_looks_at_the_floor_and_not_at_the_plate():
    answers = {
        **HOLDS,
        "packed.reflector.1": "10 mm",
        "quick.lr-reflector.1.1": f"{-10.0 / dist(PLACES['lr'], PLACES['reflector.1']):.3f} mm/m",
    }
    found = judged(floor(), answers, bay=BAY)
    assert part(found, "quick.lr-reflector.1").outcome == "pass"
    assert {p.outcome for p in found.parts} == {"pass"}


def test_where_the_plate_may_be_gone_the_foot_is_not_known():
    once = staffs(FLAT_BUT_ONE)
    later = {k: v if k == "source" else given(v, minutes=50) for k, v in once.items()}
    answers = {**later, "source": given("laser", minutes=50), "packed.reflector.1": given("10 mm")}
    found = judged(floor(), answers, now=AT + timedelta(minutes=70))  # held 60 minutes
    assert part(found, "target.reflector.1").outcome == "lapsed"
    assert (
        "reflector.1"
        not in heights_of(scene(floor(), answers, now=AT + timedelta(minutes=70))).surface.heights
    )
    assert part(found, "target.reflector.2").outcome == "pass"


def test_putting_a_foot_right_does_not_move_the_car():
    assert not any(map(fix_brings, ("packed.reflector.1", "staff.reflector.1", "run.lr-left-mat.0")))
    assert not fix_brings("quick.rf-lf")
    assert all(map(fix_brings, ("", "source", "survey_holds", "staff.lf", "run.rr-lr", "run.rr-lr.1")))
    moving = floor_with_events()
    stance = check("stance", {"height": 15, "roll": 1, "pitch": 1, "warp": 9}, voided_by=("car_moved",))
    read = {f"height.{w}": "390 mm" if w.endswith("f") else "380 mm" for w in WHEELS}
    for question, outcome in (("packed.reflector.1", "pass"), ("staff.lf", "lapsed")):
        fix = Fix(check="floor", question=question, at=AT + timedelta(minutes=5), by="A. Test")
        made = visit(moving, stance, readings={"floor": staffs(flat()), "stance": read}, fixes=[fix])
        assert find(made, stance, "", NOW).outcome == outcome


def floor_with_events():
    return check("floor", floor().limits, voided_by=("car_moved",), a_fix_is=("car_moved",))

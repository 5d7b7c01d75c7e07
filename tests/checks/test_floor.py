"""Floor against numpy (least squares, covariance), Monte Carlo and hand figures."""

from __future__ import annotations

from datetime import timedelta
from math import sqrt

import numpy as np
import pytest
from hypothesis import given as any_of
from hypothesis import settings
from hypothesis import strategies as st
from msgspec.structs import replace as changed

from readiness.checks.car import foot_places, wheel_places
from readiness.job import WHEELS, Event, Fix
from tests.checks.floors import (
    FEET,
    LASER_U,
    LIMITS,
    NO_TARGETS,
    PLACES,
    columns,
    flat,
    floor,
    heights,
    staffs,
)
from tests.scenes import AT, SHEET, asked, check, given, judged, part

# --- laser and staff -----------------------------------------------------------------------------


@any_of(st.floats(-10, 10), st.floats(-10, 10))
@settings(max_examples=30)
def test_a_tilted_plane_has_its_slopes_and_nothing_else(along, across):
    found = judged(floor(), staffs(flat(along, across)))
    assert part(found, "slope_along").value == pytest.approx(abs(along), abs=1e-5)
    assert part(found, "slope_across").value == pytest.approx(abs(across), abs=1e-5)
    for key in ("flatness", "twist", *(f"target.{f}" for f in FEET)):
        assert part(found, key).value == pytest.approx(0, abs=1e-4)


def test_staff_readings_grow_downwards():
    found = judged(floor(), staffs(flat(along=5.0)))
    assert "(rear low)" in part(found, "slope_along").reason
    assert "under both rear wheels" in part(found, "slope_along").remedy
    assert "13.5 mm" in part(found, "slope_along").remedy  # 5 mm/m over 2.7 m


def test_pl3_four_pads():
    """check-values PL3 (exact, by hand): b = 1/375, c = 1/2700, residuals +1 -1 -1 +1."""
    pads = changed(NO_TARGETS, dimensions=changed(SHEET.dimensions, track_front=1.5, track_rear=1.5))
    found = judged(floor(), staffs({"lr": 0, "rr": 2, "lf": -1, "rf": 5}), sheet=pads)
    assert part(found, "slope_across").value == pytest.approx(1000 / 375)
    assert "(left low)" in part(found, "slope_across").reason
    assert part(found, "slope_along").value == pytest.approx(1000 / 2700)
    assert part(found, "flatness").value == pytest.approx(2.0)
    assert part(found, "twist").value == pytest.approx(4.0)
    assert "left front or right rear corner below" in part(found, "twist").reason


@any_of(heights)
@settings(max_examples=40)
def test_every_number_and_its_u_agree_with_numpy(zs):
    # independent heights of equal u: every part is a linear functional g of them, u = u0 |g|
    z = dict(zip(PLACES, map(float, zs), strict=True))
    found = judged(floor(), staffs(z))
    pinv = np.linalg.pinv(columns(WHEELS))
    _, b, c = pinv @ np.array([z[w] for w in WHEELS])
    for key, value, row in (("slope_along", b, pinv[1]), ("slope_across", c, pinv[2])):
        assert part(found, key).value == pytest.approx(abs(value), abs=1e-6)
        assert part(found, key).u == pytest.approx(LASER_U * np.linalg.norm(row))
    for foot in FEET:
        plane = np.array([1.0, *PLACES[foot]]) @ pinv
        over = z[foot] - plane @ np.array([z[w] for w in WHEELS])
        assert part(found, f"target.{foot}").value == pytest.approx(abs(over), abs=1e-5)
        assert part(found, f"target.{foot}").u == pytest.approx(LASER_U * sqrt(1 + plane @ plane))
    design = columns(PLACES)
    residuals = np.array(list(z.values())) - design @ np.linalg.pinv(design) @ np.array(list(z.values()))
    assert part(found, "flatness").value == pytest.approx(np.ptp(residuals), abs=1e-5)


def test_u_of_flatness_and_twist_agree_with_a_simulation():
    # Monte Carlo (JCGM 101), 20000 draws: standard errors 0.5 %
    z = {"lf": 0.0, "lr": 0.0, "rr": 9.0, "rf": 0.0, "reflector.1": 0.0, "reflector.2": -8.0}
    found = judged(floor(), staffs(z))
    draws = np.array(list(z.values())) + np.random.default_rng(7).normal(0, LASER_U, (20000, 6))
    design = columns(PLACES)
    residuals = draws - draws @ np.linalg.pinv(design).T @ design.T
    mean = np.array(list(z.values()))
    around = mean - design @ np.linalg.pinv(design) @ mean
    flatness = residuals[:, around.argmax()] - residuals[:, around.argmin()]
    assert part(found, "flatness").u == pytest.approx(flatness.std(), rel=0.02)
    # the contact off the plane of the other three: solved for each wheel, the largest deviation counts
    offs = [
        draws[:, i] - draws[:, rest] @ np.linalg.inv(design[rest]).T @ design[i]
        for i in range(4)
        for rest in [[k for k in range(4) if k != i]]
    ]
    worst = max(offs, key=lambda d: abs(d.mean()))
    assert part(found, "twist").value == pytest.approx(abs(worst.mean()), abs=0.05)
    assert part(found, "twist").u == pytest.approx(worst.std(), rel=0.02)


def test_four_wheels_alone_say_that_nothing_between_was_measured():
    found = judged(floor(), staffs(flat(places=wheel_places(SHEET))), sheet=NO_TARGETS)
    assert "at the four wheels (nothing between them was measured)" in part(found, "flatness").reason
    assert "four wheels" not in part(judged(floor(), staffs(flat())), "flatness").reason


def test_a_low_foot_wants_a_plate_and_a_high_one_is_screwed_in():
    found = judged(floor(), staffs({**flat(), "reflector.1": -20.0, "reflector.2": 20.0}))
    assert "20 mm under reflector foot 1" in part(found, "target.reflector.1").remedy
    assert "Screw reflector foot 2 in by 20 mm" in part(found, "target.reflector.2").remedy
    marked = {s.at for s in found.picture if getattr(s, "marked", False)}
    assert {PLACES[f] for f in FEET} <= marked


def test_a_missing_foot_leaves_only_its_own_part_not_done():
    answers = staffs(flat())
    del answers["staff.reflector.2"]
    found = judged(floor(), answers)
    assert [p.key for p in found.parts if p.outcome == "not_done"] == ["target.reflector.2"]


def test_a_missing_wheel_leaves_everything_not_done():
    answers = staffs(flat())
    del answers["staff.rr"]
    assert {p.outcome for p in judged(floor(), answers).parts} == {"not_done"}


def test_nothing_answered_is_not_done_with_a_part_for_every_foot():
    found = judged(floor())
    assert [p.key for p in found.parts] == [
        "slope_along", "slope_across", "flatness", "twist", "target.reflector.1", "target.reflector.2",
    ]  # fmt: skip
    assert {p.outcome for p in found.parts} == {"not_done"}


def test_both_sides_ask_for_the_mirrored_feet_too():
    sides = ("left", "right")
    questions = asked(floor(), {"source": "laser"}, sides=sides)
    assert [k for k in questions if "reflector" in k] == [
        "staff.reflector.1", "staff.reflector.2", "staff.right.reflector.1", "staff.right.reflector.2",
    ]  # fmt: skip
    both = {**wheel_places(SHEET), **foot_places(SHEET, sides)}
    assert both["right.reflector.1"] == (-3.2, -1.5)
    found = judged(floor(), staffs({**flat(places=both), "right.reflector.2": -12.0}, 1000.0), sides=sides)
    assert [p.key for p in found.parts if p.outcome == "fail"] == ["flatness", "target.right.reflector.2"]
    assert "right reflector foot 2" in part(found, "target.right.reflector.2").reason


@any_of(heights)
@settings(max_examples=30)
def test_mirroring_the_floor_mirrors_the_finding(zs):
    # wheels only: the sheet's target stands on one side, its mirror belongs to the other side's job
    z = dict(zip(WHEELS, map(float, zs[:4]), strict=True))
    mirror = {"lf": z["rf"], "lr": z["rr"], "rr": z["lr"], "rf": z["lf"]}
    one, other = (judged(floor(), staffs(h), sheet=NO_TARGETS) for h in (z, mirror))
    for a, b in zip(one.parts, other.parts, strict=True):
        assert (a.key, a.outcome, a.u) == (b.key, b.outcome, pytest.approx(b.u))
        assert a.value == pytest.approx(b.value, abs=1e-6)
    if abs(part(one, "slope_across").value) > 1e-3:
        low = "left" if "(left low)" in part(one, "slope_across").reason else "right"
        assert f"({'right' if low == 'left' else 'left'} low)" in part(other, "slope_across").reason


UNEVEN = staffs({"lf": 0, "lr": 2, "rr": 9, "rf": -3, "reflector.1": 4, "reflector.2": -5})


@any_of(st.permutations(list(UNEVEN.items())))
@settings(max_examples=25)
def test_the_order_of_readings_does_not_matter(items):
    assert judged(floor(), dict(items)) == judged(floor(), UNEVEN)


# --- time and notes ------------------------------------------------------------------------------


def test_hold_time_and_a_moved_car_end_the_finding():
    one = check("floor", LIMITS, hold=30, voided_by=("car_moved",))
    assert {p.outcome for p in judged(one, UNEVEN, now=AT + timedelta(minutes=30)).parts} == {"lapsed"}
    moved = Event(event="car_moved", at=AT + timedelta(minutes=1), by="A. Test")
    assert {p.outcome for p in judged(one, UNEVEN, events=[moved]).parts} == {"lapsed"}


def test_repeats_are_a_series_until_a_fix():
    answers = {**staffs(flat()), "staff.reflector.1": ("1020 mm", "1022 mm", given("1000 mm", minutes=5))}
    assert part(judged(floor(), answers), "target.reflector.1").value == pytest.approx(14.0)
    fix = Fix(check="floor", question="staff.reflector.1", at=AT + timedelta(minutes=4), by="A. Test")
    assert part(judged(floor(), answers, fixes=[fix]), "target.reflector.1").value == pytest.approx(0.0)


def test_din_18202_is_information_and_decides_nothing():
    # DIN 18202 table 3 row 3: 11 mm at 6 m, trade handbook printing (check-values, text seen)
    (note,) = [n for n in judged(floor(), staffs(flat())).details if "DIN" in n]
    assert "11 mm under a line of 6.3 m" in note
    assert "For comparison only" in note


def test_the_height_map_shows_every_place_over_the_plane_of_the_wheels():
    found = judged(floor(), staffs({**flat(along=2.0), "reflector.1": 2.0 * -3.2 - 7.0}))
    labels = {s.at: s.label for s in found.picture if type(s).__name__ == "Spot"}
    assert labels[PLACES["reflector.1"]] == "-7 mm"
    assert labels[PLACES["lf"]] == "0 mm"
    assert set(labels) == set(PLACES.values())


def test_a_target_without_feet_stands_at_its_own_place():
    mat = changed(SHEET, targets=(changed(SHEET.targets[0], id="mat", feet=()),))
    assert foot_places(mat, ("single",)) == {"mat.0": (-3.0, 1.5)}
    assert "staff.mat.0" in asked(floor(), {"source": "laser"}, sheet=mat)

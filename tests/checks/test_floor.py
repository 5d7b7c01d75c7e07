"""Floor against numpy (least squares, covariance), Monte Carlo and hand figures."""

from __future__ import annotations

from datetime import date, timedelta
from math import cos, radians, sin, sqrt

import numpy as np
import pytest
from hypothesis import given as any_of
from hypothesis import settings
from hypothesis import strategies as st
from msgspec.structs import replace as changed

from readiness.checks.car import foot_places, wheel_places
from readiness.checks.heights import WHEEL_RUNS
from readiness.checks.surveyed import PLACING_A
from readiness.job import WHEELS, Event, Fix, Point, Standing, Survey, SurveyPoint
from readiness.measure.surface import root_of
from tests.scenes import AT, BAY, INSTRUMENTS, SHEET, asked, check, given, judged, part

LIMITS = {"slope_along": 3, "slope_across": 3, "flatness": 6, "twist": 4, "target_height": 6}
LASER_U = sqrt(1 / 3 + 0.25 / 12)
"""mm; accuracy 1 mm, resolution 0.5 mm (JCGM 100 4.3.7, F.2.2.1)."""
LEVEL_RESOLUTION_U, LEVEL_ZERO_U = 0.05 / sqrt(12), 0.2 / sqrt(3)
NO_TARGETS = changed(SHEET, targets=())
PLACES = {**wheel_places(SHEET), **foot_places(SHEET, ("single",))}
FEET = ("reflector.1", "reflector.2")


def floor(**limits):
    return check("floor", {**LIMITS, **limits})


def staffs(heights, at=1000.0):
    """Staff readings for heights in mm."""
    return {"source": "laser", **{f"staff.{p}": f"{at - z:.6f} mm" for p, z in heights.items()}}


def flat(along=0.0, across=0.0, places=PLACES):
    return {p: along * x + across * y for p, (x, y) in places.items()}


def columns(names, places=PLACES):
    return np.array([[1.0, *places[n]] for n in names])


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


heights = st.lists(st.integers(-15, 15), min_size=6, max_size=6)


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


# --- level ---------------------------------------------------------------------------------------


def runs(slopes, zero=0.0, one_way=()):
    """Answers of a level with this zero error; `slopes` from run to true mm/m."""
    answers = {"source": "level"}
    for (a, b), s in slopes.items():
        answers[f"run.{a}-{b}.1"] = f"{s + zero:.6f} mm/m"
        if (a, b) not in one_way:
            answers[f"run.{a}-{b}.2"] = f"{-s + zero:.6f} mm/m"
    return answers


def true_slopes(z, places=PLACES, extra=()):
    return {
        (a, b): (z[b] - z[a]) / np.hypot(*np.subtract(places[b], places[a])) for a, b in (*WHEEL_RUNS, *extra)
    }


TO_FEET = (("lr", "reflector.1"), ("lr", "reflector.2"))


@pytest.mark.parametrize(
    ("first", "turned", "slope", "zero"),
    [(1.4, -0.6, 1.0, 0.4), (0.5, 0.5, 0.0, 0.5), (-2.1, 2.3, -2.2, 0.1)],
)
def test_reversal_rows_of_the_check_values(first, turned, slope, zero):
    # check-values, reversal rows RV1 to RV3 (hand): slope (r1 - r2) / 2, zero (r1 + r2) / 2
    even = changed(NO_TARGETS, dimensions=changed(SHEET.dimensions, track_front=1.5, track_rear=1.5))
    answers = {
        "source": "level",
        **{f"run.{run}.{n}": "0 mm/m" for run in ("lr-lf", "rr-rf") for n in (1, 2)},
    }
    for run in ("rf-lf", "rr-lr"):
        answers |= {f"run.{run}.1": f"{first} mm/m", f"run.{run}.2": f"{turned} mm/m"}
    found = judged(floor(), answers, sheet=even)
    assert part(found, "slope_across").value == pytest.approx(abs(slope))
    all_round = {
        k: str({"1": first, "2": turned}[k[-1]]) if k.startswith("run") else v for k, v in answers.items()
    }
    (note,) = [n for n in judged(floor(), all_round, sheet=even).notes if "zero error" in n]
    assert f"{zero:g} mm/m" in note


@any_of(heights, st.floats(-3, 3))
@settings(max_examples=30)
def test_a_level_turned_round_finds_the_floor_whatever_its_zero_error(zs, zero):
    z = dict(zip(PLACES, map(float, zs), strict=True))
    by_level = judged(floor(), runs(true_slopes(z, extra=TO_FEET), zero))
    by_laser = judged(floor(), staffs(z))
    for a, b in zip(by_level.parts, by_laser.parts, strict=True):
        assert (a.key, a.value) == (b.key, pytest.approx(b.value, abs=1e-4))


def net_covariance(one_way=False):
    """Heights of lf, lr, rr, rf against lf by weighted least squares, with numpy alone.

    Read one way, the zero error of the level is an unknown of which its accuracy is an observation.
    """
    lengths = np.array([np.hypot(*np.subtract(PLACES[b], PLACES[a])) for a, b in WHEEL_RUNS])
    reading = LEVEL_RESOLUTION_U if one_way else LEVEL_RESOLUTION_U / sqrt(2)
    us = np.sqrt((reading * lengths) ** 2 + 2 * PLACING_A**2 / 3)
    free = ["lr", "rr", "rf"]
    design = np.array([[(n == b) - (n == a) for n in free] for a, b in WHEEL_RUNS], float)
    design = np.column_stack([design, lengths if one_way else np.zeros(4)])
    design, us = np.vstack([design, [0, 0, 0, 1]]), np.append(us, LEVEL_ZERO_U)
    full = np.zeros((4, 4))
    full[1:, 1:] = np.linalg.inv(design.T @ np.diag(us**-2.0) @ design)[:3, :3]
    return full


@pytest.mark.parametrize("one_way", [False, True])
def test_uncertainty_of_the_net_agrees_with_numpy(one_way):
    still = true_slopes(dict.fromkeys(WHEELS, 0.0), places=PLACES)
    found = judged(floor(), runs(still, one_way=WHEEL_RUNS if one_way else ()), sheet=NO_TARGETS)
    cov = net_covariance(one_way)
    pinv = np.linalg.pinv(columns(WHEELS))
    for key, g in (("slope_along", pinv[1]), ("slope_across", pinv[2])):
        assert part(found, key).u == pytest.approx(sqrt(g @ cov @ g), rel=1e-6)


def test_one_way_keeps_the_zero_error_and_says_so():
    still = true_slopes(dict.fromkeys(WHEELS, 0.0))
    both, once = (judged(floor(), runs(still, one_way=o), sheet=NO_TARGETS) for o in ((), WHEEL_RUNS))
    assert (
        part(once, "slope_across").u > LEVEL_ZERO_U
    )  # the same level on both axles: it does not average out
    assert part(both, "slope_across").u < part(once, "slope_across").u
    assert part(once, "twist").u < 2 * part(both, "twist").u  # a common zero error twists nothing
    assert any("Read one way only" in n for n in once.notes)
    assert any("zero error of" in n for n in judged(floor(), runs(still, 0.4), sheet=NO_TARGETS).notes)


def test_a_misread_run_opens_the_loop_and_is_named():
    answers = runs(true_slopes(dict.fromkeys(WHEELS, 0.0)), 0.3)
    answers["run.rr-lr.1"] = "6.3 mm/m"
    found = judged(floor(), answers, sheet=NO_TARGETS)
    assert part(found, "loop").outcome == "not_done"
    assert "right rear to left rear give the level a zero error of +3.3 mm/m" in part(found, "loop").reason
    assert "the others give +0.3 mm/m" in part(found, "loop").reason  # by hand: (6.3 + 0.3) / 2 and 0.3


def test_turning_the_level_elsewhere_tells_the_zero_error_of_a_run_read_one_way():
    z = dict(zip(WHEELS, (0, 4, -3, 5), strict=True))
    partly = judged(floor(), runs(true_slopes(z, extra=()), 1.5, one_way=[("lr", "lf")]), sheet=NO_TARGETS)
    laser = judged(floor(), staffs(z), sheet=NO_TARGETS)
    for a, b in zip(partly.parts, laser.parts, strict=True):
        assert (a.key, a.value) == (b.key, pytest.approx(b.value, abs=1e-4))
    assert any("Read one way only; the zero error that turning" in n for n in partly.notes)
    assert any("more than its accuracy" in n for n in partly.notes)  # 1.5 against 0.2 mm/m


def test_a_closed_loop_has_no_part_of_its_own():
    found = judged(floor(), runs(true_slopes(dict.fromkeys(WHEELS, 0.0))), sheet=NO_TARGETS)
    assert "loop" not in {p.key for p in found.parts}


def test_runs_go_to_each_foot_from_the_nearest_wheel():
    questions = asked(floor(), {"source": "level"})
    assert [k for k in questions if "reflector" in k] == [f"run.lr-{f}.{n}" for f in FEET for n in (1, 2)]
    assert questions["run.lr-reflector.1.2"].optional
    assert not questions["run.lr-reflector.1.1"].optional


def test_root_of_a_covariance_is_that_of_numpy():
    cov = net_covariance()[1:, 1:]
    assert np.array(root_of(cov.tolist())) == pytest.approx(np.linalg.cholesky(cov))


# --- survey --------------------------------------------------------------------------------------


def surveyed(height, xs=(-4, -2, 0, 2, 4), ys=(-2, 0, 2), standing=None, **more):
    """A bay with a survey of `height(x, y)` in car axes at a grid of places in car axes."""
    s = standing or Standing(x=0.0, y=0.0)
    c, n = cos(radians(s.heading)), sin(radians(s.heading))
    points = tuple(
        SurveyPoint(name=f"p{i}", x=s.x + c * x - n * y, y=s.y + n * x + c * y, height=height(x, y))
        for i, (x, y) in enumerate((x, y) for x in xs for y in ys)
    )
    survey = Survey(
        **{"date": date(2026, 1, 15), "by": "B. Test", "instrument": "laser", "points": points, **more}
    )
    return changed(BAY, survey=survey, standing=s)


HOLDS = {"source": "survey", "survey_holds": "y"}


@any_of(st.floats(-5, 5), st.floats(-5, 5), st.floats(0, 360), st.floats(-3, 3))
@settings(max_examples=30)
def test_a_survey_serves_wherever_and_whichever_way_round_the_car_stands(along, across, heading, shift):
    bay = surveyed(lambda x, y: along * x + across * y, standing=Standing(x=shift, y=-shift, heading=heading))
    found = judged(floor(), HOLDS, bay=bay)
    assert part(found, "slope_along").value == pytest.approx(abs(along), abs=1e-8)
    assert part(found, "slope_across").value == pytest.approx(abs(across), abs=1e-8)
    for key in ("flatness", "twist", "target.reflector.1"):
        assert part(found, key).value == pytest.approx(0.0, abs=1e-8)


def test_points_at_the_wheels_give_the_same_as_the_laser():
    z = dict(zip(PLACES, (0, 2, 5, -3, 4, -4), strict=True))
    points = tuple(SurveyPoint(name=p, x=PLACES[p][0], y=PLACES[p][1], height=h) for p, h in z.items())
    bay = surveyed(lambda x, y: 0.0, points=points)
    by_survey, by_laser = judged(floor(), HOLDS, bay=bay), judged(floor(), staffs(z))
    for a, b in zip(by_survey.parts, by_laser.parts, strict=True):
        assert (a.key, a.value, a.u) == (b.key, pytest.approx(b.value, abs=1e-5), pytest.approx(b.u))


def test_a_place_between_points_is_less_certain_on_an_uneven_floor():
    even, uneven = (surveyed(lambda x, y, k=k: k * ((x / 2 + y / 2) % 2)) for k in (0.0, 6.0))
    assert (
        part(judged(floor(), HOLDS, bay=uneven), "slope_along").u
        > part(judged(floor(), HOLDS, bay=even), "slope_along").u
    )


def test_three_points_never_prove_flatness():
    bay = surveyed(lambda x, y: 0.0, xs=(0, 3), ys=(-1, 1))
    three = changed(bay, survey=changed(bay.survey, points=bay.survey.points[:3]))
    found = judged(floor(), HOLDS, bay=three)
    for key in ("flatness", "twist"):
        assert part(found, key).outcome == "not_done"
        assert "not tested: three points always lie in a plane" in part(found, key).reason
    assert part(found, "slope_along").outcome == "pass"


def test_points_on_a_line_cannot_serve():
    found = judged(floor(), HOLDS, bay=surveyed(lambda x, y: 0.0, ys=(0,)))
    assert {p.outcome for p in found.parts} == {"not_done"}
    assert "on one line" in found.parts[0].reason


def test_a_foot_beyond_the_points_is_said_to_be_extrapolated():
    near = judged(floor(), HOLDS, bay=surveyed(lambda x, y: 0.0, xs=(-1, 0, 1, 2, 3)))
    assert "(beyond the surveyed points)" in part(near, "target.reflector.1").reason
    wide = judged(floor(), HOLDS, bay=surveyed(lambda x, y: 0.0))
    assert "(between surveyed points)" in part(wide, "target.reflector.1").reason
    assert part(near, "target.reflector.1").u > part(wide, "target.reflector.1").u


@pytest.mark.parametrize("xs", [(-1.5, 0, 1.3, 2.7), (-5, -1.5, 0, 1.3, 2.7)], ids=["beyond", "between"])
def test_u_of_a_foot_covers_what_an_uneven_floor_does_beyond_the_points_and_between(xs):
    # simulation with numpy: every place off the plane by its own normal 2 mm; the wheels stand on points
    rng = np.random.default_rng(5)
    sheet = changed(SHEET, targets=(changed(SHEET.targets[0], feet=(Point(x=-3.0, y=1.5),)),))
    errors, claimed = [], []
    for _ in range(200):
        bay = surveyed(lambda x, y: rng.normal(0, 2), xs=xs, ys=(-0.77, 0.77, 2.2))
        at = part(judged(floor(), HOLDS, sheet=sheet, bay=bay), "target.reflector.1")
        z = {(p.x, p.y): p.height for p in bay.survey.points}
        wheels = np.array([(1.0, *PLACES[w]) for w in WHEELS])
        plane, *_ = np.linalg.lstsq(
            wheels, [z[x, 0.77 if y > 0 else -0.77] for _, x, y in wheels], rcond=None
        )
        true = rng.normal(0, 2) - plane @ [1, -3.0, 1.5]
        errors.append(at.value * (1 if ", over" in at.reason else -1) - true)
        claimed.append(at.u)
    assert np.sqrt(np.mean(np.square(claimed))) == pytest.approx(np.sqrt(np.mean(np.square(errors))), rel=0.2)


def test_a_survey_made_with_a_laser_out_of_date_cannot_serve():
    # ISO 10012 7.1: equipment past its date is not confirmed for use (from memory)
    late = {**INSTRUMENTS, "laser": changed(INSTRUMENTS["laser"], due=date(2026, 1, 14))}
    found = judged(floor(), HOLDS, bay=surveyed(lambda x, y: 0.0), instruments=late)
    assert {p.outcome for p in found.parts} == {"not_done"}
    assert "due for calibration on 2026-01-14" in found.parts[0].reason
    last_day = {**INSTRUMENTS, "laser": changed(INSTRUMENTS["laser"], due=date(2026, 1, 15))}
    again = judged(floor(), HOLDS, bay=surveyed(lambda x, y: 0.0), instruments=last_day)
    assert part(again, "slope_along").outcome == "pass"


def test_an_old_survey_has_lapsed_and_is_no_longer_offered_first():
    old = surveyed(lambda x, y: 0.0, renew_after=30)
    found = judged(floor(), HOLDS, bay=old)
    assert {p.outcome for p in found.parts} == {"lapsed"}
    assert "2026-01-15" in found.parts[0].reason
    assert asked(floor(), bay=old)["source"].default == ""
    assert asked(floor(), bay=surveyed(lambda x, y: 0.0))["source"].default == "survey"


@pytest.mark.parametrize(
    ("answers", "more", "words"),
    [
        ({"source": "survey", "survey_holds": "n"}, {}, "does not hold"),
        ({"source": "survey"}, {}, "not read yet"),
        (HOLDS, {"instrument": "lost"}, "made with lost"),
    ],
)
def test_a_survey_that_cannot_serve_is_not_done_and_says_why(answers, more, words):
    found = judged(floor(), answers, bay=surveyed(lambda x, y: 0.0, **more))
    assert {p.outcome for p in found.parts} == {"not_done"}
    assert words in found.parts[0].reason


def test_a_bay_without_a_survey_does_not_offer_one():
    assert [c.value for c in asked(floor())["source"].choices] == ["laser", "level"]
    assert (
        "2026-01-15"
        in asked(floor(), {"source": "survey"}, bay=surveyed(lambda x, y: 0))["survey_holds"].label
    )


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
    (note,) = judged(floor(), staffs(flat())).notes
    assert "11 mm under a line of 6.3 m" in note
    assert "For comparison only" in note


def test_the_height_map_shows_every_place_over_the_plane_of_the_wheels():
    found = judged(floor(), staffs({**flat(along=2.0), "reflector.1": 2.0 * -3.2 - 7.0}))
    labels = {s.at: s.label for s in found.picture if type(s).__name__ == "Spot"}
    assert labels[PLACES["reflector.1"]] == "-7 mm"
    assert labels[PLACES["lf"]] == "+0 mm"
    assert set(labels) == set(PLACES.values())


def test_a_target_without_feet_stands_at_its_own_place():
    mat = changed(SHEET, targets=(changed(SHEET.targets[0], id="mat", feet=()),))
    assert foot_places(mat, ("single",)) == {"mat.0": (-3.0, 1.5)}
    assert "staff.mat.0" in asked(floor(), {"source": "laser"}, sheet=mat)

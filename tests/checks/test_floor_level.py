"""Floor by a level laid from place to place, against numpy and hand figures."""

from __future__ import annotations

from math import sqrt

import numpy as np
import pytest
from hypothesis import given as any_of
from hypothesis import settings
from hypothesis import strategies as st
from msgspec.structs import replace as changed

from readiness.checks.floor.heights import WHEEL_RUNS
from readiness.checks.floor.surveyed import PLACING_A
from readiness.job import WHEELS
from tests.checks.floors import (
    FEET,
    LEVEL_READ_U,
    LEVEL_ZERO_U,
    NO_TARGETS,
    PLACES,
    TO_FEET,
    columns,
    floor,
    heights,
    runs,
    staffs,
    true_slopes,
)
from tests.scenes import INSTRUMENTS, SHEET, asked, judged, part

# --- level ---------------------------------------------------------------------------------------


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
    reading = LEVEL_READ_U if one_way else LEVEL_READ_U / sqrt(2)
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


def test_a_misread_run_is_named_with_what_would_agree():
    answers = runs(true_slopes(dict.fromkeys(WHEELS, 0.0)), 0.3)
    answers["run.rr-lr.1"] = "6.3 mm/m"
    found = judged(floor(), answers, sheet=NO_TARGETS)
    assert part(found, "loop").outcome == "fail"
    assert {p.outcome for p in found.parts if p.key != "loop"} == {
        "not_done"
    }  # nothing is said of a floor misread
    assert "first reading of right rear to left rear" in part(found, "loop").reason
    assert (
        "about +0.3 mm/m would agree" in part(found, "loop").reason
    )  # twice the zero of 0.3, less the other 0.3


def test_a_second_reading_typed_with_the_wrong_sign_is_caught():
    z = dict(zip(WHEELS, (0, 6, -3, 8), strict=True))
    answers = runs(true_slopes(z), 0.3)
    right = answers["run.rr-lr.2"]
    answers["run.rr-lr.2"] = right.removeprefix("-") if right.startswith("-") else f"-{right}"
    found = judged(floor(), answers, sheet=NO_TARGETS)
    said = part(found, "loop").reason
    assert "second reading of right rear to left rear looks as if typed with the wrong sign" in said
    assert f"{float(right.split()[0]):+.2f}".rstrip("0") in said
    assert "loop" not in {
        p.key for p in judged(floor(), {**answers, "run.rr-lr.2": right}, sheet=NO_TARGETS).parts
    }


def off(answers, run, by):
    """Both readings of a run changed alike by a wrong slope: the zero error of the level stays as it was."""
    first, turned = (float(answers[f"run.{run}.{n}"].split()[0]) for n in (1, 2))
    return {**answers, f"run.{run}.1": f"{first + by:.6f} mm/m", f"run.{run}.2": f"{turned - by:.6f} mm/m"}


def test_a_walk_that_does_not_close_asks_for_a_diagonal_and_that_for_two_runs():
    # a foot on a stone: one loop cannot tell which run is wrong, two triangles can tell the two that share none
    z = dict(zip(WHEELS, (0, 4, -3, 5), strict=True))
    answers = off(runs(true_slopes(z), 0.1), "rr-lr", 6.0)
    said = part(judged(floor(), answers, sheet=NO_TARGETS), "loop").reason
    assert "misses its start by 9.2 mm" in said  # by hand: 6 mm/m over 1.53 m
    assert "read the diagonal right front to left rear" in said
    questions = asked(floor(), answers, sheet=NO_TARGETS)
    assert questions["run.lr-rf.1"].optional
    across = runs(true_slopes(z, extra=[("lr", "rf")]), 0.1)
    both = {**answers, **{k: v for k, v in across.items() if "lr-rf" in k}}
    said = part(judged(floor(), both, sheet=NO_TARGETS), "loop").reason
    assert "right rear to left rear and right rear to right front is wrong" in said
    assert "left front" not in said


def test_no_diagonal_is_asked_for_where_the_runs_close():
    assert not any(
        "rr-lf" in k or "lr-rf" in k for k in asked(floor(), runs(true_slopes(dict.fromkeys(WHEELS, 0.0))))
    )


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


def test_a_level_said_to_be_exact_serves_too():
    exact = {**INSTRUMENTS, "level": changed(INSTRUMENTS["level"], accuracy="0 mm/m", resolution="0 mm/m")}
    once = runs(true_slopes(dict.fromkeys(WHEELS, 0.0)), one_way=WHEEL_RUNS)
    found = judged(floor(), once, sheet=NO_TARGETS, instruments=exact)
    assert {p.outcome for p in found.parts} == {"pass"}
    assert part(found, "slope_along").u > PLACING_A / 10  # its feet still stand on a rough floor

"""Centre marks against plane geometry, the `uncertainties` library, numpy and hand figures."""

from __future__ import annotations

from datetime import timedelta
from math import atan, degrees, dist, sqrt

import numpy as np
import pytest
from hypothesis import given as any_of
from hypothesis import strategies as st
from msgspec.structs import replace as changed
from uncertainties import ufloat, umath

from readiness.checks.centre_marks import offsets
from readiness.job import Event, Fix
from tests.scenes import AT, INSTRUMENTS, NOW, SHEET, asked, check, given, judged, part, scene

LIMITS = {"yaw": 0.3, "shift": 8}
TAPE_U = sqrt(1 / 3 + 1 / 12)
"""mm; accuracy 1 mm as 1/sqrt 3 and resolution 1 mm as 1/(2 sqrt 3) (JCGM 100 4.3.7, F.2.2.1)."""


RIMS_U = 60 / sqrt(3)
"""mm; the outer edges of the rims lie 210 mm farther apart than the track, within 60 mm, rectangular (JCGM 100
4.3.7; widths of rims from memory)."""
RIMS_F, RIMS_R = 1550 + 210, 1530 + 210


def off(left, right, track):
    """How far left a mark lies, from the triangle of the mark and the two rims (Pythagoras)."""
    return (right**2 - left**2) / (2 * track)


def tapes(front_left, front_right, rear_left, rear_right):
    return {"front.left": f"{front_left} mm", "front.right": f"{front_right} mm",
            "rear.left": f"{rear_left} mm", "rear.right": f"{rear_right} mm"}  # fmt: skip


def marks(**limits):
    return check("centre_marks", {**LIMITS, **limits})


def test_a_mark_nearer_the_left_wheel_lies_left_and_turns_the_line_left():
    # by hand: tapes of 874 and 886 mm and rims 1760 mm apart: 12 * 1760 / (2 * 1760) = 6 mm left at the
    # front, none at the rear, marks 4.5 m apart
    found = judged(marks(), tapes(874, 886, 870, 870))
    assert part(found, "yaw").value == pytest.approx(degrees(atan(6 / 4500)))
    assert "The front mark lies 6 mm left of the middle between the wheels." in found.notes
    line = next(s for s in found.picture if type(s).__name__ == "Line")
    assert line.points == ((3.55, pytest.approx(0.006)), (-0.95, pytest.approx(0.0)))


@pytest.mark.parametrize("ahead", [0, 300, 850, 1100])
@pytest.mark.parametrize(("front", "rear"), [(8, 0), (-8, 5), (12, 12), (0, -10)])
def test_a_tape_that_runs_slantwise_to_the_wheels_finds_the_mark_all_the_same(ahead, front, rear):
    # plane geometry: rims at x = 0, half their distance to either side; the mark `ahead` of them
    def tape(y, track):
        return [f"{dist((ahead, y), (0, side * track / 2)):.4f}" for side in (1, -1)]

    found = judged(marks(), tapes(*tape(front, RIMS_F), *tape(rear, RIMS_R)))
    line = next(s for s in found.picture if type(s).__name__ == "Line")
    assert [y for _, y in line.points] == pytest.approx([front / 1000, rear / 1000], abs=1e-6)
    assert part(found, "yaw").value == pytest.approx(abs(degrees(atan((front - rear) / 4500))), abs=1e-5)


def test_a_mark_nearer_the_right_wheel_lies_right():
    found = judged(marks(), tapes(880, 880, 876, 864))
    assert "The rear mark lies 6 mm right of the middle between the wheels." in found.notes


def test_marks_off_alike_shift_the_line_and_do_not_turn_it():
    found = judged(marks(shift=3), tapes(875, 885, 865, 875))
    assert part(found, "yaw").value == pytest.approx(0.0)
    assert part(found, "shift").value == pytest.approx(5.0)
    assert part(found, "shift").outcome == "fail"
    remedy = part(found, "shift").remedy
    for end in ("front", "rear"):  # each tape of 10 mm difference: 5 mm, both marks alike
        assert f"a point 5 mm to the right of the {end} mark" in remedy
    assert part(found, "shift").reason.startswith("Shift at the reflector, centre line to the left, is 5 mm")


def test_shift_counts_at_the_target_as_a_straight_line_through_the_marks_says():
    # numpy.polyfit as the second opinion; target at x = -3.0 m
    found = judged(marks(), tapes(874, 886, 868, 872))
    line = np.polyfit([3.55, -0.95], [6.0, 2.0], 1)
    assert part(found, "shift").value == pytest.approx(abs(np.polyval(line, -3.0)))
    assert "at the reflector" in part(found, "shift").reason


def test_without_a_target_the_shift_counts_at_the_rear_axle():
    found = judged(marks(), tapes(874, 886, 868, 872), sheet=changed(SHEET, targets=()))
    line = np.polyfit([3.55, -0.95], [6.0, 2.0], 1)
    assert part(found, "shift").value == pytest.approx(np.polyval(line, 0.0))
    assert "rear axle" in part(found, "shift").reason


def test_uncertainty_agrees_with_the_uncertainties_library():
    found = judged(marks(), tapes(700, 712, 650, 655))
    fl, fr, rl, rr = (ufloat(v, TAPE_U) for v in (700, 712, 650, 655))
    front = off(fl, fr, ufloat(RIMS_F, RIMS_U))
    rear = off(rl, rr, ufloat(RIMS_R, RIMS_U))
    yaw = umath.degrees(umath.atan((front - rear) / 4500))
    shift = rear + (front - rear) * (-3.0 + 0.95) / 4.5
    assert part(found, "yaw").u == pytest.approx(yaw.s, rel=5e-3)
    assert part(found, "shift").value == pytest.approx(abs(shift.n))
    assert part(found, "shift").u == pytest.approx(shift.s, rel=5e-3)


def test_the_worst_of_several_targets_decides_the_shift():
    near = SHEET.targets[0]
    far = changed(near, id="board", at=changed(near.at, x=-9.0))
    found = judged(marks(), tapes(700, 712, 650, 650), sheet=changed(SHEET, targets=(near, far)))
    assert "at the board" in part(found, "shift").reason


def test_a_missing_tape_reading_leaves_both_parts_not_done():
    answers = tapes(700, 712, 650, 655)
    del answers["rear.right"]
    found = judged(marks(), answers)
    assert {p.outcome for p in found.parts} == {"not_done"}


def test_a_tape_without_an_instrument_cannot_be_judged():
    answers = {**tapes(700, 700, 650, 650), "rear.right": given("650 mm", instrument="")}
    found = judged(marks(), answers)
    assert "no instrument" in part(found, "yaw").reason


def test_readings_lapse_with_the_hold_time():
    one = check("centre_marks", LIMITS, hold=30)
    late = AT + timedelta(minutes=31)
    assert {p.outcome for p in judged(one, tapes(700, 700, 650, 650), now=late).parts} == {"lapsed"}
    soon = AT + timedelta(minutes=29)
    assert {p.outcome for p in judged(one, tapes(700, 700, 650, 650), now=soon).parts} == {"pass"}


def test_moving_the_car_voids_the_readings():
    one = check("centre_marks", LIMITS, voided_by=("car_moved",))
    moved = Event(event="car_moved", at=AT + timedelta(minutes=1), by="A. Test")
    assert {p.outcome for p in judged(one, tapes(700, 700, 650, 650), events=[moved]).parts} == {"lapsed"}


def test_repeat_readings_count_as_their_mean_and_their_spread_widens_u():
    # three readings 712, 713, 714: mean 713, s = 1 (statistics by hand), s / sqrt 3
    answers = {**tapes(700, 0, 650, 650), "front.right": ("712 mm", "713 mm", "714 mm")}
    found = judged(marks(), answers)
    assert part(found, "yaw").value == pytest.approx(degrees(atan(off(700, 713, RIMS_F) / 4500)))
    right = ufloat(713, sqrt(TAPE_U**2 + 1 / 3))
    fl, rl, rr = (ufloat(v, TAPE_U) for v in (700, 650, 650))
    front, rear = off(fl, right, ufloat(RIMS_F, RIMS_U)), off(rl, rr, ufloat(RIMS_R, RIMS_U))
    yaw = umath.degrees(umath.atan((front - rear) / 4500))
    assert part(found, "yaw").u == pytest.approx(yaw.s, rel=5e-3)


def test_another_point_as_the_mark_wants_both_its_tapes_read_anew():
    """A fix of 'front' ends both front readings: a tape from the old mark must not meet one from the new."""
    assert {q.fix for k, q in asked(marks()).items() if k.startswith("front.")} == {"front"}
    fix = Fix(check="centre_marks", question="front", at=AT + timedelta(minutes=2), by="A. Test")
    one = {
        **tapes(770, 780, 760, 760),
        "front.left": ("770 mm", given("775 mm", minutes=3)),
    }
    found = judged(marks(), one, fixes=[fix])
    assert {p.outcome for p in found.parts} == {"not_done"}
    both = {**one, "front.right": ("780 mm", given("775 mm", minutes=3))}
    assert part(judged(marks(), both, fixes=[fix]), "yaw").value == pytest.approx(0.0)


def test_a_fix_starts_a_new_series():
    answers = {**tapes(700, 0, 650, 650), "front.right": ("760 mm", given("702 mm", minutes=3))}
    fix = Fix(check="centre_marks", question="front.right", at=AT + timedelta(minutes=2), by="A. Test")
    moved = degrees(atan(off(700, 702, RIMS_F) / 4500))
    assert part(judged(marks(), answers, fixes=[fix]), "yaw").value == pytest.approx(moved)
    assert part(judged(marks(), answers), "yaw").value > 0.1


def test_a_limit_finer_than_the_tape_is_said_to_be_undecidable():
    found = judged(marks(shift=0.5), tapes(700, 700, 650, 650))
    assert part(found, "shift").outcome == "too_close"
    assert "No reading could pass" in part(found, "shift").reason


def test_four_questions_front_first():
    assert list(asked(marks())) == ["front.left", "front.right", "rear.left", "rear.right"]


distance = st.integers(500, 900)


@any_of(distance, distance, distance, distance)
def test_mirroring_left_and_right_mirrors_the_line_and_changes_no_outcome(fl, fr, rl, rr):
    one, other = judged(marks(), tapes(fl, fr, rl, rr)), judged(marks(), tapes(fr, fl, rr, rl))
    for a, b in zip(one.parts, other.parts, strict=True):
        assert (a.outcome, a.value, a.u) == (b.outcome, pytest.approx(b.value), pytest.approx(b.u))
    line, back = (next(s for s in j.picture if type(s).__name__ == "Line") for j in (one, other))
    assert [(x, pytest.approx(-y)) for x, y in line.points] == list(back.points)


@any_of(st.permutations(list(tapes(700, 712, 650, 655).items())))
def test_the_order_of_readings_does_not_matter(items):
    assert judged(marks(), dict(items)) == judged(marks(), tapes(700, 712, 650, 655))


def test_default_scene_is_what_these_tests_assume():
    assert (SHEET.marks.front, SHEET.marks.rear, SHEET.targets[0].at.x) == (3.55, -0.95, -3.0)
    assert (INSTRUMENTS["tape"].accuracy, INSTRUMENTS["tape"].resolution) == ("1 mm", "1 mm")
    assert NOW > AT


# --- offsets, for the checks that build on the line ------------------------------------------------


def test_offsets_name_their_errors_and_share_what_is_shared():
    front, rear = offsets(scene(marks(), tapes(700, 712, 650, 655)))
    assert set(front.effects) == {"front mark, left tape", "front mark, right tape", "front rims"}
    assert set(rear.effects) == {"rear mark, left tape", "rear mark, right tape", "rear rims"}
    fl, fr, b = ufloat(700, TAPE_U), ufloat(712, TAPE_U), ufloat(RIMS_F, RIMS_U)
    expected = off(fl, fr, b)
    assert front.value == pytest.approx(expected.n)
    assert front.u == pytest.approx(expected.s, rel=1e-9)
    sizes = {e: abs(size) for e, size in front.effects.items()}
    parts = dict(
        zip(("front mark, left tape", "front mark, right tape", "front rims"), (fl, fr, b), strict=True)
    )
    for name, variable in parts.items():  # the derivatives that the library finds
        assert sizes[name] == pytest.approx(abs(expected.derivatives[variable] * variable.s), rel=1e-9)


@any_of(st.floats(-40, 40), st.floats(-40, 40))
def test_mirroring_left_and_right_mirrors_the_offsets(front, rear):
    one = offsets(scene(marks(), tapes(700, round(700 + front, 3), 650, round(650 + rear, 3))))
    other = offsets(scene(marks(), tapes(round(700 + front, 3), 700, round(650 + rear, 3), 650)))
    for a, b in zip(one, other, strict=True):
        assert a.value == pytest.approx(-b.value, abs=1e-9)
        assert a.u == pytest.approx(b.u)


def test_offsets_need_all_four_tapes():
    answers = tapes(700, 712, 650, 655)
    del answers["rear.left"]
    assert offsets(scene(marks(), answers)) is None

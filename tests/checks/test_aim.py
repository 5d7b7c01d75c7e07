"""Aim through whole visits: what is typed for floor, marks, tyres and ride heights against numpy and scipy
(tests/measure/aims.py) and figures by hand."""

from __future__ import annotations

import re
from datetime import timedelta
from math import degrees, hypot, radians, sqrt, tan

import numpy as np
import pytest
from hypothesis import given as any_of
from hypothesis import settings
from hypothesis import strategies as st
from msgspec.structs import replace as changed

from readiness.checks import kinds
from readiness.checks.finding import demanded as demanded_of
from readiness.checks.finding import find
from readiness.checks.floor.heights import WHEEL_RUNS
from readiness.checks.picture import Line, Spot
from readiness.job import (
    WHEELS,
    AimTolerance,
    AxleLoads,
    Event,
    Origin,
    Place,
    Point,
    RideHeights,
    Sensor,
    Springs,
    Survey,
    SurveyPoint,
    Target,
    Waiver,
)
from readiness.measure.aim import Geometry
from readiness.measure.attitude import shift_at
from readiness.units import show
from tests.measure.aims import seen
from tests.scenes import AT, BAY, NOW, SHEET, SHOP, asked, check, part, visit

RIMS = {"front": 1.76, "rear": 1.74}
"""m; the outer edges of the rims are 210 mm farther apart than the track."""
WHEEL_AT = {"lf": (2.7, 0.775), "lr": (0.0, 0.765), "rr": (0.0, -0.765), "rf": (2.7, -0.775)}
LASER_U = sqrt(1 / 3 + 0.25 / 12)
TAPE_U = sqrt(1 / 3 + 1 / 12)
RADIUS = (25.4 * 16 + 2 * 205 * 55 / 100) / 2000
"""m; 205/55 R16 by its size code."""

FLOOR = check(
    "floor", {"slope_along": 9, "slope_across": 9, "flatness": 30, "twist": 30, "target_height": 30},
    voided_by=("car_moved",), hold=480.0,
)  # fmt: skip
MARKS = check("centre_marks", {"yaw": 5, "shift": 100})
TYRES = check("tyres", {"pressure_below": 5, "pressure_above": 15, "side_difference": 10, "least_tread": 2,
                        "tread_difference": 2})  # fmt: skip
STANCE = check("stance", {"height": 40, "roll": 4, "pitch": 3, "warp": 40}, if_applicable=True)
AIM = check("aim", per_side=True, hold=720.0)
CHECKS = (FLOOR, MARKS, TYRES, STANCE, AIM)


def sheet(azimuth=0.5, elevation=0.5, **more):
    """A front radar 2.6 m before a plate on three feet, in axes of the rear axle."""
    tolerance = None if azimuth is elevation is None else AimTolerance(azimuth=azimuth, elevation=elevation)
    changes = {
        "sensors": (Sensor(id="radar", at=Place(x=3.4, y=0.0, z=0.5), tolerance=tolerance),),
        "targets": (Target(id="plate", at=Place(x=6.0, y=0.0, z=0.5), feet=FEET),),
        "axle_loads": AxleLoads(front=800.0, rear=700.0),
        **more,
    }
    return changed(SHEET, **changes)


FEET = (Point(x=6.0, y=0.5), Point(x=6.0, y=-0.5), Point(x=6.4, y=0.0))
HEIGHTS = {"lf": 390, "lr": 380, "rr": 380, "rf": 390}
TYPED = {"lf": 230, "lr": 250, "rr": 250, "rf": 230}


def tape(end, off, side):
    """From a centre mark that is `off` mm left to the rim, which is 0.85 or 0.95 m along from it."""
    along = 850.0 if end == "front" else 950.0
    half = RIMS[end] * 500.0
    return hypot(along, half - off if side == "left" else half + off)


def answers(floor=None, marks=(0.0, 0.0), pressures=TYPED, heights=HEIGHTS, feet=3, foot="plate", aim=None):
    """What is typed in a whole visit; None leaves a check unanswered."""
    floor = {
        **dict.fromkeys(WHEELS, 0.0),
        **{f"{foot}.{n}": 0.0 for n in range(1, feet + 1)},
        **(floor or {}),
    }
    given = {
        "floor": {"source": "laser", **{f"staff.{p}": f"{1500 - z:.4f} mm" for p, z in floor.items()}},
        "centre_marks": {
            f"{end}.{side}": f"{tape(end, off, side):.5f} mm"
            for end, off in zip(("front", "rear"), marks or (0, 0), strict=True)
            for side in ("left", "right")
        },
        "tyres": {
            "parked": "stood", "air": "20 C", "sizes": "y",
            **{f"pressure.{w}": f"{p} kPa" for w, p in (pressures or {}).items()},
        },
        "stance": {f"height.{w}": f"{h:.4f} mm" for w, h in (heights or {}).items()},
    }  # fmt: skip
    absent = {"centre_marks": marks, "tyres": pressures, "stance": heights}
    kept = {k: v for k, v in given.items() if absent.get(k, True) is not None}
    return {**kept, ("aim", "single"): aim or {}}


def judged(readings=None, one=None, now=NOW, side="single", checks=CHECKS, **more):
    """What the aim says of a whole visit."""
    made = visit(*checks, readings=answers() if readings is None else readings, sheet=one or sheet(),
                 sides=(side,), now=now, **more)  # fmt: skip
    return kinds()["aim"].judge(made.scene(AIM, side, now), AIM.limits)


def geometry(one, *, mirror=1.0, origin_x=0.0):
    """The same by hand; the data structure only holds the numbers."""
    sensor, target = one.sensors[0].at, one.targets[0]
    return Geometry(
        (sensor.x, mirror * sensor.y, sensor.z), (target.at.x, mirror * target.at.y, target.at.z),
        tuple((f.x, mirror * f.y) for f in target.feet), tuple(WHEEL_AT[c] for c in ("lf", "lr", "rr", "rf")),
        (3.55, -0.95), RADIUS, origin_x, target.stand,
    )  # fmt: skip


mm = st.floats(-12, 12)


# --- against numpy and scipy ---------------------------------------------------------------------


@any_of(st.lists(mm, min_size=7, max_size=7), st.tuples(mm, mm), st.lists(mm, min_size=4, max_size=4))
@settings(max_examples=25)
def test_what_is_typed_arrives_with_its_signs(floor, marks, body):
    heights = {w: HEIGHTS[w] + b for w, b in zip(WHEELS, body, strict=True)}
    names = [*WHEELS, "plate.1", "plate.2", "plate.3"]
    found = judged(answers(dict(zip(names, floor, strict=True)), marks, heights=heights))
    raw = {f"floor.{w}": z for w, z in zip(WHEELS, floor, strict=False)}
    raw |= {f"floor.foot.{n}": z for n, z in enumerate(floor[4:], 1)}
    raw |= {f"body.{w}": b for w, b in zip(WHEELS, body, strict=True)}
    raw |= {"mark.front": marks[0], "mark.rear": marks[1]}
    azimuth, elevation = seen(geometry(sheet()), raw)
    assert part(found, "radar.plate.azimuth").value == pytest.approx(abs(azimuth[0]), abs=2e-5)
    assert part(found, "radar.plate.elevation").value == pytest.approx(abs(elevation[0]), abs=2e-5)


def test_uncertainty_against_random_draws_of_what_is_read():
    """10^5 draws of staff, tape, pressures' effect left out (exact gauge), through numpy and scipy."""
    marks, heights = (6.0, -2.0), {**HEIGHTS, "lf": 395, "rr": 376}
    found = judged(answers({"plate.1": -9.0}, marks, heights=heights), sheet(ride_heights=FLOOR_TO_ARCH))
    rng, n = np.random.default_rng(11), 100_000

    def read(value, u):
        return value + rng.normal(scale=u, size=n)

    raw = {f"floor.{w}": read(0.0, LASER_U) for w in WHEELS}
    raw |= {f"floor.foot.{k}": read(-9.0 * (k == 1), LASER_U) for k in (1, 2, 3)}
    raw |= {f"body.{w}": read(heights[w] - HEIGHTS[w], TAPE_U) for w in WHEELS}
    for end, off in zip(("front", "rear"), marks, strict=True):
        left, right = (read(tape(end, off, s), TAPE_U) for s in ("left", "right"))
        rims = read(1000 * RIMS[end], 60 / sqrt(3))
        raw[f"mark.{end}"] = (right**2 - left**2) / (2 * rims)
    azimuth, elevation = seen(geometry(sheet()), raw)
    assert part(found, "radar.plate.azimuth").u == pytest.approx(azimuth.std(), rel=0.05)
    assert part(found, "radar.plate.elevation").u == pytest.approx(elevation.std(), rel=0.05)


FLOOR_TO_ARCH = RideHeights(kind="floor_to_arch", front=390.0, rear=380.0)


# --- by hand -------------------------------------------------------------------------------------


def test_a_front_mark_six_millimetres_off():
    """At the plate the line is 6 * 6.95 / 4.5 mm off (shift_at), seen from 2.6 m."""
    found = judged(answers(marks=(6.0, 0.0)), sheet(azimuth=0.1))
    aim = part(found, "radar.plate.azimuth")
    off = shift_at(6.0, 6.0, 0.0, 3.55, -0.95)
    assert aim.value == pytest.approx(degrees(off / 2600), rel=1e-3)
    assert aim.outcome == "fail"
    assert re.search(r"plate is seen [\d.]+° to the left, ", aim.reason)
    assert "seen to the left" in aim.label
    assert "the front centre mark lies 6 mm left of the middle" in aim.reason
    assert f"{show(degrees(off / 2600), 'deg')} to the left" in aim.reason
    assert f"{show(off, 'mm')} at the target" in aim.reason
    assert f"{100 * degrees(off / 2600) / 0.1:.0f} % of the tolerance" in aim.reason
    assert "a point 6 mm to the right of the front centre mark" in aim.remedy


def test_a_drain_under_one_foot():
    """The far foot 9 mm low leans the plate away from the car; all feet 9 mm low move it down."""
    down = {f"plate.{n}": -9.0 for n in (1, 2, 3)}
    aim = part(judged(answers(down), sheet(elevation=0.1)), "radar.plate.elevation")
    assert aim.value == pytest.approx(degrees(9 / 2600), rel=1e-3)
    assert "9 mm low at plate foot 1 and 9 mm low at plate foot 2" in aim.reason
    assert re.search(r"plate is seen [\d.]+° down, ", aim.reason)
    assert aim.remedy.startswith("Pack plate foot 1 by 9 mm and pack plate foot 2 by 9 mm")
    one = part(judged(answers({"plate.1": -9.0}), sheet(azimuth=0.01)), "radar.plate.azimuth")
    # 9 mm over 1 m across: the centre, 0.5 m up, goes 4.5 mm to the left
    assert one.value == pytest.approx(degrees(4.5 / 2600), rel=1e-2)
    assert "the floor is 9 mm low at plate foot 1 (" in one.reason


def surveyed(sink):
    """A bay surveyed every metre or so, level but for a drain under one foot; car axes are bay axes."""
    grid = [(x, y, 0.0) for x in (-1.0, 0.0, 1.35, 2.7, 4.0, 5.0, 7.0) for y in (-0.8, 0.0, 0.8)]
    feet = [(f.x, f.y, sink if n == 0 else 0.0) for n, f in enumerate(FEET)]
    points = tuple(
        SurveyPoint(name=f"P{n}", x=x, y=y, height=z) for n, (x, y, z) in enumerate([*grid, *feet], 1)
    )
    survey = Survey(date=AT.date(), by="A. Test", instrument="laser", points=points)
    return changed(BAY, survey=survey)


def test_a_drain_known_from_the_bays_survey():
    """The same lean as by staff: 9 mm over 1 m across takes a centre 0.5 m up 4.5 mm to the left."""
    readings = {**answers(), "floor": {"source": "survey", "survey_holds": "y"}}
    aim = part(judged(readings, sheet(azimuth=0.05), bay=surveyed(-9.0)), "radar.plate.azimuth")
    assert aim.value == pytest.approx(degrees(4.5 / 2600), rel=0.02)
    assert "9 mm low at plate foot 1" in aim.reason
    assert "Pack plate foot 1 by 9 mm" in aim.remedy


def test_nothing_answered_is_untouched():
    made = visit(*CHECKS, sheet=sheet())
    assert find(made, AIM, "single", NOW).untouched


def test_a_stand_set_plumb_feels_the_slope_of_the_floor():
    """8 mm/m across: the centre at 0.5 m hangs 4 mm off; squared to the floor it feels nothing."""
    places = {**WHEEL_AT, **{f"plate.{n}": (f.x, f.y) for n, f in enumerate(FEET, 1)}}
    hill = {name: 8.0 * y for name, (_, y) in places.items()}
    squared = judged(answers(hill), sheet(azimuth=0.05))
    assert part(squared, "radar.plate.azimuth").value == pytest.approx(0, abs=1e-5)
    plate = changed(sheet().targets[0], stand="plumb")
    plumb = part(judged(answers(hill), sheet(azimuth=0.05, targets=(plate,))), "radar.plate.azimuth")
    assert plumb.value == pytest.approx(degrees(4 / 2600), rel=1e-2)
    assert "the floor falls 8 mm/m to the right, and the stand is set plumb" in plumb.reason


ORIGINS = {"rear_axle": 0.0, "front_axle": 2.7, "rear_mark": -0.95, "front_mark": 3.55}


def test_where_the_lengths_count_from_decides_where_the_line_is_turned():
    """Counted from the front mark, the line through both marks, turned, begins at that mark, and so on."""
    found = {}
    for along, x in ORIGINS.items():
        target = changed(sheet().targets[0], origin=Origin(along=along), at=Place(x=6.0, y=1.2, z=0.5))
        one = sheet(targets=(target,))
        found[along] = part(judged(answers(marks=(10.0, -10.0)), one), "radar.plate.azimuth").value
        azimuth, _ = seen(geometry(one, origin_x=x), {"mark.front": 10.0, "mark.rear": -10.0})
        assert found[along] == pytest.approx(abs(azimuth[0]), abs=1e-5)
    assert len({round(v, 4) for v in found.values()}) == len(ORIGINS)


def test_a_thrust_line_is_asked_for_where_the_procedure_refers_to_it():
    thrust = sheet(refers_to="thrust_line")
    assert asked(AIM, sheet=sheet(), side="single", sides=("single",)) == {}
    (question,) = asked(AIM, sheet=thrust, side="single", sides=("single",)).values()
    assert (question.key, question.measures, question.optional, question.shared) == (
        "thrust",
        "angle",
        False,
        True,
    )
    found = judged(answers(aim={"thrust": "0.4 deg"}), thrust)
    aim = part(found, "radar.plate.azimuth")
    assert aim.value == pytest.approx(0.4, abs=1e-5)
    assert re.search(r"plate is seen [\d.]+° to the right: too close", aim.reason)
    assert "the thrust line points 0.4° to the left" in aim.reason
    assert any("counts from the thrust line" in line for line in found.details)
    without = part(judged(answers(), thrust), "radar.plate.azimuth")
    assert without.outcome == "not_done"
    assert "the thrust angle (answer it here)" in without.reason


def test_edges_of_the_trade_pass_when_exact_and_are_too_close_when_measured():
    """-3.6 to +3.6 deg for a corner radar's azimuth (common practice, no published source)."""
    one = sheet(azimuth=3.6, elevation=None, refers_to="thrust_line")
    for typed in ("3 deg", "-3 deg"):
        assert part(judged(answers(aim={"thrust": typed}), one), "radar.plate.azimuth").outcome == "pass"
    # the other 0.6 deg from the front mark: on a line 4.5 m long, at the plate 6.95 m from the rear mark
    front = -tan(radians(0.6)) * 2600 * 4.5 / 6.95
    edge = part(judged(answers(marks=(front, 0.0), aim={"thrust": "3 deg"}), one), "radar.plate.azimuth")
    assert edge.value == pytest.approx(3.6, abs=0.01)
    assert edge.outcome == "too_close"


# --- tyres and body ------------------------------------------------------------------------------


def soft(w, by=60):
    return {**TYPED, w: TYPED[w] - by}


def test_heights_from_the_hub_leave_the_tyres_to_be_added():
    hard = judged(answers(pressures=TYPED))
    low = judged(answers(pressures=soft("rr") | {"lr": 190}))
    assert part(low, "radar.plate.elevation").value > part(hard, "radar.plate.elevation").value + 0.01
    assert any("tyres" in line for line in low.details)


def test_heights_from_the_floor_hold_the_tyres_already():
    one = sheet(ride_heights=FLOOR_TO_ARCH)
    hard, low = (judged(answers(pressures=p), one) for p in (TYPED, soft("rr")))
    assert part(low, "radar.plate.elevation").value == part(hard, "radar.plate.elevation").value
    assert not any(line.strip().startswith("tyres") for line in low.details)


def test_no_ride_heights_in_the_sheet_tyres_count_alone():
    one = sheet(ride_heights=None)
    found = judged(answers(heights=None), one)
    assert {p.outcome for p in found.parts} <= {"pass", "too_close"}
    assert "taken as the sheet has it" in found.notes[0]
    (waived,) = (Waiver(check="stance", reason="air springs", at=AT, by="A. Test"),)
    assert "taken as the sheet has it" in judged(answers(heights=None), waivers=[waived]).notes[0]


def test_an_estimated_body_says_so_and_is_less_sure():
    """60 kg too much on the boot floor, 0.5 m behind the axle, on springs of 30 N/mm."""
    one = sheet(springs=Springs(front=30.0, rear=30.0))
    boot = {
        "fuel": "100 %", "carried.1": "y", "carried.2": "y", "extra": "y", "extra.1.name": "bags",
        "extra.1.mass": "60 kg", "extra.1.station": "b", "extra.1.more": "n",
    }  # fmt: skip
    readings = {**answers(heights=None), "load": boot, "stance": {"estimate": "e"}}
    load = check("load", {"front_change": 20, "rear_change": 20})
    found = judged(readings, one, checks=(*CHECKS, load))
    assert "it is an estimate from load and springs" in found.notes[0]
    told = part(found, "radar.plate.elevation")
    rear, front = 60 * 9.80665 * (2.7 + 0.5) / 2.7 / 2 / 30, -60 * 9.80665 * 0.5 / 2.7 / 2 / 30
    corners = {"body.lf": -front, "body.rf": -front, "body.lr": -rear, "body.rr": -rear}
    _, elevation = seen(geometry(one), corners)
    assert told.value == pytest.approx(abs(elevation[0]), rel=0.02)
    assert told.u > 0.1 * told.value
    assert "told" in {r.evidence for r in told.readings}


# --- what is lacking -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("without", "words"),
    [
        ("floor", "the floor (answer Floor)"),
        ("centre_marks", "the centre marks (answer Centre marks)"),
        ("tyres", "the tyre pressures (answer Tyres)"),
        ("stance", "how the body sits (answer Stance)"),
    ],
)
def test_what_is_not_measured_is_named_with_its_step(without, words):
    found = judged({k: v for k, v in answers().items() if k != without})
    assert {p.outcome for p in found.parts} == {"not_done"}
    assert words in found.parts[0].reason
    assert found.parts[0].remedy == f"Answer {without.replace('_', ' ').capitalize()}."
    assert found.details[-1].startswith("The maker's document comes first")


def test_a_check_that_the_checklist_does_not_have_is_said():
    found = judged({("aim", "single"): {}}, checks=(AIM,))
    assert "the floor (this checklist has no check of it)" in found.parts[0].reason


def test_a_set_aside_check_of_the_marks_leaves_the_aim_unknown():
    readings = {k: v for k, v in answers().items() if k != "centre_marks"}
    waiver = Waiver(check="centre_marks", reason="no marks", at=AT, by="A. Test")
    reason = judged(readings, waivers=[waiver]).parts[0].reason
    assert "the centre marks (Centre marks was set aside: answer it)" in reason


def test_a_floor_that_lapsed_lapses_the_aim():
    moved = Event(event="car_moved", at=AT + timedelta(minutes=2), by="A. Test")
    found = judged(events=[moved])
    assert {p.outcome for p in found.parts} == {"lapsed"}
    assert "the floor (read Floor again)" in found.parts[0].reason


def test_one_foot_not_read_is_named():
    readings = answers()
    del readings["floor"]["staff.plate.2"]
    found = judged(readings)
    assert "the floor at plate foot 2 (answer Floor)" in found.parts[0].reason


def test_it_ends_with_the_first_of_what_it_rests_on():
    made = visit(*CHECKS, readings=answers(), sheet=sheet())
    finding = find(made, AIM, "single", NOW)
    assert finding.lapses_at == AT + timedelta(minutes=60)  # marks, tyres and stance hold an hour
    assert finding.evidence == "measured"


def test_a_check_answered_after_it_was_set_aside_counts_again():
    waiver = Waiver(check="stance", reason="air springs", at=AT - timedelta(minutes=5), by="A. Test")
    readings = {**answers(), "stance": {"height.lf": "390 mm"}}
    reason = judged(readings, waivers=[waiver]).parts[0].reason
    assert "how the body sits (answer Stance)" in reason


def test_level_runs_that_do_not_close_are_no_floor():
    runs = {f"run.{a}-{b}": "0.0" for a, b in WHEEL_RUNS} | {
        f"run.{w}-plate.{n}": "0.0" for w, n in (("lf", 1), ("rf", 2), ("lf", 3))
    }
    flat = {f"{run}.{n}": "0 mm/m" for run in runs for n in (1, 2)}
    good = {"source": "level", **flat}
    bad = good | {"run.rf-lf.1": "9 mm/m", "run.rf-lf.2": "-9 mm/m"}
    assert "needs" not in judged({**answers(), "floor": good}).parts[0].reason
    found = judged({**answers(), "floor": bad})
    assert {p.outcome for p in found.parts} == {"not_done"}
    assert "the floor (put Floor right)" in found.parts[0].reason


# --- tolerances ----------------------------------------------------------------------------------


def test_a_sheet_without_tolerances_is_not_done_and_may_be_set_aside():
    bare = sheet(azimuth=None, elevation=None)
    (only,) = judged(one=bare).parts
    assert only.outcome == "not_done"
    assert bare.sheet in only.reason
    optional = check("aim", per_side=True, if_applicable=True)
    for one, expected in ((bare, False), (sheet(), True)):
        assert (
            demanded_of(visit(*CHECKS[:-1], optional, sheet=one).scene(optional, "single", NOW)) is expected
        )


def test_one_axis_with_a_tolerance_is_one_part():
    assert [p.key for p in judged(one=sheet(elevation=None)).parts] == ["radar.plate.azimuth"]


def test_a_sensor_without_tolerance_is_a_note_and_sees_only_its_targets():
    camera = Sensor(id="camera", at=Place(x=1.8, y=0.0, z=1.3), sees=("board",))
    board = Target(id="board", at=Place(x=5.0, y=0.0, z=1.3), feet=(Point(x=5.0, y=0.0),))
    radar = changed(sheet().sensors[0], sees=("plate",))
    one = sheet(sensors=(radar, camera), targets=(*sheet().targets, board))
    readings = answers({"board.1": -5.0})
    found = judged(readings, one)
    assert {p.key for p in found.parts} == {"radar.plate.azimuth", "radar.plate.elevation"}
    (note,) = (n for n in found.notes if n.startswith("Camera to board"))
    assert f"{show(degrees(5 / 3200), 'deg')} down" in note


def test_where_it_cannot_matter_one_line_says_so():
    found = judged(answers(marks=(2.0, 0.0)), sheet(azimuth=4.0, elevation=4.0))
    assert {p.outcome for p in found.parts} == {"pass"}
    (note,) = (n for n in found.notes if "can matter here" in n)
    assert note.startswith("For radar nothing of car and bay can matter here: at most ")
    assert "Most of it" not in part(found, "radar.plate.azimuth").reason
    unsure = judged(answers(), sheet(azimuth=0.3, elevation=0.3))  # nothing is off, but no better known
    assert "seen straight, as near as can be told" in part(unsure, "radar.plate.azimuth").reason
    unanswered = judged({("aim", "single"): {}}, sheet(azimuth=4.0, elevation=4.0))
    for other in (judged(answers(marks=(20.0, 0.0))), unsure, unanswered):
        assert not any("can matter here" in n for n in other.notes)


def test_what_is_to_be_answered_stands_together():
    found = judged({("aim", "single"): {}}).parts[0]
    assert "the floor (answer Floor), the centre marks (answer Centre marks) and how the body" in found.reason
    assert found.remedy == "Answer Floor, Centre marks and Stance."


def test_a_mat_is_laid_elsewhere_and_not_packed():
    mat = Target(id="mat", at=Place(x=6.0, y=0.0, z=0.0))
    readings = answers({"mat.0": -30.0}, feet=0)
    aim = part(judged(readings, sheet(elevation=0.1, targets=(mat,))), "radar.mat.elevation")
    assert "the floor is 30 mm low at mat" in aim.reason
    assert aim.remedy.startswith("Lay mat where the floor is even with the wheels")


def test_a_target_straight_below_has_no_azimuth():
    mat = Target(id="plate", at=Place(x=3.4, y=0.0, z=0.0))
    readings = answers(feet=0)
    readings["floor"]["staff.plate.0"] = "1500 mm"
    (first, _) = judged(readings, sheet(targets=(mat,))).parts
    assert first.outcome == "not_done"
    assert "straight above or below the sensor" in first.reason


# --- sides ---------------------------------------------------------------------------------------


def corner(**more):
    radar = Sensor(
        id="radar", at=Place(x=-0.8, y=0.65, z=0.6), tolerance=AimTolerance(azimuth=1.0, elevation=1.0)
    )
    feet = (Point(x=-3.2, y=1.5), Point(x=-2.8, y=1.9), Point(x=-2.8, y=1.2))
    reflector = Target(
        id="reflector", at=Place(x=-3.0, y=1.5, z=0.6), feet=feet, origin=Origin(along="rear_mark")
    )
    return sheet(sensors=(radar,), targets=(reflector,), **more)


MIRROR = {"lf": "rf", "rf": "lf", "lr": "rr", "rr": "lr"}


@any_of(st.lists(mm, min_size=7, max_size=7), st.tuples(mm, mm), st.lists(mm, min_size=4, max_size=4))
@settings(max_examples=15)
def test_the_right_side_of_a_mirrored_car_is_the_mirror_image(floor, marks, body):
    feet = [f"reflector.{n}" for n in (1, 2, 3)]
    heights = {w: HEIGHTS[w] + b for w, b in zip(WHEELS, body, strict=True)}
    one = dict(zip([*WHEELS, *feet], floor, strict=True))
    other = {MIRROR.get(p, f"right.{p}"): z for p, z in one.items()}
    left = answers(one, marks, heights=heights, feet=0)
    right = answers(other, (-marks[0], -marks[1]), heights={MIRROR[w]: h for w, h in heights.items()}, feet=0)
    left[("aim", "left")], right[("aim", "right")] = left.pop(("aim", "single")), right.pop(("aim", "single"))
    a, b = judged(left, corner(), side="left"), judged(right, corner(), side="right")
    for axis in ("azimuth", "elevation"):
        one_part, other_part = part(a, f"radar.reflector.{axis}"), part(b, f"radar.reflector.{axis}")
        assert other_part.value == pytest.approx(one_part.value, abs=1e-6)
        assert other_part.u == pytest.approx(one_part.u, rel=1e-4)
        if one_part.value > 1.645 * one_part.u:
            swap = {"to the left": "to the right", "to the right": "to the left"} if axis == "azimuth" else {}
            word = one_part.label.partition("(seen ")[2].rstrip(")")
            assert word in ("to the left", "to the right", "up", "down")
            assert f"(seen {swap.get(word, word)})" in other_part.label


# --- beside the judgement ------------------------------------------------------------------------


def test_details_say_every_cause_the_sums_and_the_tape():
    found = judged(answers({"plate.1": -9.0}, (6.0, 0.0)))
    text = "\n".join(found.details)
    for name in ("floor under plate", "tyres", "body on its springs", "front centre mark", "rear centre mark",
                 "m away: azimuth ", "95 % of the time", "worst-case sum", "plane of the four wheel contacts"):  # fmt: skip
        assert name in text
    assert "Tape to under the middle of plate" in text


def test_the_worst_case_sum_and_the_95_percent_follow_from_the_lines():
    """A tolerance under 0.1 degree is told to a thousandth."""
    lines = judged(answers({"plate.1": -9.0}, (6.0, 0.0)), sheet(azimuth=0.09, elevation=0.09)).details
    found = [re.search(r"azimuth (?:([\d.]+)° to the (left|right) )?±([\d.]+)°", line) for line in lines]
    told = [(float(m[1] or 0) * (-1 if m[2] == "right" else 1), float(m[3])) for m in found if m]
    (total, w), *causes = told
    worst = next(line for line in lines if "worst-case" in line)
    assert float(worst.split("azimuth ")[1].split("°")[0]) == pytest.approx(
        sum(abs(v) + s for v, s in causes), abs=0.004
    )
    assert total == pytest.approx(sum(v for v, _ in causes), abs=0.003)
    between = next(line for line in lines if "95 %" in line).split("azimuth ")[1]
    low, high = (float(w) for w in between.split(",")[0].replace("°", "").split(" to "))
    reach = 1.96 / 1.645 * w
    assert (low, high) == pytest.approx((total - reach, total + reach), abs=0.003)


def test_the_largest_cause_comes_first_and_what_rounds_to_nothing_is_left_out():
    lines = judged(answers({"plate.1": -9.0}, (6.0, 0.0))).details
    causes = [line.strip().partition(":")[0] for line in lines if line.startswith("  ") and line[2] != " "]
    assert causes[0] in ("front centre mark", "floor under plate")
    assert causes.index("tyres") > 1
    assert not any("0.00°" in line for line in lines)


def test_the_picture_shows_the_target_as_meant_and_as_seen():
    found = judged(answers({"plate.1": -9.0}, (60.0, 0.0)))
    (meant,) = (s for s in found.picture if isinstance(s, Line))
    assert meant.points == ((3.4, 0.0), (6.0, 0.0))
    azimuth = part(found, "radar.plate.azimuth")
    mm = 1000 * (6.0 - 3.4) * radians(azimuth.value)
    assert meant.label.startswith(f"{mm:.0f} mm left")
    assert meant.marked == (azimuth.outcome != "pass")
    labels = [s.label for s in found.picture if isinstance(s, Spot) and s.role == "height"]
    assert labels == ["-9 mm", "0 mm", "0 mm"]


def test_us_units():
    found = judged(answers(marks=(6.0, 0.0)), shop=changed(SHOP, units="us"))
    assert "0.236 in left of the middle" in part(found, "radar.plate.azimuth").reason

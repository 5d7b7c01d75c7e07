"""Whether the survey still holds, by a few level readings: E_n against the table, hand figures and numpy."""

from __future__ import annotations

from datetime import date, timedelta
from math import hypot, sqrt

import numpy as np
import pytest
from hypothesis import given as any_of
from hypothesis import settings
from hypothesis import strategies as st

from readiness.checks import limit_types
from readiness.checks.finding import find
from readiness.checks.floor.check import heights_of
from readiness.checks.floor.quick_check import quick_parts
from readiness.checks.floor.surveyed import PLACING_A
from readiness.job import Event, SurveyPoint
from readiness.measure.decide import e_n
from tests import outside
from tests.checks.floors import (
    HOLDS,
    LASER_U,
    LEVEL_READ_U,
    LEVEL_ZERO_U,
    LIMITS,
    NO_TARGETS,
    PLACES,
    floor,
    surveyed,
)  # fmt: skip
from tests.scenes import AT, NOW, asked, check, given, judged, part, scene, visit

RUNS = ("rf-lf", "lr-lf", "rr-lr", "lr-reflector.1")


def at_places(z):
    """A survey whose points are the wheels and feet."""
    points = tuple(SurveyPoint(name=p, x=PLACES[p][0], y=PLACES[p][1], height=float(h)) for p, h in z.items())
    return surveyed(lambda x, y: 0.0, points=points)


LEVEL_FLOOR = at_places(dict.fromkeys(PLACES, 0.0))


def reads(run, first, turned=None):
    answers = {**HOLDS, f"quick.{run}.1": f"{first:.9f} mm/m"}
    return answers if turned is None else {**answers, f"quick.{run}.2": f"{turned:.9f} mm/m"}


@pytest.mark.parametrize("row", outside.rows("en_number", name=lambda r: f"{r['x']} against {r['ref']}"))
def test_e_n_of_the_table(row):
    assert e_n(row["x"], row["ref"], row["U_x"], row["U_ref"]) == pytest.approx(row["En"], abs=1e-5)


@any_of(st.floats(-3, 3), st.floats(-3, 3), st.floats(-0.5, 0.5), st.booleans())
@settings(max_examples=30, deadline=None)
def test_e_n_of_a_run_is_that_by_hand(floor_slope, read, zero, both):
    # U = 2 u of either: the level's display (and its zero where read once) with both feet; two heights by laser
    length = 1.55
    bay = at_places({p: floor_slope * y for p, (_, y) in PLACES.items()})
    first, turned = round(read + zero, 6), round(-read + zero, 6)
    found = part(judged(floor(), reads("rf-lf", first, turned if both else None), bay=bay), "quick.rf-lf")
    feet = sqrt(2) * PLACING_A / sqrt(3) / length
    u_read = hypot(LEVEL_READ_U / (sqrt(2) if both else 1), 0 if both else LEVEL_ZERO_U, feet)
    u_known = LASER_U * sqrt(2) / length
    shown = (first - turned) / 2 if both else first
    assert found.value == pytest.approx((shown - floor_slope) / (2 * hypot(u_read, u_known)), abs=1e-9)
    assert (found.outcome == "pass") == (abs(found.value) <= 1)
    assert (found.low, found.high) == (-1, 1)


def test_it_is_asked_of_a_survey_only_and_nobody_must_answer_it():
    questions = asked(floor(), HOLDS, bay=LEVEL_FLOOR)
    assert [k for k in questions if k.startswith("quick")] == [f"quick.{r}.{n}" for r in RUNS for n in (1, 2)]
    assert all(q.optional for k, q in questions.items() if k.startswith("quick"))
    assert not any(k.startswith("quick") for k in asked(floor(), {"source": "laser"}, bay=LEVEL_FLOOR))


@pytest.mark.parametrize("demanded", [0, 1, 2, 3, 4])
def test_a_checklist_may_demand_some_of_them(demanded):
    one = floor(quick_check=demanded)
    questions = asked(one, HOLDS, bay=LEVEL_FLOOR)
    assert [k for k, q in questions.items() if k.startswith("quick") and not q.optional] == [
        f"quick.{r}.1" for r in RUNS[:demanded]
    ]
    found = judged(one, HOLDS, bay=LEVEL_FLOOR)
    assert [p.key for p in found.parts if p.outcome == "not_done"] == [f"quick.{r}" for r in RUNS[:demanded]]
    answers = HOLDS | {f"quick.{r}.1": "0 mm/m" for r in RUNS[:demanded]}
    assert {p.outcome for p in judged(one, answers, bay=LEVEL_FLOOR).parts} == {"pass"}


def test_a_sheet_without_targets_has_three_of_them():
    found = judged(floor(quick_check=4), HOLDS, bay=LEVEL_FLOOR, sheet=NO_TARGETS)
    assert [p.key for p in found.parts if p.outcome == "not_done"] == [
        "quick.rf-lf",
        "quick.lr-lf",
        "quick.rr-lr",
    ]


def test_a_limit_on_the_count_is_a_whole_number_up_to_four():
    import msgspec

    for bad in (-1, 5, 1.5):
        with pytest.raises(msgspec.ValidationError):
            msgspec.convert({**LIMITS, "quick_check": bad}, limit_types()["floor"])


def test_without_one_the_finding_says_that_nothing_confirms_the_survey():
    assert "Not confirmed by level today." in judged(floor(), HOLDS, bay=LEVEL_FLOOR).notes
    once = judged(floor(), reads("rf-lf", 0), bay=LEVEL_FLOOR).notes
    assert "Not confirmed by level today." not in once
    assert "Confirmed by level today, by 1 reading." in once


def test_one_that_disagrees_ends_the_survey():
    # 4 mm/m over 1.55 m are 6.2 mm, with u about 1 mm: E_n about 3
    found = judged(floor(), reads("rf-lf", 4), bay=LEVEL_FLOOR)
    quick = part(found, "quick.rf-lf")
    assert (quick.outcome, quick.value > 1) == ("fail", True)
    assert "The survey no longer holds" in quick.reason
    assert "Measure the floor anew" in quick.remedy
    rest = [p for p in found.parts if p is not quick]
    assert {p.outcome for p in rest} == {"not_done"}
    assert all("the level contradicts it" in p.reason for p in rest)
    assert heights_of(scene(floor(), reads("rf-lf", 4), bay=LEVEL_FLOOR)).surface is None


def test_waiting_does_not_bring_a_contradicted_survey_back():
    one = check("floor", LIMITS, hold=30, voided_by=("car_moved",))
    answers = {k: given(v, minutes=0 if k.startswith("quick") else 40) for k, v in reads("rf-lf", 4).items()}
    later = judged(one, answers, bay=LEVEL_FLOOR, now=AT + timedelta(minutes=45))
    assert part(later, "quick.rf-lf").outcome == "lapsed"


def test_a_moved_car_ends_the_quick_check_too():
    one = check("floor", LIMITS, voided_by=("car_moved",))
    moved = Event(event="car_moved", at=AT + timedelta(minutes=1), by="A. Test")
    answers = {**reads("rf-lf", 0), **{k: given(v, minutes=2) for k, v in HOLDS.items()}}
    assert part(judged(one, answers, bay=LEVEL_FLOOR, events=[moved]), "quick.rf-lf").outcome == "lapsed"


def test_reading_again_both_ways_round_takes_the_zero_error_of_the_level_out():
    once, both = (
        part(judged(floor(), reads("lr-lf", 1.0, t), bay=LEVEL_FLOOR), "quick.lr-lf").value
        for t in (None, 1.0)
    )
    assert once != 0
    assert both == pytest.approx(0)


@pytest.mark.parametrize("run", RUNS)
def test_each_run_is_held_against_the_two_places_it_joins(run):
    # a plane of 2 and -1 mm/m: the slope from a to b is its part along the line between them
    bay = at_places({p: 2 * x - y for p, (x, y) in PLACES.items()})
    a, b = (np.array(PLACES[p]) for p in run.split("-"))
    slope = float((b - a) @ [2, -1] / np.linalg.norm(b - a))
    found = part(judged(floor(), reads(run, slope), bay=bay), f"quick.{run}")
    assert found.value == pytest.approx(0, abs=1e-6)
    assert part(judged(floor(), reads(run, slope + 9), bay=bay), f"quick.{run}").outcome == "fail"


def test_a_survey_that_cannot_serve_is_not_checked():
    made = scene(floor(), reads("rf-lf", 4), bay=surveyed(lambda x, y: 0.0, ys=(0,)))
    assert quick_parts(made, 3, heights_of(made)) == []


# --- the survey's own time -------------------------------------------------------------------------


def test_a_finding_ends_no_later_than_its_survey():
    one = check("floor", LIMITS, hold=10 * 24 * 60.0)
    bay = surveyed(
        lambda x, y: 0.0, date=date(2026, 4, 4), renew_after=30
    )  # through 2026-05-04, the day of AT
    made = visit(one, readings={"floor": HOLDS}, bay=bay)
    finding = find(made, one, "", NOW)
    assert finding.outcome == "pass"
    assert finding.lapses_at.isoformat() == "2026-05-05T00:00:00+00:00"
    assert find(made, one, "", finding.lapses_at).outcome == "lapsed"
    assert find(made, one, "", finding.lapses_at - timedelta(seconds=1)).outcome == "pass"


def test_a_survey_of_tomorrow_is_a_slip_and_does_not_count():
    tomorrow = surveyed(lambda x, y: 0.0, date=date(2026, 5, 5))
    found = judged(floor(), HOLDS, bay=tomorrow)
    assert {p.outcome for p in found.parts} == {"not_done"}
    assert "dated 2026-05-05, and today is 2026-05-04" in found.parts[0].reason
    assert asked(floor(), bay=tomorrow)["source"].default == ""
    assert (
        part(judged(floor(), HOLDS, bay=surveyed(lambda x, y: 0.0, date=date(2026, 5, 4))), "twist").outcome
        == "pass"
    )


@pytest.mark.parametrize("sunk", ["lf", "lr", "rr", "rf"])
def test_a_wheel_place_that_sank_by_5_mm_is_found_by_the_three_readings_between_wheels(sunk):
    # 5 mm is six times what feet of a level and a laser's staff leave open: hand
    z = {**dict.fromkeys(PLACES, 0.0), sunk: -5.0}
    answers = dict(HOLDS)
    for run in RUNS[:3]:
        a, b = run.split("-")
        slope = (z[b] - z[a]) / hypot(PLACES[a][0] - PLACES[b][0], PLACES[a][1] - PLACES[b][1])
        answers |= {f"quick.{run}.1": f"{slope:.4f} mm/m", f"quick.{run}.2": f"{-slope:.4f} mm/m"}
    found = judged(floor(), answers, bay=at_places(dict.fromkeys(PLACES, 0.0)))
    assert {p.key for p in found.parts if p.outcome == "fail"} == {
        f"quick.{r}" for r in RUNS[:3] if sunk in r.split("-")
    }

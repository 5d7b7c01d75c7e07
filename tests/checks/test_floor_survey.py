"""Floor from the bay's survey, against numpy, a simulation and hand figures."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest
from hypothesis import given as any_of
from hypothesis import settings
from hypothesis import strategies as st
from msgspec.structs import replace as changed

from readiness.job import WHEELS, Point, Standing, SurveyPoint
from tests.checks.floors import HOLDS, PLACES, floor, staffs, surveyed
from tests.scenes import INSTRUMENTS, SHEET, asked, judged, part

# --- survey --------------------------------------------------------------------------------------


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
    share = np.sqrt(np.mean(np.square(claimed)) / np.mean(np.square(errors)))
    assert (
        1.0 <= share < 1.3
    )  # the laser's u, and Student's t over the normal one for 9 or 12 degrees of freedom


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
        in asked(floor(), {"source": "survey"}, bay=surveyed(lambda x, y: 0))["survey_holds"].hint
    )

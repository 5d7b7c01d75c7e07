"""The survey that readings make: the heights of the floor, whatever the way; refusals say why."""

from __future__ import annotations

import math
import tempfile
from datetime import timedelta
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from readiness.checklist.files import read_survey
from readiness.checks.floor.surveyed import surveyed
from readiness.records.survey_file import survey_text, write_new
from readiness.survey.finish import finished
from readiness.survey.net import without
from readiness.survey.places import Use
from readiness.survey.result import height_map, result
from readiness.survey.surveying import run_keys
from tests.checks.floors import LEVEL_READ_U
from tests.scenes import INSTRUMENTS, SHEET
from tests.survey.floors import AT, ROOM, exact, read, surveying

BOTH = (Use(SHEET, ("left", "right")),)
coefficients = st.tuples(*(st.floats(-8, 8) for _ in range(3)))


def floor_of(a, b, c):
    return lambda x, y: a * x + b * y + c * math.sin(x) * math.cos(y)


def over_lowest(heights):
    lowest = min(heights.values())
    return {n: h - lowest for n, h in heights.items()}


@settings(max_examples=25, deadline=None)
@given(st.sampled_from(["laser", "level"]), coefficients, st.floats(-2, 2), st.floats(1.2, 3.0))
def test_read_finished_written_read_back_and_judged_the_floor_is_the_same(way, abc, zero, length):
    floor = floor_of(*abc)
    taken = read(surveying(way, straightedge=length), floor, zero=zero)
    survey = finished(taken, INSTRUMENTS)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "surveys" / "x.yaml"
        write_new(path, survey_text(survey, "Taken in a test."))
        again = read_survey(path)
    assert again == survey
    judged = over_lowest(surveyed(again, INSTRUMENTS).surface.heights)
    meant = over_lowest({n.name: floor(n.x, n.y) for n in taken.nodes})
    assert judged == pytest.approx(meant, abs=0.01)


@settings(max_examples=20, deadline=None)
@given(st.integers(0, 2**32 - 1), st.floats(-1, 1))
def test_level_heights_are_those_of_least_squares(seed, zero):
    """numpy.linalg.lstsq over rises of pairs, weights 1/u^2 with var = L^2 s^2/2 + 2 s_foot^2."""
    chance = np.random.default_rng(seed)
    survey = surveying("level")
    noise = {k: chance.normal(0, 0.05) for r in survey.runs for k in run_keys(r)}
    taken = read(survey, floor_of(1.5, -0.7, 2.0), zero=zero, wrong=noise)
    made = finished(taken, INSTRUMENTS)
    found = over_lowest(surveyed(made, INSTRUMENTS).surface.heights)
    names = [n.name for n in survey.nodes]
    at = {n.name: (n.x, n.y) for n in survey.nodes}
    step, foot = LEVEL_READ_U, 0.5 / math.sqrt(3)
    rows, rises = np.zeros((len(made.runs), len(names) - 1)), np.zeros(len(made.runs))
    for k, run in enumerate(made.runs):
        length = math.dist(at[run.start], at[run.end])
        weight = 1.0 / math.sqrt((length * step) ** 2 / 2 + 2 * foot**2)
        for name, sign in ((run.end, weight), (run.start, -weight)):
            if name != names[0]:
                rows[k, names.index(name) - 1] = sign
        rises[k] = weight * length * (run.first - run.turned) / 2
    oracle = np.linalg.lstsq(rows, rises, rcond=None)[0]
    assert found == pytest.approx(over_lowest(dict(zip(names, (0.0, *oracle), strict=True))), abs=1e-6)


def test_repeat_readings_count_with_their_mean():
    survey = read(surveying("laser"), floor_of(1, 0, 0))
    twice = tuple(
        replace(r, value=float(r.value) + by)
        for r in survey.readings
        for by in (0.0, 0.6)
        if r.question == "staff.3"
    )
    rest = tuple(r for r in survey.readings if r.question != "staff.3")
    one, two = (
        finished(replace(survey, readings=rs), INSTRUMENTS) for rs in (survey.readings, (*rest, *twice))
    )
    heights = [{p.name: p.height for p in s.points} for s in (one, two)]
    change = {n: heights[1][n] - heights[0][n] for n in heights[0]}
    lowest = min(heights[0], key=heights[0].get)
    assert lowest != "3"
    assert change == pytest.approx({n: -0.3 if n == "3" else 0.0 for n in change}, abs=2e-3)


def test_the_reading_at_the_end_counts_with_the_first():
    survey = read(surveying("laser"), lambda x, y: 0.0, wrong={"again.1": 1.0})
    heights = {p.name: p.height for p in finished(survey, INSTRUMENTS).points}
    assert heights["1"] == 0.0
    assert set(heights.values()) == {0.0, 0.5}


def test_a_survey_says_when_by_whom_and_with_what():
    survey = read(surveying("level"), floor_of(1, 0, 0), round_to=2)
    made = finished(survey, INSTRUMENTS)
    assert (made.survey, made.bay, made.by, made.instrument) == (
        "bay-1-2026-05-04",
        "bay-1",
        "A. Test",
        "level",
    )
    assert made.straightedge == 2.0
    assert made.date == (AT + timedelta(minutes=len(survey.readings) - 1)).date()
    assert all(p.height is None for p in made.points)
    assert made.note == ""
    values = exact(survey, floor_of(1, 0, 0))
    for run, planned in zip(made.runs, survey.runs, strict=True):
        assert (run.start, run.end) == planned
        assert run.first == pytest.approx(values[run_keys(planned)[0]], abs=0.006)


def test_what_is_not_read_is_noted_where_it_may_be():
    survey = surveying("laser")
    made = finished(
        read(survey, floor_of(1, 0, 0), keys=tuple(f"staff.{n.name}" for n in survey.nodes)), INSTRUMENTS
    )
    assert "not read again at the end" in made.note
    net = surveying("level")
    kept = tuple(k for r in net.runs[:-1] for k in run_keys(r))
    assert "1 of the" in finished(read(net, floor_of(1, 0, 0), keys=kept), INSTRUMENTS).note


def test_a_place_left_out_is_not_missed():
    survey = surveying("level")
    plan = without(survey, survey.nodes[-1].name)
    made = finished(read(replace(survey, nodes=plan.nodes, runs=plan.runs), floor_of(1, 2, 0)), INSTRUMENTS)
    assert [p.name for p in made.points] == [n.name for n in survey.nodes[:-1]]


@pytest.mark.parametrize(
    ("change", "why"),
    [
        (lambda s: replace(s, readings=()), "not read yet"),
        (lambda s: replace(s, nodes=(), readings=()), "no places"),
        (lambda s: replace(s, readings=s.readings[:5]), "not read yet: read them"),
        (lambda s: replace(s, nodes=s.nodes[:2]), "2 different places"),
        (lambda s: replace(s, nodes=tuple(replace(n, y=0.0) for n in s.nodes)), "one line"),
        (lambda s: replace(s, readings=tuple(replace(r, instrument="lost") for r in s.readings)), "not among the shop's"),
    ],
)  # fmt: skip
def test_what_cannot_be_a_survey_is_refused_with_a_reason(change, why):
    with pytest.raises(ValueError, match=why) as refused:
        finished(change(read(surveying("laser"), floor_of(1, 1, 0))), INSTRUMENTS)
    assert str(refused.value).endswith(".")
    assert "\n" not in str(refused.value)


def test_an_open_line_read_one_way_is_refused():
    survey = surveying("level")
    line = tuple((a.name, b.name) for a, b in zip(survey.nodes, survey.nodes[1:], strict=False))
    taken = read(
        replace(survey, runs=line, straightedge=9.0),
        floor_of(1, 1, 0),
        keys=tuple(f"run.{a}-{b}.1" for a, b in line),
    )
    with pytest.raises(ValueError, match="one way"):
        finished(taken, INSTRUMENTS)


# --- what it says --------------------------------------------------------------------------------


@pytest.mark.parametrize("way", ["laser", "level"])
def test_the_result_says_slope_flatness_twist_and_feet(way):
    """A plane of 3 mm/m to the front and 1 mm/m to the left: flat, no twist, feet in the plane."""
    survey = finished(read(surveying(way), lambda x, y: 3 * x + y), INSTRUMENTS)
    said = "\n".join(result(survey, ROOM, BOTH, INSTRUMENTS))
    assert "rises 3 mm/m or 0.17°" in said
    assert "to the front; across it, 1 mm/m or 0.06°" in said
    assert "to the left." in said
    assert "Flatness is 0" in said
    assert "Twist of the four wheels 0" in said
    assert said.count("the plane of the wheels") == 4
    assert "Not surveyed" not in said
    assert ("walks round come back to their start" in said) == (way == "level")


def test_the_result_in_inches_and_of_a_car_that_was_not_surveyed():
    survey = finished(read(surveying("laser"), lambda x, y: 3 * x), INSTRUMENTS)
    other = replace(SHEET, title="Another", dimensions=replace(SHEET.dimensions, wheelbase=3.6))
    said = "\n".join(result(survey, ROOM, (Use(other, ("left",)),), INSTRUMENTS, "us"))
    assert "in per 10 ft" in said
    assert "Not surveyed there, but" in said


def test_a_survey_that_cannot_serve_says_so_in_a_line():
    survey = finished(read(surveying("laser"), lambda x, y: 3 * x), INSTRUMENTS)
    said = result(replace(survey, instrument="lost"), ROOM, BOTH, INSTRUMENTS)
    assert len(said) == 1
    assert "cannot serve" in said[0]
    assert len(height_map(replace(survey, instrument="lost"), ROOM, INSTRUMENTS, "metric")) == 1
    assert len(height_map(survey, ROOM, INSTRUMENTS, "metric")) == 1 + len(survey.points)


def test_a_wrong_run_is_told_in_the_result():
    survey = surveying("level")
    first, turned = run_keys(survey.runs[4])
    made = finished(read(survey, lambda x, y: x, wrong={first: 6.0, turned: -6.0}), INSTRUMENTS)
    assert any(line.startswith("It does not fit together.") for line in result(made, ROOM, BOTH, INSTRUMENTS))


@pytest.mark.parametrize("turned", [0, -1])
def test_what_was_read_one_way_only_is_noted_and_claims_no_turning(turned):
    """All but one run turned; none turned: then only the walks round give the level's zero error, and bound no gap."""
    survey = surveying("level")
    runs = survey.runs
    keys = [run_keys(r)[0] for r in runs] + [run_keys(r)[1] for r in (runs[1:] if turned == 0 else ())]
    kept = finished(read(survey, floor_of(1, 1, 0), zero=0.3, keys=tuple(keys)), INSTRUMENTS)
    said = " ".join(result(kept, ROOM, (), INSTRUMENTS))
    if turned == 0:
        assert f"Read one way only: {runs[0][0]} to {runs[0][1]}." in kept.note
        assert "Turning" in said
    else:
        assert f"Read one way only: {len(runs)} of the {len(runs)} level runs." in kept.note
        assert "The walks round give" in said
        assert "Turning" not in said
        assert "–" not in said

"""What is found while a survey is taken: never a fault for what is missing, and what does not fit is caught."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from readiness.checks.picture import Line, Outline, Spot
from readiness.survey.net import without
from readiness.survey.so_far import standing
from readiness.survey.surveying import CHECK, questions, run_keys, staff_key
from tests.scenes import INSTRUMENTS, SHOP
from tests.survey.floors import AT, POST, ROOM, bay, read, surveying


def tilted(x: float, y: float) -> float:
    return 2.0 * x - 0.5 * y


def found(survey, current="", shop=SHOP, room=ROOM):
    return standing(survey, room, INSTRUMENTS, shop, current)


@pytest.mark.parametrize("way", ["laser", "level"])
def test_sound_readings_are_sound_from_the_first_to_the_last(way):
    whole = read(surveying(way), tilted, zero=0.3)
    for count in range(len(whole.readings) + 1):
        part = replace(whole, readings=whole.readings[:count])
        so_far = found(part)
        assert (so_far.done, so_far.of) == (count, len(questions(whole)))
        assert so_far.problems == so_far.doubts == ()
        assert so_far.open == tuple(q.key for q in questions(whole)[count:])
        assert all(p.outcome == "pass" for p in so_far.parts.values())
    assert so_far.why_not == ""
    assert "fits together" in so_far.sentence
    lowest = min(tilted(n.x, n.y) for n in whole.nodes)
    for node in whole.nodes:
        assert so_far.heights[node.name] == pytest.approx(tilted(node.x, node.y) - lowest, abs=1e-3)


anything = st.lists(
    st.tuples(
        st.integers(0, 60), st.floats(-1e4, 1e4) | st.just("word"), st.sampled_from(["laser", "level", "gone", "tape", ""])
    ),
    max_size=12,
)  # fmt: skip


@settings(max_examples=80, deadline=None)
@given(st.sampled_from(["laser", "level"]), anything, st.integers(0, 9))
def test_no_reading_whatever_ends_in_a_fault(way, given_readings, gone):
    survey = surveying(way)
    asked = [q.key for q in questions(survey)]
    whole = read(survey, tilted, keys=())
    odd = tuple(
        replace(
            read(survey, tilted, keys=(asked[k % len(asked)],)).readings[0], value=value, instrument=tool, number=n
        )
        for n, (k, value, tool) in enumerate(given_readings)
    )  # fmt: skip
    plan = without(survey, survey.nodes[gone % len(survey.nodes)].name)
    for changed in (
        replace(whole, readings=odd),
        replace(whole, readings=odd, nodes=plan.nodes, runs=plan.runs),
    ):
        so_far = found(changed)
        assert so_far.sentence
        assert so_far.why_not or so_far.done
    assert found(replace(whole, nodes=(), runs=(), readings=())).why_not


# --- laser ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("by", "moved"), [(0.0, False), (1.5, False), (-1.5, False), (2.5, True), (-4.0, True)]
)
def test_a_laser_that_moved_is_caught_at_the_end(by, moved):
    """The invented laser is good to 1 mm and 0.5 mm steps: u = 0.595 mm, and 2.8 u = 1.67 mm (ISO 5725-6)."""
    survey = read(surveying("laser"), tilted, wrong={"again.1": by})
    so_far = found(survey)
    assert bool(so_far.problems) == moved
    assert (so_far.parts["again.1"].outcome == "fail") == moved
    assert bool(so_far.why_not) == moved
    if moved:
        assert "again.1" in so_far.suspect
        assert "laser has moved" in so_far.sentence


def test_repeat_readings_that_contradict_each_other_are_told():
    survey = read(surveying("laser"), tilted)
    again = replace(survey.readings[3], value=float(survey.readings[3].value) + 9.0, number=99)
    so_far = found(replace(survey, readings=(*survey.readings, again)))
    assert "readings of place 4 lie 9 mm apart" in so_far.problems[0]
    assert so_far.suspect == {"staff.4"}


def test_a_step_in_the_floor_is_a_doubt_and_does_not_stand_in_the_way():
    survey = read(surveying("laser"), tilted, wrong={"staff.5": 90.0})
    so_far = found(survey)
    assert so_far.problems == ()
    assert "5 lies" in so_far.doubts[0]
    assert "read it again, unless the floor has a step there" in so_far.doubts[0]
    assert so_far.parts["staff.5"].outcome == "too_close"
    assert so_far.why_not == ""


def test_two_lasers_cannot_be_compared():
    tools = {**INSTRUMENTS, "laser-2": replace(INSTRUMENTS["laser"], id="laser-2")}
    survey = read(surveying("laser"), tilted)
    other = replace(survey.readings[2], instrument="laser-2")
    survey = replace(survey, readings=(*survey.readings[:2], other, *survey.readings[3:]))
    so_far = standing(survey, ROOM, tools, SHOP)
    assert "heights of two lasers cannot be compared" in so_far.sentence
    assert "two lasers" in so_far.why_not


# --- level ---------------------------------------------------------------------------------------


def test_a_wrong_sign_is_caught_as_soon_as_it_is_typed():
    survey = surveying("level")
    keys = [k for r in survey.runs[:6] for k in run_keys(r)]
    sound = read(survey, tilted, zero=0.3, keys=tuple(keys))
    last = sound.readings[-1]
    slip = replace(sound, readings=(*sound.readings[:-1], replace(last, value=-float(last.value))))
    assert found(sound).problems == ()
    so_far = found(slip)
    assert so_far.problems
    assert so_far.suspect == {run_keys(survey.runs[5])[1]}
    assert so_far.parts[run_keys(survey.runs[5])[1]].outcome == "fail"


def test_a_loop_that_does_not_close_names_the_run():
    survey = surveying("level")
    run = survey.runs[len(survey.runs) // 2]
    first, turned = run_keys(run)
    so_far = found(read(survey, tilted, zero=0.3, wrong={first: 6.0, turned: -6.0}))
    assert f"{run[0]} to {run[1]}" in so_far.problems[0]
    assert {first, turned} <= so_far.suspect


def test_a_loop_is_told_beside_the_run_that_closed_it():
    so_far = found(read(surveying("level"), tilted))
    closing = [p for p in so_far.parts.values() if "The walk" in p.reason]
    assert closing
    assert all("misses its start by 0 mm" in p.reason for p in closing)
    assert all(p.low < p.value < p.high for p in so_far.parts.values())


# --- what is left, and the picture ---------------------------------------------------------------


def test_what_is_missing_is_named():
    survey = surveying("laser")
    assert "first 1: left front wheel" in found(survey).sentence
    part = read(survey, tilted, keys=tuple(staff_key(n.name) for n in survey.nodes[:-1]))
    so_far = found(part)
    assert f"Place {survey.nodes[-1].name} is not read yet" in so_far.why_not
    assert so_far.open == (staff_key(survey.nodes[-1].name), "again.1")


@pytest.mark.parametrize("way", ["laser", "level"])
def test_the_plan_shows_bay_things_places_and_runs(way):
    room = bay(obstacles=(POST,))
    survey = surveying(way, room)
    begun = found(survey, questions(survey)[0].key, room=room).picture
    assert any(isinstance(s, Outline) and s.role == "bay" for s in begun)
    assert any(s.role == "obstacle" and s.label == "post" for s in begun)
    spots = [s for s in begun if isinstance(s, Spot) and s.role == "height"]
    assert [s.label for s in spots] == [n.name for n in survey.nodes]
    assert {s.label for s in spots if s.marked} == set(survey.runs[0] if way == "level" else "1")
    assert not any(isinstance(s, Line) and s.role == "height" for s in begun)
    done = found(read(survey, tilted), room=room).picture
    assert sum(isinstance(s, Line) and s.role == "height" for s in done) == len(survey.runs)
    assert all("mm" in s.label and not s.marked for s in done if isinstance(s, Spot) and s.role == "height")


def test_a_reading_of_another_check_is_none_of_the_surveys():
    survey = read(surveying("laser"), tilted)
    foreign = replace(survey.readings[0], check="tyres", value=9.0, at=AT)
    assert foreign.check != CHECK
    assert found(replace(survey, readings=(foreign, *survey.readings))).problems == ()

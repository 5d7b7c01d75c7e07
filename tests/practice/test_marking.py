"""What calls were worth."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from msgspec.structs import replace as changed

from readiness.practice.exercise import exercise, with_fault
from readiness.practice.faults import CATALOGUE
from readiness.practice.filling import blank, with_readings
from readiness.practice.ground import moment
from readiness.practice.marking import marked, worth
from readiness.practice.model import Call, GoCall, Look, Truth
from tests.practice.apprentices import careful, careless, played
from tests.practice.cars import NOW, everywhere, finding, sides_of, sound_car

AT = moment()


def as_the_engine(car, job):
    """An apprentice who says of each check what the program will."""
    outcomes = {t: finding(job, t).outcome for t in car.topics}
    return [Call(t, o if o in ("pass", "fail") else "too_close", AT) for t, o in outcomes.items()]


def all_pass(car):
    return [Call(t, "pass", AT) for t in car.topics]


def mark_of(marks, check):
    return next(m for m in marks.checks if m.topic[0] == check)


@pytest.mark.parametrize(
    ("bad", "near", "said", "is_worth"),
    [
        (False, False, "pass", "right"), (False, False, "fail", "false_alarm"), (False, False, "too_close", "false_alarm"),
        (False, True, "pass", "right"), (False, True, "too_close", "right"), (False, True, "fail", "false_alarm"),
        (True, False, "pass", "missed"), (True, False, "fail", "caught"), (True, False, "too_close", "caught"),
        (True, True, "pass", "missed"), (True, True, "too_close", "caught"), (True, True, "fail", "caught"),
    ],
)  # fmt: skip
def test_what_a_call_is_worth(bad, near, said, is_worth):
    assert worth(Truth(bad, near), said) == is_worth


@pytest.mark.parametrize("level", [1, 2, 3, 4, 5])
def test_the_careful_one_is_right_everywhere(level):
    """Save for what nobody can tell."""
    for seed in range(20, 28):
        car = exercise(seed, level)
        job = played(car, careful)
        marks = marked(car, job.visit, job.looks, as_the_engine(car, job), [], NOW)
        assert tuple(m.topic for m in marks.checks) == car.topics
        for mark in marks.checks:
            assert mark.worth in ("right", "caught") or mark.truth.near, (seed, mark)
            assert mark.unseen == () or mark.truth.near, (seed, mark)
            assert mark.for_nothing == ()


@pytest.mark.parametrize(("id", "sheet"), everywhere())
def test_what_the_careless_one_missed_is_named(id, sheet):
    car = with_fault("m", CATALOGUE[id], sheet, sides_of(sheet))
    topic = car.planted[0].topic
    job = played(car, careless)
    marks = marked(car, job.visit, job.looks, as_the_engine(car, job), [], NOW)
    mark = next(m for m in marks.checks if m.topic == topic)
    assert mark.truth.fault == id
    if CATALOGUE[id].habit:
        assert mark.worth == "missed"
        assert mark.unseen, id
        assert all(label[0].isupper() or "." not in label for label in mark.unseen)
    else:
        assert mark.worth == "caught"


def test_a_go_on_a_bad_car_is_missed():
    car = with_fault("m", CATALOGUE["door-ajar"], "pipit-front", ("single",))
    job = played(car, careless)
    marks = marked(car, job.visit, job.looks, all_pass(car), [GoCall("single", True, AT)], NOW)
    assert [s.worth for s in marks.sides] == ["missed"]
    marks = marked(car, job.visit, job.looks, all_pass(car), [GoCall("single", False, AT)], NOW)
    assert [s.worth for s in marks.sides] == ["caught"]


def test_a_fault_of_one_side_leaves_the_other_a_go():
    car = with_fault("m", CATALOGUE["sticker"], "tern-rear-corner", ("left", "right"))
    job = played(car, careful)
    calls = [GoCall(side, True, AT) for side in car.sides]
    bad = car.planted[0].topic[1]
    for side in marked(car, job.visit, job.looks, all_pass(car), calls, NOW).sides:
        assert side.worth == ("missed" if side.side == bad else "right")


def test_the_last_call_counts_and_what_was_not_called_has_no_mark():
    car = sound_car("1", "pipit-front")
    job = played(car, careful)
    calls = [Call(("tyres", ""), "pass", AT + timedelta(minutes=1)), Call(("tyres", ""), "fail", AT)]
    marks = marked(car, job.visit, job.looks, calls, [], NOW)
    assert [(m.topic, m.said, m.worth) for m in marks.checks] == [(("tyres", ""), "pass", "right")]
    assert marks.sides == ()


def test_a_second_reading_of_what_the_first_had_decided_was_for_nothing():
    car = sound_car("1", "pipit-front")
    job = played(car, careful)
    again = next(r for r in job.visit.job.readings if r.question == "pressure.lr")
    visit = with_readings(job.visit, [changed(again, at=again.at + timedelta(minutes=1))])
    marks = marked(car, visit, job.looks, all_pass(car), [], NOW)
    assert mark_of(marks, "tyres").for_nothing == ("left rear: pressure",)
    looks = (*job.looks, Look(("light", "", "light.1"), "lux-1", AT))
    assert mark_of(marked(car, job.visit, looks, all_pass(car), [], NOW), "light").for_nothing == (
        "At the sensor",
    )


def test_a_second_reading_near_the_limit_was_worth_it():
    car = sound_car("1", "pipit-front")
    least = car.world.check("light").limits.least
    light = {**car.world.light, ("light", "", "light.1"): least * 1.01}
    car = replace(car, world=replace(car.world, light=light))
    job = played(car, careful)
    looks = (*job.looks, Look(("light", "", "light.1"), "lux-1", AT))
    mark = mark_of(marked(car, job.visit, looks, all_pass(car), [], NOW), "light")
    assert mark.truth.near
    assert mark.for_nothing == ()


def test_marks_are_the_same_again():
    car = exercise(11, 4)
    job = played(car, careless)
    first = marked(car, job.visit, job.looks, all_pass(car), [], NOW)
    assert first == marked(car, job.visit, job.looks, all_pass(car), [], NOW)


def test_who_took_an_instrument_past_its_date_made_that_check_bad():
    """The car is sound; the lux meter that he chose is not."""
    car = sound_car("1", "pipit-front")
    job = played(car, careful)
    old = [r for r in job.visit.job.readings if r.check == "light"]
    visit = replace(job.visit, job=changed(job.visit.job, readings=tuple(
        changed(r, instrument="lux-2") if r in old else r for r in job.visit.job.readings
    )))  # fmt: skip
    mark = mark_of(marked(car, visit, job.looks, all_pass(car), [], NOW), "instruments")
    assert (mark.worth, mark.engine, mark.truth.bad) == ("missed", "fail", True)
    assert "lux" in mark.truth.was.lower()
    assert mark_of(marked(car, job.visit, job.looks, all_pass(car), [], NOW), "instruments").worth == "right"


def test_a_fault_that_the_car_brought_keeps_its_name():
    car = with_fault("m", CATALOGUE["overdue-meter"], "pipit-front", ("single",))
    job = played(car, careful)
    mark = mark_of(marked(car, job.visit, job.looks, all_pass(car), [], NOW), "instruments")
    assert mark.truth.fault == "overdue-meter"


@pytest.mark.parametrize(("id", "sheet"), everywhere()[::3])
def test_who_answers_nothing_gets_marks_all_the_same(id, sheet):
    car = with_fault("n", CATALOGUE[id], sheet, sides_of(sheet))
    nothing = blank(car.world, moment())
    marks = marked(car, nothing, (), all_pass(car), [GoCall(s, True, AT) for s in car.sides], NOW)
    mine = next(m for m in marks.checks if m.topic == car.planted[0].topic)
    assert mine.worth == "missed"
    assert mine.engine == "not_done"
    assert len(mine.unseen) == len(car.planted[0].shown_by)
    assert "missed" in {s.worth for s in marks.sides}

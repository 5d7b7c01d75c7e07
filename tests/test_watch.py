"""What a go is worth while it lasts: its end, what would end it sooner, what serves the other side."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from hypothesis import given as any_of
from hypothesis import settings
from hypothesis import strategies as st
from msgspec.structs import replace as changed

from readiness import watch
from readiness.checklist.model import EVER, Step
from readiness.job import VOID_EVENTS, Event, Fix
from readiness.verdict import judge
from tests.scenes import AT, NOW, check, given, visit
from tests.test_verdict import DOORS, GOOD, HEIGHTS, MARKS_LIMITS, STANCE_LIMITS, TAPES, with_job

STANCE = check("stance", STANCE_LIMITS, hold=120.0, voided_by=("car_moved", "got_in"))
MARKS = check("centre_marks", MARKS_LIMITS, hold=480.0, voided_by=("car_moved",))
CLOSED = check("states", DOORS, id="closed", title="Closed", hold=30.0, voided_by=("door_opened", "got_in"))
SPARE = check("states", DOORS, id="cover", title="Cover", hold=60.0, per_side=True)
EVENTS = sorted(VOID_EVENTS)


def ready(*more, **how):
    """A visit whose checks all pass when it is judged at NOW."""
    return visit(STANCE, MARKS, CLOSED, *more, readings={**GOOD, **how.pop("also", {})}, **how)


def happened(event, minutes):
    return Event(event=event, at=AT + timedelta(minutes=minutes), by="A. Test")


def side(made, now):
    return judge(made, now).sides["single"]


@pytest.mark.parametrize(
    ("minutes", "word"),
    [(0, "go"), (24.99, "go"), (25, "soon"), (29.99, "soon"), (30, "lapsed"), (600, "lapsed")],
)
def test_the_word_follows_the_time_left(minutes, word):
    """Closed holds half an hour; from five minutes before its end nobody should begin anything long."""
    now = AT + timedelta(minutes=minutes)
    assert watch.standing(side(ready(), now), now) == word


def test_what_is_wrong_or_was_never_read_has_not_lapsed():
    late = AT + timedelta(minutes=31)
    crooked = {**GOOD, "centre_marks": {**TAPES, "front.left": "760 mm"}}
    wrong = visit(STANCE, MARKS, CLOSED, readings=crooked)
    unread = visit(STANCE, MARKS, CLOSED, readings={"stance": HEIGHTS, "closed": {"doors": "y"}})
    assert watch.standing(side(wrong, late), late) == "no-go"
    assert watch.standing(side(unread, late), late) == "no-go"


def test_what_lapses_first_stands_first_and_what_lapses_together_stands_together():
    tires = {"closed": {"doors": given("y", minutes=1)}}
    other = check("states", DOORS, id="other", title="Other", hold=31.2)
    made = ready(other, also={**tires, "other": {"doors": "y"}})
    lapses = watch.lapsing(side(made, NOW))
    assert [(x.titles, x.at - AT) for x in lapses] == [
        (("Closed", "Other"), timedelta(minutes=31)),
        (("Stance",), timedelta(minutes=120)),
        (("Centre marks",), timedelta(minutes=480)),
    ]
    assert lapses[0].at == side(made, NOW).lapses_at


def test_nothing_lapses_that_counts_no_more():
    now = AT + timedelta(minutes=31)
    assert [x.titles for x in watch.lapsing(side(ready(), now))] == [("Stance",), ("Centre marks",)]


def test_an_event_undoes_what_the_checklist_says():
    undone = watch.undone(ready(), NOW)
    assert {e: [c.id for c in checks] for e, checks in undone.items() if checks} == {
        "car_moved": ["stance", "centre_marks"],
        "got_in": ["stance", "closed"],
        "door_opened": ["closed"],
    }
    assert list(undone) == list(VOID_EVENTS)


def test_what_only_follows_from_others_is_not_to_be_answered_again():
    """The instruments are judged by the readings that count: with them gone nothing is to be typed there."""
    needs = {"needs": [{"measures": "length", "purpose": "ride heights", "accuracy": "2 mm"}]}
    made = ready(check("instruments", needs))
    moved = with_job(made, events=(happened("car_moved", 9),))
    assert judge(made, NOW).go
    assert judge(moved, NOW).sides["single"].finding("instruments").outcome == "lapsed"
    assert [c.id for c in watch.undone(made, NOW)["car_moved"]] == ["stance", "centre_marks"]
    assert watch.standing(judge(moved, NOW).sides["single"], NOW) == "lapsed"


def test_what_counts_no_more_is_not_undone_again():
    made = ready(events=[happened("car_moved", 5)])
    assert [c.id for c in watch.undone(made, NOW)["got_in"]] == ["closed"]
    assert watch.undone(made, NOW)["car_moved"] == ()


@settings(max_examples=40)
@any_of(st.lists(st.tuples(st.sampled_from(EVENTS), st.integers(1, 9)), max_size=4), st.sampled_from(EVENTS))
def test_what_was_announced_is_what_happens(before, event):
    """Outside reference: the verdict itself, once the event is in the job."""
    made = ready(SPARE, also={("cover", "left"): {"doors": "y"}}, sides=("left", "right"))
    made = with_job(made, events=tuple(happened(e, m) for e, m in before))
    announced = {c.id for c in watch.undone(made, NOW)[event]}
    then = NOW + timedelta(seconds=1)
    later = with_job(made, events=(*made.job.events, Event(event=event, at=then, by="A. Test")))
    was, now = judge(made, then), judge(later, then)
    ended = {
        a.check
        for s in was.sides
        for a, b in zip(was.sides[s].findings, now.sides[s].findings, strict=True)
        if a.counts and not b.counts
    }
    assert announced == ended


def test_the_other_side_uses_what_holds():
    made = ready(SPARE, also={("cover", "left"): {"doors": "y"}}, sides=("left",))
    made = visit_for(made, ("left", "right"))
    (right,) = watch.other_sides(made, NOW)
    assert right == watch.OtherSide("right", ("stance", "centre_marks", "closed"), ("cover",), (), 4, False)


def test_a_side_of_the_job_that_fails_says_what_is_wrong():
    cover = {("cover", "left"): {"doors": "y"}, ("cover", "right"): {"doors": "n"}}
    made = visit_for(ready(SPARE, also=cover, sides=("left", "right")), ("left", "right"))
    (right,) = watch.other_sides(made, NOW)
    assert (right.to_ask, right.wrong, right.in_job) == ((), ("cover",), True)


def visit_for(made, sides):
    """The same visit with a checklist of these sides."""
    return replace(made, checklist=changed(made.checklist, sides=sides))


def test_one_calibration_has_no_other_side():
    assert watch.other_sides(ready(), NOW) == ()


def test_the_same_event_twice_with_nothing_read_between_is_told_already():
    made = ready(events=[happened("got_in", 5)])
    assert watch.told_already(made, "got_in") == AT + timedelta(minutes=5)
    assert watch.told_already(made, "car_moved") is None
    again = {**GOOD, "closed": {"doors": given("y", minutes=6)}}
    read = visit(STANCE, MARKS, CLOSED, readings=again, events=[happened("got_in", 5)])
    assert watch.told_already(read, "got_in") is None


# --- what happens to one side ---------------------------------------------------------------------

BRACKET = check(
    "states", DOORS, id="bracket", per_side=True, voided_by=("sensor_touched",), a_fix_is=("sensor_touched",)
)
CAREFUL = check("states", DOORS, id="cover", per_side=True, voided_by=("sensor_touched",))
BOTH = {(name, s): {"doors": "y"} for name in ("bracket", "cover") for s in ("left", "right")}


def counting(**how):
    made = visit(BRACKET, CAREFUL, readings=BOTH, sides=("left", "right"), **how)
    found = judge(made, NOW).sides
    return {(f.check, s) for s in found for f in found[s].findings if f.counts}


@pytest.mark.parametrize(("touched", "left_over"), [("", set()), ("left", {"right"}), ("right", {"left"})])
def test_a_sensor_that_is_touched_is_that_of_one_side(touched, left_over):
    event = changed(happened("sensor_touched", 5), side=touched)
    assert counting(events=[event]) == {(name, s) for name in ("bracket", "cover") for s in left_over}


def test_putting_one_sides_bracket_right_touches_the_other_sides_sensor_not():
    fix = Fix(check="bracket", side="left", at=AT + timedelta(minutes=5), by="A. Test")
    assert counting(fixes=[fix]) == {("bracket", "right"), ("cover", "right")}


def test_the_same_event_on_the_other_side_is_news():
    left = changed(happened("sensor_touched", 5), side="left")
    made = visit(CAREFUL, sides=("left", "right"), events=[left])
    told = {s: watch.told_already(made, "sensor_touched", s) for s in ("left", "right", "")}
    assert told == {"left": left.at, "right": None, "": None}
    either = visit(CAREFUL, sides=("left", "right"), events=[happened("sensor_touched", 5)])
    assert watch.told_already(either, "sensor_touched", "left") == left.at


# --- with a result -------------------------------------------------------------------------------

RESULT = check("result", id="result", per_side=True, hold=EVER)
WALK = Step(id="all", title="All", checks=("stance", "centre_marks", "closed", "cover"))
AFTER = Step(id="after", title="After", checks=("result",))


def two_sided(cover, results=None, **how):
    """Both sides in the job; `cover` and `results` give the answers of each."""
    also = {("cover", side): {"doors": word} for side, word in cover.items()}
    also |= {("result", side): {"completed": word} for side, word in (results or {}).items()}
    both = {"sides": ("left", "right"), "steps": (WALK,), "closing": (AFTER,)}
    return visit_for(ready(SPARE, RESULT, also=also, **both, **how), ("left", "right"))


def test_a_side_with_its_result_is_at_work_no_more():
    covers = {"left": "y", "right": "y"}
    assert watch.at_work(two_sided(covers), NOW) == ("left", "right")
    left = two_sided(covers, {"left": given("y", minutes=5)})
    assert watch.at_work(left, NOW) == ("right",)
    assert not watch.all_calibrated(left, NOW)
    both = two_sided(covers, {"left": given("y", minutes=5), "right": given("y", minutes=6)})
    assert watch.at_work(both, NOW) == ("left", "right")
    assert watch.all_calibrated(both, NOW)
    assert watch.all_calibrated(both, NOW + timedelta(days=400))


def test_a_bad_result_or_a_touched_sensor_leaves_a_side_at_work():
    covers = {"left": "y", "right": "y"}
    failed = two_sided(covers, {"left": given("n", minutes=5)})
    assert watch.at_work(failed, NOW) == ("left", "right")
    for side, at_work in (("", ("left", "right")), ("left", ("left", "right")), ("right", ("right",))):
        event = changed(happened("sensor_touched", 6), side=side)
        touched = two_sided(covers, {"left": given("y", minutes=5)}, events=[event])
        assert watch.at_work(touched, NOW) == at_work


def test_a_result_is_asked_of_sides_that_are_or_were_ready():
    mixed = {"left": "y", "right": "n"}
    assert watch.to_close(two_sided(mixed), NOW) == ("left",)
    assert watch.to_close(two_sided(mixed), AT + timedelta(minutes=40)) == ("left",)
    with_result = two_sided(mixed, {"right": given("n", minutes=5)})
    assert watch.to_close(with_result, NOW) == ("left", "right")
    assert watch.to_close(two_sided({"left": "n", "right": "n"}), NOW) == ("left", "right")


def test_a_calibrated_side_is_no_other_side():
    left = two_sided({"left": "n", "right": "n"}, {"left": given("y", minutes=5)})
    assert [o.side for o in watch.other_sides(left, NOW)] == ["right"]

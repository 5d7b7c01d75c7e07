"""What a person who ends a job is told to be open or wrong."""

from __future__ import annotations

from datetime import timedelta

from readiness.records.account import account
from readiness.records.ending import unsettled
from tests.scenes import AT, NOW, given
from tests.test_watch import happened, ready, two_sided

LATER = NOW + timedelta(minutes=5)


def points(made):
    return unsettled(account(made, LATER))


def test_nothing_is_open_where_each_side_has_its_result_under_a_go():
    done = two_sided(
        {"left": "y", "right": "y"}, {"left": given("y", minutes=5), "right": given("y", minutes=6)}
    )
    assert points(done) == ()


def test_sides_are_named_where_they_differ():
    half = two_sided({"left": "y", "right": "n"}, {"left": given("y", minutes=5)})
    assert points(half) == ("Right side: there was no go.", "Not done: Result (right).")
    none = two_sided({"left": "y", "right": "y"})
    assert points(none) == ("Not done: Result (left), Result (right).",)


def test_what_went_wrong_comes_before_what_is_missing():
    failed = two_sided({"left": "y", "right": "y"}, {"left": given("n", minutes=5)})
    assert points(failed) == ("Not as it should be: Result (left).", "Not done: Result (right).")


def test_a_result_without_a_go_says_since_when_there_was_none():
    late = two_sided(
        {"left": "y", "right": "y"}, {"left": given("y", minutes=9), "right": given("y", minutes=9)},
        events=[happened("car_moved", 7)],
    )  # fmt: skip
    left, right = points(late)
    assert left.startswith("Left side: the result was read at 09:09, ")
    assert "car was moved" in left
    assert right.startswith("Right side: ")


def test_one_calibration_has_no_side_to_name():
    assert points(ready()) == ()
    early = unsettled(account(ready(), AT - timedelta(minutes=1)))
    assert early == ("There was no go.",)

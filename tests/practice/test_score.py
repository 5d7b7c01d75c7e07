"""Scores from drawn results: counts, mastery, points, what next; against statsmodels, hand figures and laws."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from statsmodels.stats.proportion import proportion_confint

from readiness.practice.finished import finished, first_time
from readiness.practice.model import GoMark, Mark, Marked, Truth
from readiness.practice.score import MASTERED, STEP_UP, TOP, Tally, score
from tests.outside import table
from tests.practice.drawn import AT, call, done, go

WHO = "Odo Brack"


def of(*pairs: tuple[str, bool], check: str = "tyres") -> list:
    """One exercise for each call (said, bad) of one check."""
    return [done(n, [call(check, said, bad)]) for n, (said, bad) in enumerate(pairs)]


def perfect(bad: int, sound: int, **more) -> list:
    calls = [("fail", True)] * bad + [("pass", False)] * sound
    return [
        done(n, [call("tyres", said, is_bad)], [go(said == "pass", is_bad)], **more)
        for n, (said, is_bad) in enumerate(calls)
    ]


def test_each_call_is_counted_once_as_what_it_was():
    found = score(
        WHO, of(("fail", True), ("too_close", True), ("pass", True), ("pass", False), ("fail", False))
    )
    assert found.checks == Tally(caught=2, missed=1, right=1, false_alarms=1)
    assert (found.checks.bad.hits, found.checks.bad.of) == (2, 3)
    assert (found.checks.sound.hits, found.checks.sound.of) == (1, 2)


said = st.sampled_from(["pass", "fail", "too_close"])
exercises = st.lists(
    st.tuples(st.sampled_from(["tyres", "light", "floor"]), said, st.booleans()), max_size=60
)


@given(exercises)
def test_intervals_are_those_of_statsmodels_and_topics_sum_to_the_whole(drawn):
    found = score(WHO, [done(n, [call(*one)]) for n, one in enumerate(drawn)])
    assert sum(t.tally.calls for t in found.topics) == found.checks.calls == len(drawn)
    for topic in found.topics:
        shares = [topic.tally.bad, topic.tally.sound]
        ends = [proportion_confint(s.hits, s.of, method="wilson") if s.of else (0.0, 1.0) for s in shares]
        for share, theirs in zip(shares, ends, strict=True):
            assert share.interval == pytest.approx(theirs, abs=1e-12)
        assert topic.tally.mastered is all(low >= MASTERED for low, _ in ends)


def test_three_lucky_answers_are_no_mastery():
    (row,) = [r for r in table()["wilson_95"] if (r["hits"], r["of"]) == (3, 3)]
    found = score(WHO, perfect(3, 3))
    assert found.checks.bad.interval[0] == pytest.approx(row["low"], abs=6e-5)
    assert not found.topics[0].tally.mastered
    assert not found.mastered
    assert found.level == 1


@pytest.mark.parametrize(
    ("bad", "sound", "mastered"), [(9, 9, True), (8, 9, False), (9, 8, False), (200, 0, False), (0, 200, False)]
)  # fmt: skip
def test_mastery_takes_both_intervals(bad, sound, mastered):
    # by hand: 9 / (9 + 1.96^2) = 0.7009, 8 / (8 + 1.96^2) = 0.6756
    found = score(WHO, perfect(bad, sound))
    assert found.topics[0].tally.mastered is mastered
    assert found.mastered is mastered


@given(st.integers(0, 30), st.integers(0, 30))
def test_who_says_the_same_of_everything_masters_nothing(bad, sound):
    always_pass = of(*[("pass", True)] * bad, *[("pass", False)] * sound)
    never_pass = of(*[("fail", True)] * bad, *[("fail", False)] * sound)
    for found in (score(WHO, always_pass), score(WHO, never_pass)):
        assert not any(t.tally.mastered for t in found.topics)
        assert found.level == 1


def test_a_go_on_a_bad_car_weighs_most():
    def lost(*exercise) -> int:
        points = score(WHO, [done(1, *exercise)]).points
        return points.at_stake - points.kept

    costs = [
        lost([], [go(True, True)]),
        lost([call("tyres", "pass", True)], []),
        lost([], [go(False, False)]),
        lost([call("tyres", "fail", False)], []),
    ]
    assert costs == [10, 3, 2, 1]
    assert lost([call("tyres", "fail", True)], [go(False, True)]) == 0
    assert score(WHO, []).points.share is None


def test_the_same_car_again_counts_for_nothing():
    first = done(7, [call("tyres", "pass", True)], minutes=0)
    again = done(7, [call("tyres", "fail", True)], minutes=5)
    other = done(7, [call("tyres", "fail", True)], minutes=9, catalogue="2")
    found = score(WHO, [again, other, first])
    assert (found.exercises, found.repeated) == (2, 1)
    assert found.checks == Tally(caught=1, missed=1)
    assert first_time([again, first]) == (first,)


# --- what next -----------------------------------------------------------------------------------


def test_the_topic_where_bad_ones_are_missed_comes_before_false_alarms_and_both_before_what_goes_well():
    drawn = [
        *[done(n, [call("missing", "pass", n % 2 == 0)]) for n in range(12)],
        *[done(20 + n, [call("alarming", "fail", n % 2 == 0)]) for n in range(12)],
        *[done(40 + n, [call("sound", "fail" if n % 2 else "pass", n % 2 == 1)]) for n in range(12)],
    ]
    found = score(WHO, drawn)
    assert [t.check for t in found.topics] == ["missing", "alarming", "sound"]
    assert found.practise is not None
    assert found.practise.check == "missing"


def test_of_two_that_went_well_the_one_less_known_comes_first():
    drawn = perfect(8, 8) + [done(90 + n, [call("light", "fail" if n else "pass", n == 1)]) for n in range(2)]
    assert [t.check for t in score(WHO, drawn).topics] == ["light", "tyres"]


def test_what_was_never_met_comes_before_what_is_nearly_mastered_and_after_what_was_missed_often():
    known = {"tyres": "Tyres", "aim": "Aim"}
    assert score(WHO, perfect(8, 8), known).practise.check == "aim"
    missed = of(*[("pass", True)] * 4, *[("fail", True)] * 4)
    assert score(WHO, missed, known).practise.check == "tyres"


def test_where_nothing_can_be_wrong_nothing_is_advised_nor_asked_for():
    drawn = perfect(9, 9) + [done(90 + n, [call("standing", "pass", False)]) for n in range(5)]
    found = score(WHO, drawn, {"tyres": "Tyres"})
    assert [t.check for t in found.topics] == ["tyres", "standing"]
    assert found.practise is None
    assert found.mastered
    assert score(WHO, drawn).practise.check == "standing"


@given(exercises)
def test_the_mastered_come_last_and_only_what_is_not_is_advised(drawn):
    good = [done(100 + n, [call("aim", "fail" if n % 2 else "pass", n % 2 == 1)]) for n in range(18)]
    found = score(WHO, [done(n, [call(*one)]) for n, one in enumerate(drawn)] + good)
    order = [t.tally.mastered for t in found.topics]
    assert order == sorted(order)
    assert order[-1]
    assert (found.practise is None) is all(order)
    assert found.practise is None or not found.practise.tally.mastered


@given(exercises)
def test_one_more_miss_never_makes_a_topic_less_needy(drawn):
    calls = [("tyres", said, bad) for _, said, bad in drawn]
    before, after = (
        score(WHO, [done(n, [call(*one)]) for n, one in enumerate(some)])
        for some in (calls, [*calls, ("tyres", "pass", True)])
    )
    if before.topics:
        assert after.topics[0].need > before.topics[0].need


def test_levels_go_up_by_what_was_shown_and_one_at_a_time():
    # by hand: 4 / (4 + 1.96^2) = 0.5101 passes one half, 3 / (3 + 1.96^2) = 0.4385 does not
    assert STEP_UP == 0.5
    assert score(WHO, perfect(3, 4)).level == 1
    assert score(WHO, perfect(4, 4)).level == 2
    assert score(WHO, perfect(4, 4, level=3)).level == 4  # shown on harder cars, so shown
    assert score(WHO, perfect(50, 50, level=TOP)).level == TOP
    assert score(WHO, []).level == 1


def test_who_calls_checks_well_and_goes_badly_stays():
    drawn = [
        done(n, [call("tyres", "fail" if n % 2 else "pass", n % 2 == 1)], [go(True, n % 2 == 1)])
        for n in range(20)
    ]
    assert score(WHO, drawn).level == 1


# --- from marks ----------------------------------------------------------------------------------


class Car:
    seed, level, sheet, bay, sides, topics = 7, 2, "tern-rear-corner", "bay-1", ("left",), ()


def test_what_is_kept_of_marks_is_what_they_say():
    truth = Truth(bad=True, near=True, fault="hot_tyre", was="It was hot.", shown_by=("lf",))
    mark = Mark(
        ("tyres", "left"), "Tyres", "pass", "missed", truth, "fail", ("left front",), ("right front",)
    )
    marked = Marked((mark,), (GoMark("left", True, True), GoMark("right", False, False)))
    kept = finished(Car(), "Odo", AT, marked, "3")
    assert kept.car == (7, 2, "tern-rear-corner", "3")
    (one,) = kept.calls
    assert (one.check, one.side, one.title, one.said, one.worth) == (
        "tyres",
        "left",
        "Tyres",
        "pass",
        "missed",
    )
    assert (one.bad, one.near, one.fault, one.engine) == (True, True, "hot_tyre", "fail")
    assert [(g.side, g.said, g.worth) for g in kept.goes] == [
        ("left", True, "missed"),
        ("right", False, "false_alarm"),
    ]
    found = score("Odo", [kept])
    assert (found.unlooked, found.for_nothing) == (1, 1)

"""The lines of one person's score and the tables of all: what they say, that they fit, that they steer nothing."""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from readiness.measure.proportion import Share
from readiness.practice.score import MASTERED, score
from readiness.report.columns import cells
from readiness.report.practice import marks_as_csv, scores_as_csv, scores_as_dict, table
from readiness.report.practice_words import bar, ends, next_words, score_lines
from readiness.report.text import WIDTH, harmless
from tests.outside import rows
from tests.practice.drawn import call, done, go

WHO = "Odo Brack"


def cars(bad: int, sound: int, missed: int = 0, alarms: int = 0) -> list:
    said = [("pass", True)] * missed + [("fail", True)] * (bad - missed)
    said += [("too_close", False)] * alarms + [("pass", False)] * (sound - alarms)
    return [done(n, [call("tyres", s, b)], [go(s == "pass", b)]) for n, (s, b) in enumerate(said)]


def words(*results, **known) -> str:
    return " ".join(" ".join(score_lines(score(WHO, *results, known or None))).split())


# --- one person ----------------------------------------------------------------------------------


def test_three_of_three_is_shown_with_how_little_it_says():
    told = words(cars(3, 3))
    assert "caught 3 of 3" in told
    assert "43 to 100 %" in told
    assert "mastered" not in told
    assert "6 calls, all right, are not enough to go by" in told


def test_nine_of_nine_of_both_is_mastered_and_says_so():
    told = words(cars(9, 9))
    assert "mastered right 9 of 9" in told
    assert "Every check is mastered. Practise next: cars of level" in told


@pytest.mark.parametrize(
    ("results", "why"),
    [
        (cars(4, 4, missed=2), "Tyres (2 of 4 bad ones missed)"),
        (cars(4, 4, alarms=3), "Tyres (3 of 4 sound ones not passed)"),
        (cars(1, 0), "Tyres (the only call was right, which is not enough to go by)"),
    ],
)
def test_what_to_practise_next_and_why(results, why):
    assert why in next_words(score(WHO, results))


def test_what_was_never_met_is_named():
    assert "Not met yet: Aim, Stance." in words(cars(9, 9), aim="Aim", stance="Stance")


def test_a_car_to_practise_it_on_stands_on_a_line_of_its_own():
    assert "Car 4 has it: readiness practise --seed 4 --level 2" in score_lines(score(WHO, cars(4, 4)), car=4)


def test_nobody_has_no_figures():
    assert score_lines(score(WHO, [])) == [
        "Odo Brack: no car yet. Each that is finished counts, the first time it is met."
    ]


def test_habits_are_told():
    blind = replace(call("tyres", "pass", True), unseen=("left front",), for_nothing=())
    twice = replace(call("light", "pass", False), for_nothing=("middle", "left"))
    told = words([done(1, [blind, twice])])
    assert "Passed 1 bad check without a look, measured 2 times for nothing." in told


def test_what_got_past_is_named_by_its_title_the_most_often_first():
    passed = [
        done(n, [replace(call("tyres", "pass", True), fault=f)])
        for n, f in enumerate(("hot", "hot", "size", "far"))
    ]
    caught = [done(9, [replace(call("tyres", "fail", True), fault="spare")])]
    told = " ".join(
        " ".join(
            score_lines(score(WHO, passed + caught), 78, {"hot": "One tyre hot", "far": "Far off"})
        ).split()
    )
    assert "Got past: One tyre hot (2 times), Far off, size." in told
    assert scores_as_dict([score(WHO, passed)])["people"][0]["got_past"][0] == {"fault": "hot", "times": 2}


def test_the_weights_and_whose_they_are_are_told():
    told = words(cars(3, 3))
    assert "10 points for a go on a bad car, 3 for a bad check passed" in told
    assert "no published source" in told


@settings(max_examples=60)
@given(st.data())
def test_lines_fit_whatever_the_width_and_whoever_it_is(data):
    names = st.text(min_size=1, max_size=40)
    checks = data.draw(
        st.lists(st.tuples(names, st.sampled_from(["pass", "fail"]), st.booleans()), max_size=12)
    )
    results = [done(n, [call(*one)]) for n, one in enumerate(checks)]
    width = data.draw(st.integers(50, 120))
    for line in score_lines(score("Odo " + data.draw(names), results), width):
        assert harmless(line) == line
        if line.isascii() or "├" in line:
            assert cells(line) <= width, line


# --- the bar -------------------------------------------------------------------------------------


@pytest.mark.parametrize("row", rows("wilson_95", lambda r: f"{r['hits']} of {r['of']}"))
def test_the_bar_covers_the_published_interval(row):
    drawn = bar(Share(row["hits"], row["of"]), 102)[1:-1]
    covered = [k for k, glyph in enumerate(drawn) if glyph in "▓●"]
    assert covered[0] == pytest.approx(100 * row["low"], abs=1.01)
    assert covered[-1] == pytest.approx(100 * row["high"], abs=1.01)
    assert drawn.index("●") == min(99, int(100 * row["hits"] / row["of"]))


@given(st.integers(0, 60).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n))), st.integers(8, 60))
def test_a_bar_is_as_wide_as_asked_and_shows_the_mark_unless_the_dot_is_on_it(count, width):
    drawn = bar(Share(*count), width)
    assert len(drawn) == width
    at = 1 + int(MASTERED * (width - 2))
    assert drawn[at] in "│●"
    assert drawn.count("●") == (1 if count[1] else 0)


def test_ends_are_rounded_outwards():
    # by hand: 9 of 9 from 0.70085, 16 of 16 from 0.80636, 8 of 9 from 0.56502 to 0.98013
    assert ends(Share(9, 9)) == "70 to 100 %"
    assert ends(Share(16, 16)) == "80 to 100 %"
    assert ends(Share(8, 9)) == "56 to 99 %"
    assert ends(Share(0, 0)) == "0 to 100 %"


# --- everybody -----------------------------------------------------------------------------------


def test_a_line_for_each_person_that_fits():
    stand = [score(name, cars(9, 9)) for name in ("Odo Brack", "x" * 60, "李雷" * 20)]
    told = table(stand)
    assert max(map(cells, told)) <= WIDTH
    assert "Odo Brack" in told[2]
    assert "9/9" in told[2]
    assert "1/1" in told[2]
    assert "begins" in table([])[0]


def test_data_for_programs_has_the_intervals_of_the_table():
    (person,) = scores_as_dict([score(WHO, cars(3, 3))])["people"]
    assert person["checks"]["caught"] == {"count": 3, "of": 3, "low": 0.4385, "high": 1.0}
    assert person["topics"][0]["mastered"] is False
    assert person["practise_next"] == "tyres"


def test_tables_for_spreadsheets_have_a_row_each_and_no_formula():
    hostile = '=HYPERLINK("http://x")'
    results = [
        done(1, [call(hostile, "fail", True)], [go(False, True)], by=hostile),
        done(1, by=hostile, minutes=9),
    ]
    read = list(csv.DictReader(io.StringIO(marks_as_csv({hostile: results}))))
    assert [(r["of"], r["worth"], r["counts"]) for r in read] == [
        ("check", "caught", "yes"), ("side", "caught", "yes"), ("check", "right", "no"),
    ]  # fmt: skip
    assert all(r["person"].startswith("'=") for r in read)
    stand = list(csv.DictReader(io.StringIO(scores_as_csv([score(WHO, cars(3, 3, missed=1))]))))
    assert [(r["of"], r["caught"], r["bad"], r["right"], r["sound"]) for r in stand] == [
        (of, "2", "3", "3", "3") for of in ("side", "checks", "check")
    ]

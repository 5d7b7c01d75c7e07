"""Two people on the same cars: what is compared, and kappa against statsmodels."""

from __future__ import annotations

import random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from statsmodels.stats.inter_rater import cohens_kappa

from readiness.practice.agreement import CALLS, agreement, compared
from readiness.report.columns import cells
from readiness.report.practice_agreement import agreement_as_dict, agreement_lines
from readiness.report.text import WIDTH, harmless
from tests.outside import rows
from tests.practice.drawn import call, done, go

ONE, OTHER = "Odo Brack", "Bea Vane"


def test_only_the_same_car_is_compared_and_only_the_first_time():
    mine = [
        done(1, [call("tyres", "pass", False), call("light", "fail", False)], [go(True, False)], minutes=0),
        done(1, [call("tyres", "fail", False)], [go(False, False)], minutes=9),
        done(2, [call("tyres", "pass", False)]),
        done(3, [call("tyres", "pass", False)]),
        done(4, [call("tyres", "pass", False)]),
    ]
    theirs = [
        done(1, [call("tyres", "fail", False), call("floor", "fail", False)], [go(False, False)]),
        done(2, [call("tyres", "pass", False)], level=2),
        done(3, [call("tyres", "pass", False)], sheet="pipit-front"),
        done(4, [call("tyres", "pass", False)], catalogue="2"),
    ]
    found = agreement(ONE, mine, OTHER, theirs)
    assert [car[0] for car in found.cars] == [1]
    assert found.calls.table == ((0, 0, 1), (0, 0, 0), (0, 0, 0))
    assert found.sides.table == ((0, 1), (0, 0))


def test_the_same_check_on_another_side_is_another_call():
    mine = [done(1, [call("cover", "pass", False, "left")])]
    theirs = [done(1, [call("cover", "pass", False, "right")])]
    assert agreement(ONE, mine, OTHER, theirs).calls.kappa.calls == 0


pairs = st.lists(st.tuples(st.sampled_from(CALLS), st.sampled_from(CALLS)), min_size=1, max_size=200)


@given(pairs)
@pytest.mark.filterwarnings("ignore::RuntimeWarning")  # theirs divides by zero where there is no kappa
def test_kappa_of_the_calls_as_statsmodels_has_it(drawn):
    mine = [done(n, [call("tyres", a, False)]) for n, (a, _) in enumerate(drawn)]
    theirs = [done(n, [call("tyres", b, False)]) for n, (_, b) in enumerate(drawn)]
    random.Random(len(drawn)).shuffle(theirs)
    found = agreement(ONE, mine, OTHER, theirs).calls
    table = np.zeros((3, 3))
    for a, b in drawn:
        table[CALLS.index(a), CALLS.index(b)] += 1
    assert found.table == tuple(tuple(map(int, row)) for row in table)
    if found.kappa.value is None:
        assert len({said for pair in drawn for said in pair}) == 1
    else:
        assert found.kappa.value == pytest.approx(cohens_kappa(table).kappa, abs=1e-9)


@pytest.mark.parametrize(
    ("same", "apart", "word"),
    [(50, 0, "almost perfect"), (41, 9, "substantial"), (36, 14, "moderate"), (31, 19, "fair"), (27, 23, "slight"),
     (25, 25, "slight"), (10, 40, "poor")],
)  # fmt: skip
def test_words_are_those_of_landis_and_koch_from_memory(same, apart, word):
    # by hand: two categories evenly used by both, so kappa = (same - apart) / (same + apart)
    table = [("go", "go"), ("no-go", "no-go")] * same + [("go", "no-go"), ("no-go", "go")] * apart
    found = compared(("go", "no-go"), table)
    assert found.kappa.value == pytest.approx((same - apart) / (same + apart))
    assert found.word == word


@pytest.mark.parametrize("row", rows("cohen_kappa", lambda r: str(r["table"])))
def test_published_tables_are_told(row):
    (a, b), (c, d) = row["table"]
    drawn = [(True, True)] * a + [(True, False)] * b + [(False, True)] * c + [(False, False)] * d
    mine = [done(n, [], [go(said, True)]) for n, (said, _) in enumerate(drawn)]
    theirs = [done(n, [], [go(said, True)]) for n, (_, said) in enumerate(drawn)]
    found = agreement(ONE, mine, OTHER, theirs)
    told = "\n".join(agreement_lines(found))
    assert f"Kappa {row['kappa']:.2f} (" in told
    assert "Landis and Koch 1977" in " ".join(told.split())
    assert agreement_as_dict(found)["sides"]["kappa"] == pytest.approx(row["kappa"], abs=6e-5)
    assert agreement_as_dict(found)["sides"]["table"] == row["table"]


def test_no_kappa_is_said_in_words():
    same = [done(n, [call("tyres", "pass", False)], [go(True, False)]) for n in range(5)]
    found = agreement(ONE, same, OTHER, same)
    told = " ".join(" ".join(agreement_lines(found)).split())
    assert told.count("No kappa: both made one and the same call throughout") == 2
    assert "nan" not in told.lower()
    assert agreement_as_dict(found)["checks"]["kappa"] is None


def test_no_car_in_common_says_what_to_do():
    found = agreement(ONE, [done(1)], OTHER, [done(2)])
    told = " ".join(agreement_lines(found))
    assert "no car in common" in told
    assert "--seed" in told


@settings(max_examples=50)
@given(pairs, st.text(min_size=1, max_size=60))
def test_lines_fit_and_steer_no_terminal(drawn, name):
    mine = [done(n, [call("tyres", a, False)]) for n, (a, _) in enumerate(drawn)]
    theirs = [done(n, [call("tyres", b, False)], [go(True, True)]) for n, (_, b) in enumerate(drawn)]
    for line in agreement_lines(agreement(name, mine, "x" * 60, theirs)):
        assert cells(line) <= WIDTH + cells(
            name
        )  # a name without blanks is broken by characters, which may be wide
        assert harmless(line) == line

"""Wilson's interval and Cohen's kappa against published rows, statsmodels, and laws."""

from __future__ import annotations

import math
import warnings

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from statsmodels.stats.inter_rater import cohens_kappa
from statsmodels.stats.proportion import proportion_confint

from readiness.measure.proportion import MANY, Share, kappa, wilson
from tests.outside import rows


@pytest.mark.parametrize("row", rows("wilson_95", lambda r: f"{r['hits']} of {r['of']}"))
def test_wilson_as_published(row):
    assert wilson(row["hits"], row["of"]) == pytest.approx((row["low"], row["high"]), abs=6e-5)


@pytest.mark.parametrize(
    "row", rows("wilson_with_continuity_correction", lambda r: f"{r['hits']} of {r['of']}")
)
def test_the_corrected_interval_is_another_one(row):
    low, high = wilson(row["hits"], row["of"])
    assert row["low"] < low - 1e-4
    assert row["high"] > high + 1e-4


counts = st.integers(0, 5000).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n)))


@given(counts.filter(lambda c: c[1] > 0), st.sampled_from([0.05, 0.1, 0.01]))
def test_wilson_as_statsmodels_has_it(count, alpha):
    z = {0.05: 1.959963984540054, 0.1: 1.6448536269514722, 0.01: 2.5758293035489004}[alpha]
    theirs = proportion_confint(*count, alpha=alpha, method="wilson")
    assert wilson(*count, z) == pytest.approx(theirs, abs=1e-12)


@given(counts)
def test_a_share_lies_in_its_interval_and_misses_mirror_hits(count):
    hits, of = count
    low, high = wilson(hits, of)
    assert 0 <= low < high <= 1
    if of:
        assert low <= hits / of <= high
    assert wilson(of - hits, of) == pytest.approx((1 - high, 1 - low), abs=1e-12)
    assert (low == 0, high == 1) == (hits == 0, hits == of)


@given(st.integers(1, 2000))
def test_without_an_error_the_lower_end_only_rises(n):
    # by hand: n / (n + z^2)
    assert wilson(n, n)[0] == pytest.approx(n / (n + 3.8414588206941254), abs=1e-12)
    assert wilson(n + 1, n + 1)[0] > wilson(n, n)[0]


@pytest.mark.parametrize("count", [(-1, 3), (4, 3), (0, -1)])
def test_counts_that_cannot_be_are_refused(count):
    with pytest.raises(ValueError, match="no share"):
        wilson(*count)
    with pytest.raises(ValueError, match="no share"):
        Share(*count)


def test_a_share_of_none_is_unknown():
    assert Share(0, 0).value is None
    assert Share(0, 0).interval == (0.0, 1.0)
    assert Share(0, 0).middle == 0.5
    assert Share(3, 4).value == 0.75


# --- agreement -----------------------------------------------------------------------------------


@pytest.mark.parametrize("row", rows("cohen_kappa", lambda r: str(r["table"])))
def test_kappa_as_published(row):
    got = kappa(row["table"])
    assert got.same / got.calls == pytest.approx(row["p_o"], abs=1e-9)
    assert got.by_chance == pytest.approx(row["p_e"], abs=1e-9)
    assert got.value == pytest.approx(row["kappa"], abs=6e-5)


def tables(size: int, most: int = 60):
    row = st.lists(st.integers(0, most), min_size=size, max_size=size)
    return st.lists(row, min_size=size, max_size=size)


@given(st.sampled_from([2, 3]).flatmap(tables).filter(lambda table: any(map(any, table))))
def test_kappa_as_statsmodels_has_it(table):
    got = kappa(table)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # theirs divides by zero where there is no kappa
        theirs = cohens_kappa(np.array(table, dtype=float))
    if got.value is None:
        assert not math.isfinite(theirs.kappa)
        return
    assert got.value == pytest.approx(theirs.kappa, abs=1e-9)
    if got.u is not None:
        assert got.u == pytest.approx(theirs.std_kappa, rel=1e-6, abs=1e-7)
    else:
        assert theirs.std_kappa == pytest.approx(0, abs=1e-7)


@given(tables(3))
def test_kappa_does_not_mind_who_is_named_first_nor_the_order_of_the_categories(table):
    turned = [list(column) for column in zip(*table, strict=True)]
    back = [row[::-1] for row in table[::-1]]
    for other in (kappa(turned), kappa(back)):
        assert (other.value, other.u) == pytest.approx((kappa(table).value, kappa(table).u), nan_ok=False)


@pytest.mark.parametrize("table", [[[0, 0], [0, 0]], [[7, 0], [0, 0]], [[0, 0], [0, 12]]])
def test_one_category_only_has_no_kappa(table):
    got = kappa(table)
    assert got.value is None
    assert got.u is None
    assert got.interval is None
    assert got.same == got.calls


def test_each_his_own_category_is_no_agreement_and_has_one():
    # by hand: p_o = 0, p_e = 0
    assert kappa([[0, 9], [0, 0]]).value == 0


def test_an_interval_only_for_many_calls_that_do_not_all_agree():
    assert kappa([[MANY // 2, 0], [0, MANY]]).interval is None
    assert kappa([[10, 2], [2, 10]]).interval is None
    low, high = kappa([[20, 5], [5, 20]]).interval
    assert low < 0.6 < high <= 1


@pytest.mark.parametrize("table", [[[1, 2]], [[1, 2], [3]], [[1, -1], [0, 3]]])
def test_tables_that_cannot_be_are_refused(table):
    with pytest.raises(ValueError, match="square table"):
        kappa(table)

"""Straight lines through readings, and Student's t: against scipy and a published example."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import linregress
from scipy.stats import t as student_t

from readiness.measure.chance import two_sided
from readiness.measure.trend import trend

ANSCOMBE_X = (10, 8, 13, 9, 11, 14, 6, 4, 12, 7, 5)
ANSCOMBE_Y = (8.04, 6.95, 7.58, 8.81, 8.33, 9.96, 7.24, 4.26, 10.84, 4.82, 5.68)
"""Anscombe, Graphs in Statistical Analysis, The American Statistician 27 (1973), first set; numbers from memory."""


def test_anscombe_s_first_set():
    """He gives y = 3 + 0.5 x and a standard error of the slope of 0.118 (from memory)."""
    found = trend(ANSCOMBE_X, ANSCOMBE_Y)
    assert found.slope == pytest.approx(0.500, abs=5e-4)
    assert found.u == pytest.approx(0.118, abs=5e-4)
    assert found.at(0.0) == pytest.approx(3.0, abs=5e-3)


values = st.floats(-1e3, 1e3, allow_nan=False)


@settings(max_examples=150)
@given(st.lists(st.tuples(values, values), min_size=3, max_size=30))
def test_it_says_what_scipy_says(points):
    x, y = zip(*points, strict=True)
    if max(x) - min(x) < 1e-3 or max(y) - min(y) < 1e-3:
        return
    found, oracle = trend(x, y), linregress(x, y)
    reach = student_t.ppf(0.975, len(x) - 2) * oracle.stderr
    tiny = 1e-7 * (1.0 + abs(oracle.slope))
    assert found.slope == pytest.approx(oracle.slope, rel=1e-6, abs=tiny)
    assert found.u == pytest.approx(oracle.stderr, rel=1e-4, abs=tiny)
    assert found.low == pytest.approx(oracle.slope - reach, rel=1e-3, abs=1e-3 * (reach + tiny))
    assert found.high == pytest.approx(oracle.slope + reach, rel=1e-3, abs=1e-3 * (reach + tiny))
    assert found.at(0.0) == pytest.approx(oracle.intercept, rel=1e-5, abs=1e-3)


def test_points_on_a_line_leave_no_doubt():
    found = trend((0, 1, 2, 3), (1.0, 1.5, 2.0, 2.5))
    assert (found.slope, found.low, found.high) == pytest.approx((0.5, 0.5, 0.5))
    assert found.sure


def test_a_trend_is_sure_only_where_its_interval_leaves_nought_out():
    """Worked by hand: three points 0, 1, 0.1 at 0, 1, 2 have slope 0.05, residuals 0.3167 -0.6333 0.3167 and u 0.5485."""
    found = trend((0, 1, 2), (0.0, 1.0, 0.1))
    assert found.slope == pytest.approx(0.05)
    assert found.u == pytest.approx(math.sqrt((2 * 0.31667**2 + 0.63333**2) / 2), abs=1e-4)
    assert not found.sure


@pytest.mark.parametrize(
    ("x", "y", "why"),
    [
        ((1, 2), (1, 2), "three points"),
        ((1, 2, 3), (1, 2), "three points"),
        ((1, 1, 1), (1, 2, 3), "the same"),
        ((1, 2, math.nan), (1, 2, 3), "not finite"),
        ((1, 2, 3), (1, 2, math.inf), "not finite"),
    ],
)
def test_what_is_no_trend_is_refused(x, y, why):
    with pytest.raises(ValueError, match=why):
        trend(x, y)


@pytest.mark.parametrize("share", [0.5, 0.8, 0.95, 0.99])
@pytest.mark.parametrize("dof", [1, 2, 3, 4, 5, 8, 9, 30, 31, 120, 400])
def test_student_s_t_both_ways_as_scipy_has_it(dof, share):
    assert two_sided(dof, share) == pytest.approx(student_t.ppf(0.5 + share / 2.0, dof), rel=1e-9)


def test_the_table_that_everybody_knows():
    """Two-sided 95 %: 12.706, 4.303, 3.182, 2.776, 2.228 for 10 (any table of Student's t; from memory)."""
    found = [round(two_sided(dof), 3) for dof in (1, 2, 3, 4, 10)]
    assert found == [12.706, 4.303, 3.182, 2.776, 2.228]


@pytest.mark.parametrize(("dof", "share"), [(0, 0.95), (-1, 0.95), (3, 0.0), (3, 1.0), (3, math.nan)])
def test_there_is_no_t_for_that(dof, share):
    with pytest.raises(ValueError, match="no value"):
        two_sided(dof, share)

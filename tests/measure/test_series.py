"""Repeat readings: what their spread says, and when repeating does not help."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import studentized_range

from readiness.measure.uncertain import CRITICAL_RANGE, series_of


@pytest.mark.parametrize("n", sorted(CRITICAL_RANGE))
def test_critical_range_factors_against_the_studentised_range(n):
    """scipy's studentised range with the standard deviation known; the table is rounded to 0.1."""
    assert CRITICAL_RANGE[n] == pytest.approx(studentized_range.ppf(0.95, n, 100_000), abs=0.06)


def test_an_ordinary_series_gets_better_by_repeating():
    two, four = series_of([230.0, 231.0], 1.0), series_of([230.0, 231.0, 230.0, 231.0], 1.0)
    assert four.u < two.u
    assert two.u == pytest.approx(math.hypot(math.sqrt(0.5) / math.sqrt(2), 1.0))


def test_readings_that_contradict_each_other_do_not():
    """Ride heights of 376 and 404 mm in turns: the mean looks perfect, and means nothing."""
    few, many = series_of([376.0, 404.0], 0.65), series_of([376.0, 404.0] * 8, 0.65)
    assert few.u > 14
    assert many.u > 14


@given(st.lists(st.floats(-1e3, 1e3), min_size=1, max_size=12), st.floats(0, 50))
def test_never_below_the_instrument_and_in_any_order(values, u):
    one, turned = series_of(values, u), series_of(values[::-1], u)
    assert one.u >= u
    assert one.value == pytest.approx(turned.value)
    assert one.u == pytest.approx(turned.u)

"""The tail of chi-square against scipy and printed tables."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import chi2

from readiness.measure.chance import chi_square_tail


@pytest.mark.parametrize(
    ("x", "dof", "tail"), [(3.841, 1, 0.05), (10.828, 1, 0.001), (18.307, 10, 0.05), (124.342, 100, 0.05)]
)
def test_tabled_points(x, dof, tail):
    """Upper points of chi-square as in every table of it (Abramowitz and Stegun table 26.8), from memory."""
    assert chi_square_tail(x, dof) == pytest.approx(tail, rel=1e-3)


@given(st.integers(1, 1500), st.floats(0, 4), st.floats(0, 30))
def test_tail_by_scipy(dof, share, more):
    x = dof * share + more
    assert chi_square_tail(x, dof) == pytest.approx(chi2.sf(x, dof), rel=1e-9, abs=1e-14)


@given(st.integers(1, 1500), st.floats(1, 5))
def test_a_small_tail_keeps_its_digits(dof, share):
    x = dof * share + 2.0
    assert chi_square_tail(x, dof) == pytest.approx(chi2.sf(x, dof), rel=1e-9)


def test_ends_of_the_scale():
    assert chi_square_tail(0.0, 3) == 1.0
    assert chi_square_tail(math.inf, 3) == 0.0
    assert chi_square_tail(1e9, 3) == 0.0


@pytest.mark.parametrize(("x", "dof"), [(1.0, 0), (-1.0, 3), (math.nan, 3)])
def test_what_is_no_chi_square(x, dof):
    with pytest.raises(ValueError, match="chi-square"):
        chi_square_tail(x, dof)

"""The tail of chi-square, and Student's t, against scipy and printed tables."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import chi2, t

from readiness.measure.chance import NORMAL_95, chi_square_tail, student


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


@pytest.mark.parametrize(
    ("dof", "printed"), [(1, 6.31), (2, 2.92), (3, 2.35), (4, 2.13), (5, 2.02), (10, 1.81), (100, 1.660)]
)
def test_student_by_the_table(dof, printed):
    """NIST TN 1297 table B.1, column of 90 % to both sides, so 95 % to one (check-values.md section 12: text seen)."""
    assert student(dof) == pytest.approx(printed, abs=0.007)


@given(st.integers(1, 2000))
def test_student_by_scipy(dof):
    assert student(dof) == pytest.approx(t.ppf(0.95, dof), rel=0.003)


def test_student_ends_at_the_normal_and_begins_at_one():
    assert student(10**9) == pytest.approx(NORMAL_95)
    with pytest.raises(ValueError, match="at least one degree of freedom"):
        student(0)

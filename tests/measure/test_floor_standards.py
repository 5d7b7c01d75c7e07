"""Classes of floors against the tables of the standards, from the reference file."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from readiness.measure.floor_standards import BS_8204_MM, bs8204_class, din18202_limit, f_numbers
from tests.outside import given as outside
from tests.outside import rows, table

DIN_CASES = [
    outside(f"row{r['row']}-{m}m", r["source"], r["verified"], r["row"], m, mm)
    for r in table()["floor_din18202"]
    for m, mm in {**r["mm_at_m"], **r["interpolated_mm_at_m"]}.items()
]


@pytest.mark.parametrize(("row", "length", "mm"), DIN_CASES)
def test_din_18202(row, length, mm):
    assert din18202_limit(row, length) == mm


def test_din_18202_rounds_half_up():
    """The standard's notes say 'to 1 mm'; which way a half goes is our choice, no published source."""
    assert din18202_limit(3, 5.5) == 11
    assert din18202_limit(4, 5.0) == 10


@given(st.sampled_from([3, 4]), st.floats(0.1, 30), st.floats(0, 5))
def test_a_longer_line_may_gap_more_and_never_past_the_last_value(row, length, more):
    assert din18202_limit(row, length) <= din18202_limit(row, length + more) <= 15


@pytest.mark.parametrize(("row", "length"), [(2, 1.0), (3, 0.05), (4, math.nan)])
def test_what_din_18202_does_not_say(row, length):
    with pytest.raises(ValueError, match="DIN 18202"):
        din18202_limit(row, length)


@pytest.mark.parametrize("row", rows("floor_bs8204", lambda r: r["class"]))
def test_bs_8204(row):
    most = row["max_gap_mm_under_2_m"]
    assert bs8204_class(most) == row["class"]
    assert BS_8204_MM[row["class"]] == most
    assert bs8204_class(most + 0.1) != row["class"]


def test_a_floor_beyond_every_class_has_none():
    assert bs8204_class(10.1) == ""
    with pytest.raises(ValueError, match="cannot be"):
        bs8204_class(-1)


@pytest.mark.parametrize("row", rows("floor_fnumbers"))
def test_f_numbers(row):
    assert f_numbers(row["heights_in"]) == pytest.approx((row["FF"], row["FL"]), abs=6e-4)


@given(st.lists(st.integers(-20, 20), min_size=12, max_size=24))
def test_twice_as_rough_is_half_the_f_number(hundredths):
    """F-numbers are linear (ACI pages: FF 30 is twice as flat as FF 15)."""
    line = [h / 100 for h in hundredths]
    ff, fl = f_numbers(line)
    assert f_numbers([2 * h for h in line]) == pytest.approx((ff / 2, fl / 2), rel=1e-9)


def test_f_numbers_want_twelve_readings():
    with pytest.raises(ValueError, match="12 readings"):
        f_numbers([0.0] * 11)
    assert f_numbers([0.0] * 12) == (math.inf, math.inf)

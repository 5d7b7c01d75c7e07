"""Decisions under uncertainty against JCGM 106, published rules, scipy, and laws."""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.stats import norm

from readiness.measure.decide import conformance, decide, e_n
from tests.outside import entries, rows


@pytest.mark.parametrize("row", rows("conformance_probability"))
def test_probability_of_conformity(row):
    got = conformance(row["y"], row["u"], row["lower"], row["upper"])
    assert got == pytest.approx(row["conformance_probability"], abs=6e-7)
    printed = row.get("published") or row.get("published_from_memory")
    if printed is not None:
        assert got == pytest.approx(printed, abs=6e-3 if "published_from_memory" in row else 6e-6)


@pytest.mark.parametrize(("probability", "z"), entries("conformance_z_one_sided", prefix="z-"))
def test_one_sided_quantiles(probability, z):
    assert conformance(-z, 1.0, None, 0.0) == pytest.approx(probability, abs=1e-5)
    assert conformance(z, 1.0, 0.0, None) == pytest.approx(probability, abs=1e-5)


RULES = {"GB1": 2.0, "GB2": 0.0, "GB3": 1.645}


@pytest.mark.parametrize("row", [p for p in rows("guard_band_rules") if p.values[0]["id"] in RULES])
def test_a_pass_at_the_guard_band_risks_what_the_rule_says(row):
    factor, u, high = RULES[row["id"]], 0.5, 3.0
    inside, beyond = high - factor * u - 1e-9, high - factor * u + 1e-6
    assert decide(inside, u, None, high, factor).call == "pass"
    assert decide(beyond, u, None, high, factor).call != "pass"
    assert 1 - decide(inside, u, None, high, factor).p_conform == pytest.approx(
        row["max_specific_false_accept"], abs=1e-5
    )


@pytest.mark.parametrize("row", rows("en_number", lambda r: f"En-{r['En']}"))
def test_en_number(row):
    got = e_n(row["x"], row["ref"], row["U_x"], row["U_ref"])
    assert got == pytest.approx(row["En"], abs=6e-6)
    assert (abs(got) <= 1 + 1e-9) is row["pass"]


# --- against scipy, and laws ---------------------------------------------------------------------

numbers = st.floats(-100, 100)
us = st.floats(0, 20)
factors = st.sampled_from([0.0, 1.0, 1.645, 2.0])
widths = st.floats(0, 100)


@given(numbers, st.floats(0.01, 20), numbers, widths)
def test_conformance_by_scipy(y, u, low, width):
    high = low + width
    assert conformance(y, u, low, high) == pytest.approx(
        norm.cdf(high, loc=y, scale=u) - norm.cdf(low, loc=y, scale=u), abs=1e-9
    )


@given(numbers, us, numbers, widths, factors)
def test_pass_is_inside_and_fail_is_outside_by_the_guard_band(y, u, low, width, factor):
    got = decide(y, u, low, low + width, factor)
    w, floats = factor * u, 1e-12 * 200
    assert got.guard == w
    if got.call == "pass":
        assert low + w - floats <= y <= low + width - w + floats
    elif got.call == "fail":
        assert y < low - w or y > low + width + w
    else:
        assert min(abs(y - low), abs(y - low - width)) <= w + floats


@given(numbers, us, numbers, widths, factors, st.floats(0, 10), st.floats(0, 10))
def test_tightening_a_limit_never_makes_a_pass(y, u, low, width, factor, up, down):
    assume(low + up <= low + width - down)
    wide = decide(y, u, low, low + width, factor)
    if wide.call != "pass":
        assert decide(y, u, low + up, low + width - down, factor).call != "pass"


@given(numbers, us, numbers, widths, factors, st.floats(0, 20))
def test_a_coarser_instrument_never_makes_a_pass_or_a_fail(y, u, low, width, factor, more):
    call = decide(y, u, low, low + width, factor).call
    if call == "too_close":
        assert decide(y, u + more, low, low + width, factor).call == "too_close"


@given(numbers, us, numbers, widths, factors)
def test_upside_down_decides_the_same(y, u, low, width, factor):
    here = decide(y, u, low, low + width, factor)
    there = decide(-y, u, -(low + width), -low, factor)
    assert (here.call, here.guard) == (there.call, there.guard)
    assert here.p_conform == pytest.approx(there.p_conform, abs=1e-12)


@given(st.floats(0.1, 20), numbers, st.floats(0.1, 100), st.sampled_from([1.0, 1.645, 2.0]))
def test_an_instrument_that_cannot_decide_says_which_could(u, low, width, factor):
    middle = decide(low + width / 2, u, low, low + width, factor)
    if middle.decidable:
        assert middle.call == "pass" or 2 * factor * u == pytest.approx(width)
        return
    assert middle.call != "pass"
    assert middle.u_needed is not None
    assert decide(low + width / 2, middle.u_needed * 0.999, low, low + width, factor).call == "pass"


def test_without_uncertainty_the_limit_itself_conforms():
    """CP4's half becomes certain where nothing is uncertain."""
    assert conformance(220, 0, 220, 240) == 1.0
    assert conformance(219.9, 0, 220, 240) == 0.0


@pytest.mark.parametrize(("y", "u"), [(math.nan, 1), (math.inf, 1), (1, math.nan), (1, -0.1)])
def test_what_is_no_number_is_not_judged(y, u):
    with pytest.raises(ValueError, match="cannot judge"):
        decide(y, u, 0, 2)


@pytest.mark.parametrize(("low", "high"), [(2.0, 1.0), (math.nan, 1.0), (0.0, math.nan)])
@pytest.mark.parametrize("factor", [0.0, 1.645])
def test_limits_that_leave_nothing_are_refused(low, high, factor):
    with pytest.raises(ValueError, match="the lower one lies above"):
        decide(1.5, 0.1, low, high, factor)


@given(st.floats(100, 400), st.floats(60, 110))
def test_a_number_that_lies_on_its_limit_is_inside_whatever_floats_lose(limit, atmosphere):
    # exact arithmetic: (p + a) - a = p; in floats it misses p by some 1e-14
    y = (limit + atmosphere) - atmosphere
    assert decide(y, 0.0, limit, None, factor=0).call == "pass"
    assert decide(y, 0.0, None, limit, factor=0).call == "pass"
    assert decide(limit * (1 + 1e-9), 0.0, None, limit, factor=0).call == "fail"

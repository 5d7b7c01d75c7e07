"""Uncertainty put together: GUM factors, the GUM's end gauge, and the `uncertainties` library."""

from __future__ import annotations

import math
import statistics

import numpy as np
import pytest
import uncertainties
from hypothesis import given
from hypothesis import strategies as st
from uncertainties import umath

from readiness.measure.gas import gauge_at
from readiness.measure.uncertain import (
    Estimate,
    combined,
    from_half_width,
    from_resolution,
    mean_of,
    propagated,
)
from tests.outside import given as outside
from tests.outside import table

FACTORS = table()["type_b_factors"]
END_GAUGE = table()["gum_h1"]


@pytest.mark.parametrize(
    ("got", "factor"),
    [
        outside(name, FACTORS["source"], FACTORS["verified"], function(1.0), FACTORS[name])
        for name, function in (
            ("uniform_half_width", from_half_width),
            ("resolution_full_step", from_resolution),
        )
    ],
)
def test_type_b_factors(got, factor):
    assert got == pytest.approx(factor, abs=6e-7)


@pytest.mark.parametrize("case", [outside("H.1", END_GAUGE["source"], END_GAUGE["verified"], END_GAUGE)])
def test_the_end_gauge_of_the_gum(case):
    """JCGM 100 H.1, first order: l = l_s + d - l_s (dalpha theta + alpha_s dtheta), in nm."""
    given_, expect = case["inputs"], case["computed"]
    u_d = combined(*(given_[k][1] for k in ("d_bar_nm", "comparator_random_nm", "comparator_systematic_nm")))
    assert u_d == pytest.approx(expect["u_d_nm"], abs=6e-5)
    u_theta = combined(given_["theta_bar_c"][1], 0.5 / math.sqrt(2))
    length = propagated(
        lambda ls, d, da, theta, alpha, dt: ls + d - ls * (da * theta + alpha * dt),
        Estimate(given_["l_s_nm"][0], given_["l_s_nm"][1]),
        Estimate(given_["d_bar_nm"][0], u_d),
        Estimate(0.0, from_half_width(1e-6)),
        Estimate(given_["theta_bar_c"][0], u_theta),
        Estimate(given_["alpha_s_per_c"][0], from_half_width(2e-6)),
        Estimate(0.0, from_half_width(0.05)),
    )
    assert length.value == case["expect"]["l_nm"]
    assert length.u == pytest.approx(expect["u_c_nm"], abs=6e-5)
    assert round(length.u) == case["expect"]["u_c_nm"]


# --- against libraries ---------------------------------------------------------------------------

small = st.floats(0.01, 2)


@given(
    st.floats(150, 300),
    small,
    st.floats(80, 104),
    small,
    st.floats(-20, 50),
    small,
    st.floats(-20, 50),
    small,
)
def test_the_gas_law_by_uncertainties(p, up, a, ua, t1, u1, t2, u2):
    ours = propagated(
        lambda p, a, t1, t2: gauge_at(p, a, t1, a, t2),
        Estimate(p, up), Estimate(a, ua), Estimate(t1, u1), Estimate(t2, u2),
    )  # fmt: skip
    x, y, v, w = (uncertainties.ufloat(*q) for q in ((p, up), (a, ua), (t1, u1), (t2, u2)))
    theirs = (x + y) * ((w + 273.15) / (v + 273.15)) - y
    assert ours.value == pytest.approx(theirs.nominal_value, rel=1e-12)
    assert ours.u == pytest.approx(theirs.std_dev, rel=1e-3)


@given(st.floats(-50, 50), small, st.floats(-50, 50), small)
def test_an_angle_by_uncertainties(f, uf, r, ur):
    ours = propagated(lambda f, r: math.degrees(math.atan((f - r) / 4200)), Estimate(f, uf), Estimate(r, ur))
    theirs = umath.degrees(umath.atan((uncertainties.ufloat(f, uf) - uncertainties.ufloat(r, ur)) / 4200))
    assert ours.value == pytest.approx(theirs.nominal_value, abs=1e-12)
    assert ours.u == pytest.approx(theirs.std_dev, rel=1e-5)


@given(st.lists(st.floats(-1e3, 1e3), min_size=2, max_size=20))
def test_the_mean_by_numpy_and_the_standard_library(values):
    got = mean_of(values)
    assert got.value == pytest.approx(np.mean(values), abs=1e-9)
    assert got.u == pytest.approx(statistics.stdev(values) / math.sqrt(len(values)), abs=1e-9)


def test_one_reading_has_no_spread():
    assert mean_of([3.0]) == Estimate(3.0, 0.0)


# --- laws ----------------------------------------------------------------------------------------

estimates = st.builds(Estimate, st.floats(-100, 100), st.floats(0, 10))


@given(estimates, estimates, st.floats(-5, 5), st.floats(-5, 5))
def test_a_linear_model_adds_in_squares(x, y, a, b):
    got = propagated(lambda p, q: a * p + b * q, x, y)
    assert got.u == pytest.approx(combined(a * x.u, b * y.u), abs=1e-9)


@given(estimates, st.floats(-5, 5), st.floats(-5, 5))
def test_scaling_and_shifting_are_what_they_say(x, by, shift):
    assert x.scaled(by).u >= 0
    got = propagated(lambda v: by * v + shift, x)
    same = x.scaled(by).shifted(shift)
    assert got.value == pytest.approx(same.value, abs=1e-9)
    assert got.u == pytest.approx(same.u, abs=1e-9)


@given(st.lists(st.floats(0, 100), min_size=1, max_size=6))
def test_no_part_is_larger_than_the_whole(parts):
    whole = combined(*parts)
    assert max(parts) <= whole * (1 + 1e-12)
    assert whole <= sum(parts) * (1 + 1e-12)

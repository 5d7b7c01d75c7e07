"""Published levelling nets, adjusted as the floor of a bay is; and which run is wrong.

A published height difference becomes a run of 1 m with a level of its own, read both ways round: then the zero
errors neither help nor hinder, and chi-square, redundancy and s0 are those of the print.
"""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from readiness.measure.level_net import Pair, adjust_levels, loops, reversed_pair
from readiness.measure.uncertain import Estimate, propagated
from tests.outside import rows

DATUM = "datum"


def run(k, start, end, rise, u):
    """A height difference with its u, between two nodes."""
    return Pair(start, end, 1.0, rise, -rise, math.sqrt(2.0) * u, f"level {k}")


def runs_of(row, u=1.0):
    """The runs of a printed net. Fixed benchmarks are one node at height 0, their heights taken into the runs."""
    fixed = {str(name): height for name, height in row["fixed_m"].items()}
    observed = row["observations_m"]
    us = [math.sqrt(d) for d in row["distances_km"]] if "distances_km" in row else [u] * len(observed)
    runs = []
    for k, ((a, b, rise), v) in enumerate(zip(observed, us, strict=True)):
        (start, from_), (end, to) = ((DATUM, fixed[n]) if n in fixed else (n, 0.0) for n in (str(a), str(b)))
        runs.append(run(k, start, end, rise + from_ - to, v))
    return runs


def net_of(row, u=1.0):
    return adjust_levels(runs_of(row, u), DATUM, u_foot=0.0)


@pytest.mark.parametrize("row", rows("levelling"))
def test_adjusted_heights_and_residuals(row):
    net, expect = net_of(row), row["expect"]
    for name, height in expect["adjusted_m"].items():
        assert net.heights[name] == pytest.approx(height, abs=6e-6)
    printed = expect.get("residuals_m") or [v / 1000 for v in expect["residuals_mm"]]
    assert list(net.residuals) == pytest.approx(printed, abs=6e-6)
    assert net.dof == expect["dof"] == len(net.residuals) - len(net.heights) + 1
    square = expect.get("pvv") or expect.get("vtv") or expect["pvv_mm2"] / 1e6
    assert net.chi_square == pytest.approx(square, rel=1e-4)
    s0 = expect.get("s0") or expect.get("s0_m") or expect["m0_mm"] / 1000
    assert net.s0 == pytest.approx(s0, rel=1e-4)


@pytest.mark.parametrize("row", [p for p in rows("levelling") if "published" in p.values[0]])
def test_figures_as_printed(row):
    net, printed = net_of(row), row["published"]
    for name, height in printed.get("adjusted_m", {}).items():
        # printed to 1e-5, and one lies on the half
        assert net.heights[name] == pytest.approx(height, abs=5.01e-6)
    assert list(net.residuals)[: len(printed.get("residuals", []))] == pytest.approx(
        printed.get("residuals", []), abs=5e-4
    )
    if "vtv" in printed:
        assert net.chi_square == pytest.approx(printed["vtv"], abs=5e-7)
    if "pvv" in printed:
        assert net.chi_square * 1e6 == pytest.approx(printed["pvv"], abs=5e-4)
        assert round(net.s0 * 1000, 2) == printed["m0_mm"]


@pytest.mark.parametrize("row", [p for p in rows("levelling") if "a_priori_sd_mm" in p.values[0]])
def test_standard_deviations_from_the_stated_u(row):
    net = net_of(row, row["a_priori_sd_mm"] / 1000)
    # the runs disagree more than 5 mm explains (m0 5.42): the u to judge with is wider
    assert net.s0 == pytest.approx(row["expect"]["m0_mm"] / row["a_priori_sd_mm"], rel=1e-4)
    for name, sd in row["expect"]["sd_a_priori_mm"].items():
        assert net.height(name).u * 1000 / net.s0 == pytest.approx(sd, abs=5e-4)


@pytest.mark.parametrize("row", [p for p in rows("levelling") if p.values[0]["id"] == "LV4"])
def test_a_loop_of_the_net_misses_by_the_printed_amount(row):
    by_runs = {frozenset(loop.pairs): loop for loop in loops(runs_of(row), u_foot=0.0)}
    loop = by_runs[frozenset({0, 1, 2})]  # A to B to C and back, in the order in which it was walked
    assert loop.gap.value == pytest.approx(row["expect"]["loop_ABC_misclosure"], abs=1e-9)
    assert loop.gap.u == pytest.approx(math.sqrt(sum(row["distances_km"][:3])), rel=1e-12)


# --- which run is wrong --------------------------------------------------------------------------


@pytest.mark.parametrize("wrong", range(6))
def test_a_run_that_is_wrong_is_named(wrong):
    """All six differences between four nodes: three runs too many, so one blunder can be found."""
    true = {"A": 0.0, "B": 3.0, "C": -2.0, "D": 7.0}
    between = [("A", "B"), ("B", "C"), ("C", "D"), ("D", "A"), ("A", "C"), ("B", "D")]
    runs = [
        run(k, a, b, true[b] - true[a] + (8.0 if k == wrong else 0.0), 0.5)
        for k, (a, b) in enumerate(between)
    ]
    assert adjust_levels(runs, "A", u_foot=0.0).suspects() == (wrong,)


def test_a_single_loop_cannot_say_which_run_is_wrong():
    runs = [run(0, "A", "B", 1.0, 0.5), run(1, "B", "C", 1.0, 0.5), run(2, "C", "A", 8.0, 0.5)]
    assert adjust_levels(runs, "A", u_foot=0.0).suspects() == (0, 1, 2)
    (loop,) = loops(runs, u_foot=0.0)
    assert loop.gap == Estimate(pytest.approx(10.0), pytest.approx(math.sqrt(0.75)))


# --- turning a level -----------------------------------------------------------------------------


@pytest.mark.parametrize("row", rows("reversal"))
def test_reversal(row):
    r1, r2 = row["reading_1_mm_per_m"], row["reading_2_reversed_mm_per_m"]
    expected = (row["slope_mm_per_m"], row["zero_error_mm_per_m"])
    assert reversed_pair(r1, r2) == pytest.approx(expected, abs=1e-12)
    slope = propagated(lambda a, b: reversed_pair(a, b)[0], Estimate(r1, 0.3), Estimate(r2, 0.3))
    assert slope.u / 0.3 == pytest.approx(row["u_slope_factor"], abs=1e-6)


@given(st.floats(-30, 30), st.floats(-5, 5))
def test_a_zero_error_cancels(slope, zero):
    assert reversed_pair(slope + zero, -slope + zero) == pytest.approx((slope, zero), abs=1e-12)

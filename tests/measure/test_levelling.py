"""Levelling nets, loops, reversal, vials and floor classes against printed answers, scipy and numpy."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from readiness.measure.levelling import (
    BS_8204_MM,
    Run,
    adjust,
    arcsec_from_mm_per_m,
    bs8204_class,
    din18202_limit,
    f_numbers,
    height_difference,
    misclosure,
    misclosure_limit,
    mm_per_m_from_arcsec,
    reversed_pair,
    vial_radius_m,
)
from readiness.measure.uncertain import Estimate, propagated
from tests.outside import given as outside
from tests.outside import rows, table


def net_of(row, u=1.0):
    us = (
        [math.sqrt(d) for d in row["distances_km"]]
        if "distances_km" in row
        else [u] * len(row["observations_m"])
    )
    runs = [Run(str(a), str(b), dh, v) for (a, b, dh), v in zip(row["observations_m"], us, strict=True)]
    known = {str(k): v for k, v in row["fixed_m"].items()}
    return runs, adjust(runs, next(iter(known)), known)


@pytest.mark.parametrize("row", rows("levelling"))
def test_adjusted_heights_and_residuals(row):
    runs, net = net_of(row)
    expect = row["expect"]
    for name, height in expect["adjusted_m"].items():
        assert net.heights[name] == pytest.approx(height, abs=6e-6)
    printed = expect.get("residuals_m") or [v / 1000 for v in expect["residuals_mm"]]
    assert list(net.residuals) == pytest.approx(printed, abs=6e-6)
    assert net.dof == expect["dof"] == len(runs) - len(net.names)
    square = expect.get("pvv") or expect.get("vtv") or expect["pvv_mm2"] / 1e6
    assert net.chi_square == pytest.approx(square, rel=1e-4)
    s0 = expect.get("s0") or expect.get("s0_m") or expect["m0_mm"] / 1000
    assert net.s0 == pytest.approx(s0, rel=1e-4)


@pytest.mark.parametrize("row", [p for p in rows("levelling") if "published" in p.values[0]])
def test_figures_as_printed(row):
    _, net = net_of(row)
    printed = row["published"]
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
    _, net = net_of(row, row["a_priori_sd_mm"] / 1000)
    for name, sd in row["expect"]["sd_a_priori_mm"].items():
        k = net.names.index(name)
        assert math.sqrt(net.covariance[k][k]) * 1000 == pytest.approx(sd, abs=5e-4)
        # the runs disagree more than 5 mm explains (m0 5.42): the u to judge with is wider
        assert net.height(name).u * 1000 == pytest.approx(sd * 5.4153 / 5.0, abs=2e-3)


@pytest.mark.parametrize("row", [p for p in rows("levelling") if p.values[0]["id"] == "LV4"])
def test_a_loop_of_the_net_misses_by_the_printed_amount(row):
    runs, _ = net_of(row)
    loop = misclosure(runs[:3])
    assert loop.value == pytest.approx(row["expect"]["loop_ABC_misclosure"], abs=1e-9)
    assert loop.u == pytest.approx(math.sqrt(sum(row["distances_km"][:3])), rel=1e-12)
    turned = [Run(r.end, r.start, -r.dh, r.u) if k == 1 else r for k, r in enumerate(runs[:3])]
    assert misclosure(turned).value == pytest.approx(loop.value, abs=1e-9)


@pytest.mark.parametrize("row", rows("level_misclosure", lambda r: f"{r['k_mm']}mm-{r['distance_km']}km"))
def test_misclosure_limits(row):
    assert misclosure_limit(row["k_mm"], row["distance_km"]) == pytest.approx(row["limit_mm"], abs=5e-4)


# --- nets: laws and numpy ------------------------------------------------------------------------

NODES = "ABCDEF"


@st.composite
def nets(draw: st.DrawFn) -> list[Run]:
    """A tree over all nodes, so that it hangs together, and a few runs more."""
    pairs = [(draw(st.sampled_from(NODES[:k])), NODES[k]) for k in range(1, len(NODES))]
    more = st.tuples(st.sampled_from(NODES), st.sampled_from(NODES)).filter(lambda p: p[0] != p[1])
    pairs += draw(st.lists(more, max_size=6))
    steps, us = st.floats(-20, 20), st.floats(0.1, 2.0)
    return [Run(a, b, draw(steps), draw(us)) for a, b in pairs]


@given(nets())
def test_a_net_by_numpy(runs):
    net = adjust(runs, "A")
    columns = NODES[1:]
    design = np.array([[(r.end == n) - (r.start == n) for n in columns] for r in runs], dtype=float)
    weights = np.array([1 / r.u**2 for r in runs])
    covariance = np.linalg.inv(design.T @ (weights[:, None] * design))
    solution = covariance @ design.T @ (weights * np.array([r.dh for r in runs]))
    assert [net.heights[n] for n in columns] == pytest.approx(solution, abs=1e-7)
    # a residual's own variance, Q_vv = P^-1 - A N^-1 A^T; near zero nothing checks the run
    own = 1 / weights - np.einsum("ij,jk,ik->i", design, covariance, design)
    for v, variance, w, p in zip(net.residuals, own, net.standardised, weights, strict=True):
        assert w == pytest.approx(v / math.sqrt(variance) if variance * p > 1e-6 else 0.0, rel=1e-3, abs=1e-6)
    order = [net.names.index(n) for n in columns]
    assert np.array(net.covariance)[np.ix_(order, order)] == pytest.approx(covariance, rel=1e-6, abs=1e-9)


@given(nets(), st.randoms(use_true_random=False), st.sampled_from(NODES))
def test_neither_order_nor_direction_nor_datum_change_the_differences(runs, random, datum):
    net = adjust(runs, "A")
    shuffled = [Run(r.end, r.start, -r.dh, r.u) if random.random() < 0.5 else r for r in runs]
    random.shuffle(shuffled)
    other = adjust(shuffled, datum)
    for n in NODES:
        assert other.heights[n] - other.heights["A"] == pytest.approx(net.heights[n], abs=1e-7)
    assert other.chi_square == pytest.approx(net.chi_square, rel=1e-6, abs=1e-9)


@given(nets(), st.lists(st.floats(-30, 30), min_size=6, max_size=6))
def test_runs_without_error_give_back_the_heights(runs, heights):
    true = dict(zip(NODES, heights, strict=True))
    exact = [Run(r.start, r.end, true[r.end] - true[r.start], r.u) for r in runs]
    net = adjust(exact, "A", {"A": true["A"]})
    for n in NODES:
        assert net.heights[n] == pytest.approx(true[n], abs=1e-7)
    assert net.suspects() == ()


@pytest.mark.parametrize("wrong", range(6))
def test_a_run_that_is_wrong_is_named(wrong):
    """All six differences between four nodes: three runs too many, so one blunder can be found."""
    true = {"A": 0.0, "B": 3.0, "C": -2.0, "D": 7.0}
    pairs = [("A", "B"), ("B", "C"), ("C", "D"), ("D", "A"), ("A", "C"), ("B", "D")]
    runs = [
        Run(a, b, true[b] - true[a] + (8.0 if k == wrong else 0.0), 0.5) for k, (a, b) in enumerate(pairs)
    ]
    assert adjust(runs, "A").suspects() == (wrong,)


def test_a_single_loop_cannot_say_which_run_is_wrong():
    runs = [Run("A", "B", 1.0, 0.5), Run("B", "C", 1.0, 0.5), Run("C", "A", 8.0, 0.5)]
    assert adjust(runs, "A").suspects() == (0, 1, 2)
    assert misclosure(runs) == Estimate(10.0, math.sqrt(0.75))


def test_a_run_that_nothing_checks_says_nothing():
    net = adjust([Run("A", "B", 3.0, 0.5)], "A")
    assert net.heights == {"A": 0.0, "B": 3.0}
    assert (net.dof, net.standardised) == (0, (0.0,))
    assert math.isnan(net.s0)
    assert net.height("B") == Estimate(3.0, 0.5)
    assert net.height("A") == Estimate(0.0)


@pytest.mark.parametrize(
    ("runs", "word"),
    [
        ([], "no runs"),
        ([Run("A", "A", 1, 1)], "from A to itself"),
        ([Run("A", "B", 1, 0)], "positive u"),
        ([Run("A", "B", math.nan, 1)], "finite height"),
        ([Run("B", "C", 1, 1)], "no run touches the datum A: the nodes are B, C"),
        ([Run("A", "B", 1, 1), Run("E", "F", 1, 1)], "nothing connects E, F to A"),
    ],
)
def test_what_cannot_be_adjusted_and_why(runs, word):
    with pytest.raises(ValueError, match=word):
        adjust(runs, "A")


@pytest.mark.parametrize(
    ("runs", "word"),
    [
        ([], "there are none"),
        ([Run("A", "B", 1, 1), Run("C", "D", 1, 1)], "does not go on from"),
        ([Run("A", "B", 1, 1), Run("B", "C", 1, 1)], "starts at A and ends at C"),
    ],
)
def test_what_is_no_loop_and_why(runs, word):
    with pytest.raises(ValueError, match=word):
        misclosure(runs)


# --- levels --------------------------------------------------------------------------------------


@pytest.mark.parametrize("row", rows("reversal"))
def test_reversal(row):
    r1, r2 = row["reading_1_mm_per_m"], row["reading_2_reversed_mm_per_m"]
    assert reversed_pair(r1, r2) == pytest.approx(
        (row["slope_mm_per_m"], row["zero_error_mm_per_m"]), abs=1e-12
    )
    slope = propagated(lambda a, b: reversed_pair(a, b)[0], Estimate(r1, 0.3), Estimate(r2, 0.3))
    assert slope.u / 0.3 == pytest.approx(row["u_slope_factor"], abs=1e-6)


@given(st.floats(-30, 30), st.floats(-5, 5))
def test_a_zero_error_cancels(slope, zero):
    assert reversed_pair(slope + zero, -slope + zero) == pytest.approx((slope, zero), abs=1e-12)


@pytest.mark.parametrize("row", rows("vial_sensitivity", lambda r: f"{r['mm_per_m']}mm/m"))
def test_vials(row):
    assert arcsec_from_mm_per_m(row["mm_per_m"]) == pytest.approx(row["arcsec"], abs=6e-4)
    assert mm_per_m_from_arcsec(row["arcsec"]) == pytest.approx(row["mm_per_m"], rel=2e-4)
    assert vial_radius_m(row["mm_per_m"]) == pytest.approx(row["vial_radius_m_for_2_mm_division"], abs=5e-4)


@given(st.floats(0.001, 100))
def test_arcsec_and_mm_per_m_are_inverse(s):
    assert mm_per_m_from_arcsec(arcsec_from_mm_per_m(s)) == pytest.approx(s, rel=1e-9)


def test_a_rise_is_slope_times_length():
    assert height_difference(1.2, 2.5) == pytest.approx(3.0)


# --- floors --------------------------------------------------------------------------------------


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

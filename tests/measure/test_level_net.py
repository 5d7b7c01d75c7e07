"""Nets of level readings against numpy, scipy and simulation."""

from __future__ import annotations

import itertools
import math
import random
from dataclasses import replace

import numpy as np
import pytest
import scipy.linalg
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import chi2, kstest

from readiness.measure.level_net import Pair, adjust_levels
from readiness.measure.surface import Surface
from readiness.measure.uncertain import Estimate
from tests.measure.level_nets import NODES, ZEROS, grid, nets, noisy, read
from tests.outside import rows

FOOT = 0.2


def covariance(net, names):
    """Of the heights of these nodes, as `Surface` would have it."""
    errors = sorted({e for n in names for e in net.effects[n]})
    root = np.array([[net.effects[n].get(e, 0.0) for e in errors] for n in names])
    return root @ root.T


# --- one run, by hand ----------------------------------------------------------------------------


@pytest.mark.parametrize("row", rows("reversal"))
def test_a_pair_is_the_reversal(row):
    pair = Pair("A", "B", 1.5, row["reading_1_mm_per_m"], row["reading_2_reversed_mm_per_m"], 0.3, "level-1")
    assert pair.slope == pytest.approx(row["slope_mm_per_m"], abs=1e-12)
    assert pair.zero == pytest.approx(row["zero_error_mm_per_m"], abs=1e-12)
    assert pair.rise_u(0.0) == pytest.approx(1.5 * 0.3 * row["u_slope_factor"], abs=1e-6)
    net = adjust_levels([pair], "A", u_foot=0.0)
    assert net.height("B").value == pytest.approx(1.5 * row["slope_mm_per_m"], abs=1e-12)
    assert net.zeros["level-1"].value == pytest.approx(row["zero_error_mm_per_m"], abs=1e-12)


def test_u_of_a_pair_and_of_a_reading_one_way():
    """var(dh) = L^2 u^2 / 2 + 2 u_foot^2; one way L^2 u^2 + 2 u_foot^2 and the zero error's on top (hand)."""
    both = Pair("A", "B", 2.0, 1.4, -0.6, 0.1, "level-1")
    assert adjust_levels([both], "A", u_foot=0.3).height("B").u == pytest.approx(math.sqrt(0.02 + 0.18))
    one = replace(both, turned=None)
    net = adjust_levels([one], "A", u_foot=0.3, zero_u={"level-1": 0.25})
    assert net.height("B") == Estimate(
        pytest.approx(2.8), pytest.approx(math.sqrt(0.04 + 0.18 + (2.0 * 0.25) ** 2))
    )
    assert (net.dof, net.standardised, net.zero_standardised) == (0, (0.0,), (None,))
    assert math.isnan(net.s0)
    assert math.isnan(net.probability)


def test_one_way_readings_take_the_zero_error_that_pairs_of_the_same_level_show():
    # by hand: zero 0.4 from the pair; 1.4 one way is a slope of 1.0, over 2 m
    pairs = [Pair("A", "B", 2.0, 1.4, -0.6, 0.1, "level-1"), Pair("B", "C", 2.0, 1.4, None, 0.1, "level-1")]
    net = adjust_levels(pairs, "A", u_foot=0.0)
    assert net.heights == pytest.approx({"A": 0.0, "B": 2.0, "C": 4.0})
    # u of B to C: the reading, and the zero error with u 0.1 / sqrt 2 over 2 m
    step = Surface(dict.fromkeys("ABC", (0, 0)), net.heights, net.effects).total({"C": 1.0, "B": -1.0})
    assert step.u == pytest.approx(2.0 * 0.1 * math.sqrt(1.5))


def test_a_walk_round_in_one_sense_shows_the_zero_error():
    # by hand: three runs of 2 m on a level floor, each reads the zero error; the walk misses by 3 x 2 x 0.2 mm
    walk = [
        Pair(a, b, 2.0, s + 0.2, None, 0.1, "level-1") for a, b, s in (("A", "B", 1.0), ("B", "C", 1.0), ("C", "A", -2.0))
    ]  # fmt: skip
    net = adjust_levels(walk, "A", u_foot=0.0)
    assert net.zeros["level-1"] == Estimate(pytest.approx(0.2), pytest.approx(0.1 / math.sqrt(3)))
    assert net.heights == pytest.approx({"A": 0.0, "B": 2.0, "C": 4.0})
    assert net.dof == 0


def test_a_walk_there_and_another_way_there_shows_no_zero_error():
    pairs = [Pair(a, b, 2.0, 1.2, None, 0.1, "level-1") for a, b in (("A", "B"), ("B", "C"))]
    pairs.append(Pair("A", "C", 4.0, 1.2, None, 0.1, "level-1"))
    with pytest.raises(ValueError, match="read A to B again turned end for end, or close the loop"):
        adjust_levels(pairs, "A", u_foot=0.1)


def test_the_stated_accuracy_counts_only_for_a_level_that_was_never_turned():
    """A level out of adjustment by twenty times its accuracy spoils nothing once it is turned."""
    pairs = grid(3, 2, zero=4.0)
    stated = {"level-1": 0.2, "another": 0.1}
    with_stated = adjust_levels(pairs, "A1", u_foot=FOOT, zero_u=stated)
    assert with_stated == adjust_levels(pairs, "A1", u_foot=FOOT)
    assert with_stated.chi_square == pytest.approx(0.0, abs=1e-18)


# --- the net, by numpy and scipy -----------------------------------------------------------------


def stacked(pairs, u_foot, datum="A"):
    """The design written out reading by reading in other unknowns: sums and differences of the two readings."""
    names = [n for n in NODES if n != datum]
    levels = sorted({p.level for p in pairs})
    lines, values, variances = [], [], []
    for p in pairs:
        up = [(p.end == n) - (p.start == n) for n in names]
        mine = [float(p.level == k) for k in levels]
        if p.turned is None:
            lines.append([*up, *(p.length * m for m in mine)])
            values.append(p.length * p.first)
            variances.append(p.length**2 * p.u**2 + 2 * u_foot**2)
            continue
        lines += [[*up, *([0.0] * len(levels))], [*([0.0] * len(names)), *mine]]
        values += [p.length * (p.first - p.turned) / 2, (p.first + p.turned) / 2]
        variances += [p.length**2 * p.u**2 / 2 + 2 * u_foot**2, p.u**2 / 2 + u_foot**2 / p.length**2]
    return names, levels, np.array(lines, dtype=float), np.array(values), np.array(variances)


@given(nets())
def test_heights_zero_errors_and_covariance_by_numpy_and_scipy(pairs):
    names, levels, design, values, variances = stacked(pairs, FOOT)
    root = 1 / np.sqrt(variances)
    solution = np.linalg.lstsq(design * root[:, None], values * root, rcond=None)[0]
    own = scipy.linalg.inv(design.T @ np.diag(1 / variances) @ design)
    off = (design @ solution - values) * root
    net = adjust_levels(pairs, "A", u_foot=FOOT)
    assert [net.heights[n] for n in names] == pytest.approx(solution[: len(names)], abs=1e-7)
    assert [net.zeros[k].value for k in levels] == pytest.approx(solution[len(names) :], abs=1e-7)
    assert net.dof == len(values) - len(solution)
    assert net.chi_square == pytest.approx(off @ off, rel=1e-6, abs=1e-9)
    assert net.probability == pytest.approx(chi2.sf(off @ off, net.dof), rel=1e-6, abs=1e-12)
    wide = max(1.0, math.sqrt(off @ off / net.dof))
    n = len(names)
    assert covariance(net, names) / wide**2 == pytest.approx(own[:n, :n], rel=1e-6, abs=1e-9)
    assert [net.zeros[k].u / wide for k in levels] == pytest.approx(np.sqrt(np.diag(own)[n:]), rel=1e-6)


@given(nets())
def test_standardised_residuals_by_numpy(pairs):
    """A residual's own variance is Q_vv = P^-1 - A N^-1 A^T; near zero nothing checks the run."""
    _, _, design, values, variances = stacked(pairs, FOOT)
    own = np.linalg.inv(design.T @ (design / variances[:, None]))
    residuals = design @ (own @ design.T @ (values / variances)) - values
    free = variances - np.einsum("ij,jk,ik->i", design, own, design)
    net = adjust_levels(pairs, "A", u_foot=FOOT)
    expected = [
        v / math.sqrt(f) if f > 1e-6 * s else 0.0 for v, f, s in zip(residuals, free, variances, strict=True)
    ]
    mine = []
    for k, p in enumerate(pairs):
        mine += [net.standardised[k]] + ([] if p.turned is None else [net.zero_standardised[k]])
    assert mine == pytest.approx(expected, rel=1e-3, abs=1e-5)


@given(nets(noise=0.0))
def test_readings_without_error_give_back_heights_and_zero_errors(pairs):
    net = adjust_levels(pairs, "A", u_foot=FOOT)
    for p in pairs:
        true = p.first - ZEROS[p.level]
        assert net.heights[p.end] - net.heights[p.start] == pytest.approx(p.length * true, abs=1e-7)
    assert {k: z.value for k, z in net.zeros.items()} == pytest.approx(ZEROS, abs=1e-7)
    assert net.suspects() == ()


# --- simulation ----------------------------------------------------------------------------------


def jacobian(pairs, u_foot, names):
    """What each reading does to each height; the adjustment is linear, so one step says it exactly."""
    base = adjust_levels(pairs, "A", u_foot=u_foot)
    columns = []
    for k, p in enumerate(pairs):
        for changed in [replace(p, first=p.first + 1.0), *([] if p.turned is None else [replace(p, turned=p.turned + 1.0)])]:  # fmt: skip
            other = adjust_levels([changed if i == k else q for i, q in enumerate(pairs)], "A", u_foot=u_foot)
            columns.append([other.heights[n] - base.heights[n] for n in names])
    return np.array(columns).T


@pytest.mark.parametrize("one_way", [False, True])
def test_a_hundred_thousand_surveys_scatter_as_the_effects_say(one_way):
    """JCGM 101 by simulation: errors of reading, of feet, and of feet laid a second time."""
    heights = dict(zip("ABCDEF", (0.0, 4.0, -3.0, 2.5, 7.0, -1.0), strict=True))
    joints = [("A", "B"), ("B", "C"), ("C", "D"), ("D", "A"), ("A", "C"), ("D", "E"), ("E", "F"), ("F", "C")]
    pairs = [
        read(a, b, heights, 1.0 + 0.2 * k, u=0.05 + 0.02 * k, both=not (one_way and k in (2, 5, 7)))
        for k, (a, b) in enumerate(joints)
    ]
    names = list("BCDEF")
    chance, n = np.random.default_rng(11), 100_000
    errors = []
    for p in pairs:
        feet = chance.normal(0, math.sqrt(2) * FOOT / p.length, n)
        again = chance.normal(0, FOOT / p.length, n) if p.turned is not None else 0.0
        errors.append(chance.normal(0, p.u, n) + feet + again)
        if p.turned is not None:
            errors.append(chance.normal(0, p.u, n) - feet + again)
    scattered = np.cov(jacobian(pairs, FOOT, names) @ np.array(errors))
    stated = covariance(adjust_levels(pairs, "A", u_foot=FOOT), names)
    assert np.sqrt(np.diag(stated)) == pytest.approx(np.sqrt(np.diag(scattered)), rel=0.05)
    for i, j in itertools.combinations(range(len(names)), 2):
        step = np.zeros(len(names))
        step[i], step[j] = 1.0, -1.0
        assert step @ stated @ step == pytest.approx(step @ scattered @ step, rel=0.1)


def test_whole_nets_are_as_probable_as_chance_has_it():
    """Probabilities of sound nets are spread evenly from 0 to 1 (Kolmogorov and Smirnov, scipy)."""
    chance = random.Random(5)
    pairs = grid(3, 3)
    found = [adjust_levels(noisy(pairs, chance, FOOT), "A1", u_foot=FOOT).probability for _ in range(1000)]
    assert kstest(found, "uniform").pvalue > 1e-3


def test_runs_that_scatter_more_than_stated_widen_what_they_give():
    """The Birge ratio: readings twice as bad as stated give twice the u, on the average of many nets."""
    chance = random.Random(7)
    pairs = grid(4, 4)
    worse = [replace(p, u=2 * p.u) for p in pairs]
    stated = adjust_levels(pairs, "A1", u_foot=0.0).height("D4").u
    found = [adjust_levels([replace(p, u=q.u) for p, q in zip(noisy(worse, chance, 0.0), pairs, strict=True)], "A1", u_foot=0.0) for _ in range(200)]  # fmt: skip
    assert math.fsum(net.height("D4").u for net in found) / 200 == pytest.approx(2 * stated, rel=0.05)


# --- laws ----------------------------------------------------------------------------------------


def steps(net):
    """Heights of all nodes over each other, with u."""
    surface = Surface(dict.fromkeys(net.heights, (0.0, 0.0)), net.heights, net.effects)
    return {
        (a, b): surface.total({a: 1.0, b: -1.0}) for a, b in itertools.combinations(sorted(net.heights), 2)
    }


def same(one, other):
    for key, step in steps(one).items():
        assert steps(other)[key].value == pytest.approx(step.value, abs=1e-7)
        assert steps(other)[key].u == pytest.approx(step.u, rel=1e-6, abs=1e-9)
    assert other.chi_square == pytest.approx(one.chi_square, rel=1e-6, abs=1e-9)
    for level, zero in one.zeros.items():
        assert other.zeros[level].value == pytest.approx(zero.value, abs=1e-7)
        assert other.zeros[level].u == pytest.approx(zero.u, rel=1e-6)


@settings(max_examples=40)
@given(nets(), st.sampled_from(NODES))
def test_the_datum_changes_no_difference_and_no_u(pairs, datum):
    same(adjust_levels(pairs, "A", u_foot=FOOT), adjust_levels(pairs, datum, u_foot=FOOT))


@settings(max_examples=40)
@given(nets(), st.randoms(use_true_random=False))
def test_neither_the_order_of_runs_nor_their_direction_changes_anything(pairs, chance):
    """Walked the other way, the first reading is what the turned one was."""
    other = [
        replace(p, start=p.end, end=p.start, first=p.turned, turned=p.first)
        if p.turned is not None and chance.random() < 0.5
        else p
        for p in pairs
    ]
    chance.shuffle(other)
    same(adjust_levels(pairs, "A", u_foot=FOOT), adjust_levels(other, "A", u_foot=FOOT))


@settings(max_examples=40)
@given(nets(one_way=False), st.floats(-5, 5))
def test_a_zero_error_of_a_level_that_is_turned_changes_no_height(pairs, more):
    off = [replace(p, first=p.first + more, turned=p.turned + more) for p in pairs]
    one, other = adjust_levels(pairs, "A", u_foot=FOOT), adjust_levels(off, "A", u_foot=FOOT)
    assert other.heights == pytest.approx(one.heights, abs=1e-7)
    assert other.zeros["level-1"].value == pytest.approx(one.zeros["level-1"].value + more, abs=1e-7)


@settings(max_examples=40)
@given(nets(), st.floats(0.1, 10))
def test_twice_the_uncertainty_is_twice_the_uncertainty(pairs, times):
    exact = adjust_levels(pairs, "A", u_foot=FOOT)
    scaled = adjust_levels([replace(p, u=times * p.u) for p in pairs], "A", u_foot=times * FOOT)
    wide = max(1.0, scaled.s0) / max(1.0, exact.s0)
    assert scaled.height("G").u == pytest.approx(exact.height("G").u * times * wide, rel=1e-6)
    assert scaled.heights == pytest.approx(exact.heights, abs=1e-7)


def test_two_nets_share_no_error():
    one = adjust_levels(grid(2, 2), "A1", u_foot=FOOT, errors="survey")
    other = adjust_levels(grid(2, 2), "A1", u_foot=FOOT)
    assert not {e for n in one.effects.values() for e in n} & {e for n in other.effects.values() for e in n}


# --- what is refused -----------------------------------------------------------------------------

AB = Pair("A", "B", 2.0, 1.0, -1.0, 0.1, "level-1")


@pytest.mark.parametrize(
    ("pairs", "more", "words"),
    [
        ([], {}, "no level runs"),
        ([replace(AB, end="A")], {}, "run 1 goes from A to itself: give two different nodes"),
        ([replace(AB, length=0.0)], {}, "run 1, A to B, is 0 m long"),
        ([AB, replace(AB, length=math.nan)], {}, "run 2, A to B, is nan m long"),
        ([replace(AB, u=0.0)], {}, "needs a positive u of a reading, not 0 mm/m"),
        ([replace(AB, first=math.inf)], {}, "needs readings that are numbers"),
        ([replace(AB, turned=math.nan)], {}, "needs readings that are numbers"),
        ([replace(AB, start="C")], {}, "no run touches the datum A: the nodes are B, C"),
        ([AB, replace(AB, start="C", end="D")], {}, "separate pieces: nothing connects C, D to A"),
        ([AB], {"u_foot": -1.0}, "u of a foot is 0 mm or more"),
        ([AB], {"zero_u": {"level-1": 0.0}}, "zero error of level-1 needs a positive u"),
        ([replace(AB, turned=None)], {}, "read A to B again turned end for end, or close the loop"),
        (
            [AB, replace(AB, start="B", end="C", turned=None, level="level-2")],
            {},
            "run 2, B to C, was read one way only, and no other reading shows the zero error of level-2",
        ),
    ],
)
def test_what_cannot_be_adjusted_and_why(pairs, more, words):
    with pytest.raises(ValueError, match=words):
        adjust_levels(pairs, "A", **{"u_foot": 0.1, **more})


@settings(max_examples=40)
@given(nets(one_way=False), st.data())
def test_readings_a_million_times_worse_leave_the_others_as_they_were(pairs, data):
    """Also where the normal equations lose their digits: against the net in which they do not stand."""
    k = data.draw(st.integers(len(NODES) - 1, len(pairs) - 1))  # the first ones hold the net together
    worse = [replace(p, u=1e6 * p.u) if i == k else p for i, p in enumerate(pairs)]
    net = adjust_levels(worse, "A", u_foot=0.0)
    other = adjust_levels(pairs[:k] + pairs[k + 1 :], "A", u_foot=0.0)
    assert net.heights == pytest.approx(other.heights, abs=1e-6)
    assert covariance(net, NODES) / max(1.0, net.s0) ** 2 == pytest.approx(
        covariance(other, NODES) / max(1.0, other.s0 if other.dof else 1.0) ** 2, rel=1e-5, abs=1e-9
    )


def test_a_bridge_a_million_times_weaker_still_carries_its_nodes():
    """By hand: B to C is known to 2 m x 1e4 mm/m / sqrt 2 only; C to D, behind it, as well as ever."""
    heights = dict(zip("ABCD", (0.0, 1.0, 2.0, 4.0), strict=True))
    pairs = [read(a, b, heights, u=u) for a, b, u in (("A", "B", 0.01), ("B", "C", 1e4), ("C", "D", 0.01))]
    net = adjust_levels(pairs, "A", u_foot=0.0)
    surface = Surface(dict.fromkeys("ABCD", (0.0, 0.0)), net.heights, net.effects)
    assert net.heights == pytest.approx(heights, abs=1e-6)
    assert surface.total({"D": 1.0, "C": -1.0}).u == pytest.approx(0.02 / math.sqrt(2), rel=1e-3)
    assert net.height("D").u == pytest.approx(2e4 / math.sqrt(2), rel=1e-6)

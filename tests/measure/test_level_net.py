"""Nets of level readings against numpy, scipy and simulation; loops against all cycles of small graphs."""

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

from readiness.measure.graph import short_cycles
from readiness.measure.level_net import Pair, adjust_levels, loops
from readiness.measure.levelling import misclosure_limit
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


# --- loops ---------------------------------------------------------------------------------------


def test_a_grid_has_its_squares():
    found = loops(grid(4, 3), u_foot=FOOT)
    assert len(found) == 3 * 2
    for loop in found:
        assert len(loop.pairs) == 4
        assert loop.nodes[0] == loop.nodes[-1]
        assert len(set(loop.nodes)) == 4
        assert loop.gap.value == pytest.approx(0.0, abs=1e-12)
        assert loop.gap.u == pytest.approx(math.sqrt(4 * (2.0 * 0.05) ** 2 / 2 + 8 * FOOT**2))


@given(nets(one_way=False))
def test_a_gap_is_the_sum_of_rises_along_the_nodes(pairs):
    for loop in loops(pairs, u_foot=FOOT):
        walked = 0.0
        for (a, b), k in zip(itertools.pairwise(loop.nodes), loop.pairs, strict=True):
            p = pairs[k]
            assert {a, b} == {p.start, p.end}
            walked += p.rise if (a, b) == (p.start, p.end) else -p.rise
        assert loop.gap.value == pytest.approx(walked, abs=1e-9)
        assert loop.gap.u == pytest.approx(math.hypot(*(pairs[k].rise_u(FOOT) for k in loop.pairs)))


@pytest.mark.parametrize("row", rows("levelling"))
def test_loops_of_the_printed_nets_close_within_their_residuals(row):
    """Each misclosure is the sum of the printed residuals along it, with the other sign (levelling nets LV1-LV4)."""
    joints = [(str(a), str(b)) for a, b, _ in row["observations_m"]]
    pairs = [Pair(a, b, 1.0, v, -v, 1.0, "level-1") for (a, b), (_, _, v) in zip(joints, row["observations_m"], strict=True)]  # fmt: skip
    expect = row["expect"]
    residuals = expect.get("residuals_m") or [v / 1000 for v in expect["residuals_mm"]]
    for loop in loops(pairs, u_foot=0.0):
        signs = [1 if pairs[k].start == a else -1 for a, k in zip(loop.nodes, loop.pairs, strict=False)]
        total = sum(s * residuals[k] for s, k in zip(signs, loop.pairs, strict=True))
        assert loop.gap.value == pytest.approx(-total, abs=3e-5)


def test_runs_read_one_way_share_their_zero_error_round_a_loop():
    # by hand: zero 0.7 known from one pair with u 0.1 / sqrt 2; three one-way runs of 2 m in one sense share 6 m of it
    heights = dict.fromkeys("ABCDE", 0.0)
    one_way = [read(a, b, heights, both=False, u=0.1) for a, b in ("AB", "BC", "CA")]
    known = [*one_way, read("A", "D", heights, u=0.1)]
    (loop,) = loops(known, u_foot=0.0)
    assert loop.gap.value == pytest.approx(0.0, abs=1e-12)
    assert loop.gap.u == pytest.approx(math.hypot(math.sqrt(3) * 0.2, 6.0 * 0.1 / math.sqrt(2)))
    (stated,) = loops(one_way, u_foot=0.0, zero_u={"level-1": 0.5})
    assert stated.gap == Estimate(pytest.approx(6 * 0.7), pytest.approx(math.hypot(math.sqrt(3) * 0.2, 3.0)))
    (unknown,) = loops(one_way, u_foot=0.0)
    assert math.isinf(unknown.gap.u)
    there_and_there = [one_way[0], replace(one_way[0], first=0.9)]
    (even,) = loops(there_and_there, u_foot=0.0)
    assert even.gap.u == pytest.approx(math.sqrt(2) * 0.2)  # the zero error drops out


def test_a_loop_within_its_class_of_levelling():
    """12 mm sqrt(km), third order (FGCS, check values): a loop of 8 m may miss by 1.07 mm."""
    pairs = grid(2, 2)
    off = [replace(pairs[0], first=pairs[0].first + 0.5, turned=pairs[0].turned - 0.5), *pairs[1:]]
    (loop,) = loops(off, u_foot=0.1)
    assert abs(loop.gap.value) == pytest.approx(1.0)
    assert abs(loop.gap.value) < misclosure_limit(12.0, 0.008)


NAMES = st.sampled_from("ABCDEFGH")
EDGES = st.lists(st.tuples(NAMES, NAMES).filter(lambda e: e[0] != e[1]), min_size=1, max_size=11)


def all_cycles(edges):
    """Every set of edges that touches each node twice or not at all and is one piece, by trying all."""
    found = []
    for size in range(2, len(edges) + 1):
        for some in itertools.combinations(range(len(edges)), size):
            degree = {}
            for k in some:
                for n in edges[k]:
                    degree[n] = degree.get(n, 0) + 1
            if set(degree.values()) == {2}:
                found.append(frozenset(some))
    return found


def rank(cycles, edges):
    basis = []
    for cycle in cycles:
        row = sum(1 << k for k in cycle)
        for b in basis:
            row = min(row, row ^ b)
        if row:
            basis.append(row)
    return len(basis)


@settings(max_examples=60)
@given(EDGES)
def test_loops_are_independent_complete_and_as_short_as_can_be(edges):
    """A greedy choice by length among all cycles is a shortest basis (matroids; Horton 1987)."""
    found = [frozenset(c) for c in short_cycles(edges)]
    every = sorted(all_cycles(edges), key=len)
    assert rank(found, edges) == len(found) == rank(every, edges)
    greedy = []
    for cycle in every:
        if rank([*greedy, cycle], edges) > len(greedy):
            greedy.append(cycle)
    assert [len(c) for c in found] == [len(c) for c in greedy]


@given(EDGES)
def test_a_cycle_is_walked_from_the_start_of_its_first_run(edges):
    for cycle in short_cycles(edges):
        here = edges[cycle[0]][0]
        for k in cycle:
            assert here in edges[k]
            here = edges[k][1] if edges[k][0] == here else edges[k][0]
        assert here == edges[cycle[0]][0]


def test_a_long_ring_is_one_loop():
    ring = [(str(k), str((k + 1) % 50)) for k in range(50)]
    (cycle,) = short_cycles(ring)
    assert cycle == tuple(range(50))
    assert short_cycles(ring[:-1]) == ()

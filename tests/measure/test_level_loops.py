"""Loops of level runs: printed nets, hand sums, and all cycles of small graphs."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from readiness.measure.graph import joined, short_cycles
from readiness.measure.level_net import Pair, loops
from readiness.measure.uncertain import Estimate
from tests.measure.level_nets import grid, nets, read
from tests.outside import rows

FOOT = 0.2


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
    assert abs(loop.gap.value) < 12.0 * math.sqrt(0.008)


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


@given(EDGES)
def test_what_hangs_together_is_what_a_matrix_of_neighbours_reaches(edges):
    """Powers of the matrix of neighbours, added up until nothing changes."""
    names = sorted({n for e in edges for n in e})
    beside = {(a, b) for e in edges for a, b in (e, e[::-1])} | {(n, n) for n in names}
    reach = beside
    for _ in names:
        reach = {(a, d) for a, b in reach for c, d in beside if b == c}
    assert joined(edges, [names[0]]) == {b for a, b in reach if a == names[0]}
    assert joined(edges, ["elsewhere"]) == {"elsewhere"}

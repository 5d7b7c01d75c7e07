"""The weighted draw against the definition that it is to keep: each next thing in proportion to its weight, of those left.

The chances of every ordered draw follow from that definition by enumeration, which knows nothing of keys (Efraimidis and
Spirakis 2006 show that both are the same; from memory).
"""

from __future__ import annotations

from collections import Counter
from itertools import permutations
from math import sqrt
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import chi2

from readiness.measure.draw import SEEDS, drawn

WEIGHTS = (1.0, 1.0, 2.0, 5.0, 9.0)
ROUNDS = 20_000


def chance_of(order, weights):
    """Of drawing exactly these, in this order."""
    chance, left = 1.0, sum(weights)
    for n in order:
        chance, left = chance * weights[n] / left, left - weights[n]
    return chance


@pytest.mark.parametrize("count", [1, 2, 3])
def test_every_ordered_draw_comes_as_often_as_it_should(count):
    expected = {o: ROUNDS * chance_of(o, WEIGHTS) for o in permutations(range(len(WEIGHTS)), count)}
    seen = Counter(tuple(drawn(WEIGHTS, count, seed)) for seed in range(ROUNDS))
    assert set(seen) <= set(expected)
    distance = sum((seen[o] - e) ** 2 / e for o, e in expected.items())
    assert distance < chi2.ppf(1 - 1e-6, len(expected) - 1)


def test_how_often_each_is_among_those_drawn():
    count = 3
    orders = {o: chance_of(o, WEIGHTS) for o in permutations(range(len(WEIGHTS)), count)}
    seen = Counter(n for seed in range(ROUNDS) for n in drawn(WEIGHTS, count, seed))
    for n in range(len(WEIGHTS)):
        p = sum(chance for order, chance in orders.items() if n in order)
        assert abs(seen[n] / ROUNDS - p) < 5 * sqrt(p * (1 - p) / ROUNDS)


def test_a_draw_that_does_not_weigh_would_be_found_out():
    """The test above can fail: with equal weights the same seeds come otherwise."""
    even = Counter(drawn([1.0] * len(WEIGHTS), 1, seed)[0] for seed in range(ROUNDS))
    assert abs(even[4] / ROUNDS - WEIGHTS[4] / sum(WEIGHTS)) > 0.2


weights = st.lists(st.floats(1e-3, 1e3), max_size=60)


@given(weights, st.integers(-2, 70), st.integers(0, SEEDS - 1))
def test_none_comes_twice_and_the_same_seed_draws_the_same(some, count, seed):
    got = drawn(some, count, seed)
    assert got == drawn(some, count, seed)
    assert len(set(got)) == len(got) == min(max(count, 0), len(some))
    assert got == drawn(some, len(some), seed)[: len(got)], "a larger sample begins with the smaller one"


def test_the_draw_of_a_seed_stays_what_it_was():
    """So that a draw kept in a journal can be repeated: Python promises that `random()` of a seed stays the same."""
    some = [1.0, 4.0, 1.0, 7.0, 1.0, 3.0]
    chance = Random(20261125)
    keys = [(1 - chance.random()) ** (1 / w) for w in some]
    assert sorted(range(6), key=lambda n: -keys[n])[:4] == drawn(some, 4, 20261125) == [1, 4, 3, 5]


@pytest.mark.parametrize("weight", [0.0, -1.0, float("nan"), float("inf")])
def test_a_weight_is_above_zero(weight):
    with pytest.raises(ValueError, match="above zero"):
        drawn([1.0, weight], 1, 0)

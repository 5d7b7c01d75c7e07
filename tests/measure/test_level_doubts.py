"""Mistakes put into nets of level readings on purpose: which run is named, as what, and how often a sound one is."""

from __future__ import annotations

import itertools
import math
import random
from dataclasses import replace

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from readiness.measure.graph import joined
from readiness.measure.level_doubts import diagonal_to_read, doubts, odd_zeros
from readiness.measure.level_net import Pair, adjust_levels, loops
from tests.measure.level_nets import NODES, grid, nets, noisy, read

FOOT = 0.1
MISTAKES = {
    "sign of turned": lambda p: replace(p, turned=-p.turned),
    "sign of first": lambda p: replace(p, first=-p.first),
    "both signs": lambda p: replace(p, first=-p.first, turned=-p.turned),
    "wrong way round": lambda p: replace(p, first=p.turned, turned=p.first),
    "first": lambda p: replace(p, first=p.first + 6.0),
    "turned": lambda p: replace(p, turned=p.turned + 6.0),
    "rise differs": lambda p: replace(p, first=p.first - 3.7, turned=p.turned + 3.7),
}


def with_one(pairs, k, mistake):
    return [MISTAKES[mistake](p) if i == k else p for i, p in enumerate(pairs)]


def found(pairs, datum=None, **more):
    return doubts(pairs, datum or pairs[0].start, u_foot=FOOT, **more)


# --- one mistake ---------------------------------------------------------------------------------


CORNERS = {0, 2, 6, 8, 9, 10, 15, 16}
"""Runs of the 4 by 3 grid that share a corner with one other: a wrong rise of the one is as well the other's."""


@pytest.mark.parametrize("mistake", MISTAKES)
@given(st.integers(0, 16), st.sampled_from([-0.9, 0.9]), st.integers(0, 10**6))
def test_a_mistake_is_named_with_its_kind_and_what_would_agree(mistake, k, zero, seed):
    """On a floor where a sign makes a difference, with a level 0.9 mm/m off."""
    chance = random.Random(seed)
    floor = {
        f"{c}{r}": 3.0 * i + 5.0 * j * (-1) ** i for i, c in enumerate("ABCD") for j, r in enumerate("123")
    }
    sound = noisy(grid(4, 3, floor, zero=zero), chance, FOOT, share=0.4)
    p, wrong = sound[k], with_one(sound, k, mistake)
    assume(abs(p.first) > 1.0 and abs(p.turned) > 1.0 and abs(p.slope) > 1.0)  # else it is hardly a mistake
    assume(mistake == "sign of first" or abs(wrong[k].first + p.first) > 1.0 or mistake in ("both signs", "wrong way round", "rise differs"))  # fmt: skip
    (doubt,) = [d for d in found(wrong) if d.pair == k]
    assert doubt.kind == mistake
    assert doubt.first == pytest.approx(p.first, abs=1.0)
    assert doubt.turned == pytest.approx(p.turned, abs=1.0)
    assert doubt.tied == (k,) or k in CORNERS
    assert abs(doubt.zero.value - zero) < 5 * doubt.zero.u
    assert abs(doubt.rise.value - (floor[p.end] - floor[p.start])) < 5 * doubt.rise.u


@given(nets(one_way=False, noise=0.0), st.data(), st.floats(3, 30), st.booleans())
def test_the_run_that_is_wrong_fits_worst(pairs, data, size, up):
    """With all other readings exact the wrong run has the largest standardised residual, or ties (Cauchy and Schwarz)."""
    k = data.draw(st.integers(0, len(pairs) - 1))
    off = size if up else -size
    wrong = [
        replace(p, first=p.first + off, turned=p.turned - off) if i == k else p for i, p in enumerate(pairs)
    ]
    net = adjust_levels(wrong, "A", u_foot=FOOT)
    redundancy = -net.residuals[k] / (off * pairs[k].length)
    named = net.suspects()
    if named:
        assert k in named
    else:  # nothing checks it, or not enough for a mistake of this size
        assert abs(off) * pairs[k].length / pairs[k].rise_u(FOOT) * math.sqrt(max(redundancy, 0.0)) < 3.3
    if len(named) == 1:
        (doubt,) = [d for d in found(wrong, "A") if d.tied == named]
        assert doubt.pair == k
        assert doubt.rise.value == pytest.approx(pairs[k].rise, abs=1e-5)


@given(nets(one_way=False, noise="u"), st.data())
def test_what_the_others_say_is_the_net_without_the_run(pairs, data):
    """Against a second adjustment in which the run does not stand at all."""
    k = data.draw(st.integers(0, len(pairs) - 1))
    rest = [p for i, p in enumerate(pairs) if i != k]
    assume(len({p.level for p in rest}) == 2)
    wrong = [
        replace(p, first=p.first + 40, turned=p.turned - 40) if i == k else p for i, p in enumerate(pairs)
    ]
    assume(joined([(p.start, p.end) for p in rest], "A") == set(NODES))  # else it was the only bridge
    other = adjust_levels(rest, "A", u_foot=FOOT)
    named = [d for d in found(wrong, "A") if d.pair == k]
    assume(named and adjust_levels(wrong, "A", u_foot=FOOT).suspects() == (k,))
    expected = other.heights[pairs[k].end] - other.heights[pairs[k].start]
    assert named[0].rise.value == pytest.approx(expected, abs=1e-5)
    start, end = (other.effects[n] for n in (pairs[k].start, pairs[k].end))
    u = math.hypot(*(end.get(e, 0.0) - start.get(e, 0.0) for e in {*start, *end})) / max(1.0, other.s0)
    assert named[0].rise.u == pytest.approx(u, rel=1e-4)


def test_two_mistakes_in_one_net_are_both_named():
    sound = noisy(grid(4, 3), random.Random(2), FOOT)
    wrong = with_one(with_one(sound, 3, "sign of turned"), 7, "wrong way round")
    assert {(d.pair, d.kind) for d in found(wrong)} == {(3, "sign of turned"), (7, "wrong way round")}


@pytest.mark.parametrize("mistake", ["sign of turned", "sign of first", "both signs"])
def test_a_sign_that_is_put_right_lets_its_loop_speak(mistake):
    """With the run of the wrong sign left out, nothing would check the other three."""
    heights = {"A1": 0.0, "B1": 3.0, "A2": -2.0, "B2": 9.0}
    pairs = with_one(with_one(grid(2, 2, heights, zero=1.3), 1, mistake), 2, "rise differs")
    named = found(pairs)
    assert (named[0].pair, named[0].kind) == (1, mistake)
    assert {d.tied for d in named[1:]} == {(0, 1, 2, 3)}


def test_a_run_in_doubt_decides_nothing_where_its_feet_count_more_than_its_readings():
    """By hand: what the other runs say is exact, whatever the run in doubt reads."""
    sound = grid(4, 3, u=1e-4)
    (doubt,) = found(with_one(sound, 4, "first"))
    assert (doubt.pair, doubt.kind) == (4, "first")
    assert doubt.rise.value == pytest.approx(sound[4].rise, abs=1e-4)
    assert doubt.first == pytest.approx(sound[4].first, abs=1e-4)


def test_a_run_read_one_way_from_its_wrong_end():
    # slopes and zero by hand: 3 mm/m + 0.7 read from the other end is -3 + 0.7, typed with the wrong sign -3.7
    floor = {"A1": 0.0, "A2": 6.0, "B1": -2.0, "B2": 3.0, "C1": 1.0, "C2": -4.0}
    sound = grid(3, 2, floor)
    k = next(i for i, p in enumerate(sound) if (p.start, p.end) == ("A1", "A2"))
    for reading, kind in ((-2.3, "wrong way round"), (-3.7, "both signs")):
        wrong = [replace(p, first=reading, turned=None) if i == k else p for i, p in enumerate(sound)]
        named = {d.pair: d for d in found(wrong)}
        assert named[k].kind == kind
        assert (named[k].first, named[k].turned) == (pytest.approx(3.7, abs=0.01), None)
        assert named[k].rise.value == pytest.approx(6.0, abs=1e-9)


# --- what a zero error alone can tell ------------------------------------------------------------


def line(zero=0.7, **more):
    """Four runs in a line: nothing but their zero errors checks them."""
    heights = dict(zip("ABCDE", (0.0, 5.0, -1.0, 6.0, 3.0), strict=True))
    return [read(a, b, heights, zero=zero, **more) for a, b in itertools.pairwise("ABCDE")]


@pytest.mark.parametrize("k", range(4))
@pytest.mark.parametrize(("mistake", "kind"), [("sign of turned",) * 2, ("sign of first",) * 2, ("both signs",) * 2, ("first", "zero differs"), ("turned", "zero differs")])  # fmt: skip
def test_in_a_line_the_zero_error_is_all_there_is(k, mistake, kind):
    (doubt,) = found(with_one(line(zero=1.1), k, mistake))
    assert (doubt.pair, doubt.kind) == (k, kind)
    sound = line(zero=1.1)[k]
    if kind != "zero differs":
        assert (doubt.first, doubt.turned) == pytest.approx((sound.first, sound.turned))
    elif mistake == "first":  # what each would be if the other stands: one of them is what the level showed
        assert doubt.first == pytest.approx(sound.first, abs=1e-5)
    else:
        assert doubt.turned == pytest.approx(sound.turned, abs=1e-5)


def test_a_level_without_a_zero_error_leaves_open_which_sign_is_wrong():
    (doubt,) = found(with_one(line(zero=0.0), 1, "sign of turned"))
    sound = line(zero=0.0)[1]
    assert doubt.kind == "sign of one"
    assert doubt.turned == pytest.approx(sound.turned)  # if the first stands; the first if the second does
    assert doubt.first == pytest.approx(-sound.first)


def test_of_two_that_disagree_both_are_named():
    pairs = with_one(line()[:2], 1, "turned")
    assert odd_zeros(pairs, u_foot=FOOT) == (0, 1)
    assert {d.pair for d in found(pairs)} == {0, 1}
    flipped = {d.pair: d.kind for d in found(with_one(line()[:2], 1, "sign of turned"))}
    assert flipped[1] == "sign of turned"
    both = [MISTAKES["sign of turned"](p) for p in line()[:2]]
    assert [d.kind for d in found(both)] == ["zero differs"] * 2  # two are too few to say it of all


def test_zero_errors_in_two_camps_leave_nothing_to_hold_them_against():
    pairs = [*line(zero=0.0)[:2], *line(zero=5.0)[2:]]
    named = found(pairs)
    assert [d.pair for d in named] == [0, 1, 2, 3]
    assert {(d.kind, d.first, d.turned) for d in named} == {("zero differs", None, None)}


def test_second_readings_that_all_have_the_sign_of_the_slope():
    pairs = [replace(p, turned=-p.turned) for p in noisy(grid(4, 3), random.Random(4), FOOT)]
    named = found(pairs)
    assert [d.pair for d in named] == list(range(17))
    assert {d.kind for d in named} == {"sign of turned"}
    assert all(d.turned == -p.turned for d, p in zip(named, pairs, strict=True))


def test_each_level_has_a_zero_error_of_its_own():
    pairs = line(zero=0.7) + [replace(p, level="level-2") for p in line(zero=-3.0)]
    assert found(pairs) == ()
    mixed = [replace(p, level="level-1") for p in pairs[:5]] + pairs[5:]
    assert [d.pair for d in found(mixed)] == [4]  # read with the other level, its name not changed


# --- loops ---------------------------------------------------------------------------------------

SQUARE = {"A1": (0.0, 0.0), "B1": (2.0, 0.0), "A2": (0.0, 1.5), "B2": (2.5, 1.5)}


def test_a_single_loop_names_all_its_runs_and_which_of_them_would_close_it():
    pairs = with_one(grid(2, 2, {"A1": 0.0, "B1": 3.0, "A2": -2.0, "B2": 9.0}), 3, "wrong way round")
    named = found(pairs)
    assert {d.tied for d in named} == {(0, 1, 2, 3)}
    assert [d.kind for d in named] == ["rise differs"] * 3 + ["wrong way round"]


@pytest.mark.parametrize("k", range(4))
def test_the_diagonal_tells_which_half_is_wrong(k):
    heights = {"A1": 0.0, "B1": 3.0, "A2": -2.0, "B2": 9.0}
    pairs = with_one(grid(2, 2, heights), k, "rise differs")
    (loop,) = loops(pairs, u_foot=FOOT)
    a, b = diagonal_to_read(loop, SQUARE)
    assert {a, b} == {"B1", "A2"}  # the shorter of the two
    named = found([*pairs, read(a, b, heights, 2.5)])
    halves = [{"A1", a, b}, {"B2", a, b}]
    assert {d.tied for d in named} == {tuple(d.pair for d in named)}
    assert k in named[0].tied
    assert any(all({pairs[i].start, pairs[i].end} <= half for i in named[0].tied) for half in halves)


@given(st.integers(4, 12), st.floats(0, 6.2))
def test_a_diagonal_halves_its_loop_and_is_no_run_of_it(n, turn):
    names = [f"N{k}" for k in range(n)]
    ring = [
        Pair(a, b, 1.0, 0.0, 0.0, 0.1, "level-1") for a, b in zip(names, [*names[1:], names[0]], strict=True)
    ]
    places = {
        m: (2 * math.cos(turn + 6.283 * k / n), math.sin(turn + 6.283 * k / n)) for k, m in enumerate(names)
    }
    (loop,) = loops(ring, u_foot=FOOT)
    i, j = sorted(names.index(m) for m in diagonal_to_read(loop, places))
    assert min(j - i, n - (j - i)) == n // 2
    across = [math.dist(places[names[k]], places[names[k + n // 2]]) for k in range(n - n // 2)]
    assert math.dist(places[names[i]], places[names[j]]) <= min(across) + 1e-9


def test_where_there_is_no_diagonal_to_read():
    (three,) = loops([*line()[:2], replace(line()[0], start="C", end="A")], u_foot=FOOT)
    assert diagonal_to_read(three, dict.fromkeys("ABC", (0.0, 0.0))) is None
    (four,) = loops(grid(2, 2), u_foot=FOOT)
    assert diagonal_to_read(four, SQUARE, longest=2.0) is None
    assert diagonal_to_read(four, SQUARE, longest=2.6) == ("B1", "A2")


# --- sound nets ----------------------------------------------------------------------------------

ONE_FINE = [replace(p, u=0.001 if k == 0 else 2.0) for k, p in enumerate(line())]
"""Its median is far less certain than the zero error of the first."""


@pytest.mark.parametrize(
    ("pairs", "numbers"),
    [(grid(3, 3), 12 + 12), (line(), 4), (line()[:2], 1), (grid(2, 2), 1 + 4), (ONE_FINE, 4)],
)
def test_sound_nets_are_seldom_in_doubt(pairs, numbers):
    """0.1 % for each number that can be in doubt; of 1500 nets at most what chance allows (mean + 4 sigma)."""
    chance, times = random.Random(9), 1500
    alarms = sum(1 for _ in range(times) if found(noisy(pairs, chance, FOOT)))
    mean = times * numbers * 0.001
    assert alarms <= mean + 4.0 * math.sqrt(mean)


@given(nets(noise=0.0))
def test_exact_readings_are_never_in_doubt(pairs):
    assert found(pairs, "A") == ()


def test_a_blunder_of_ten_u_is_found_nearly_always():
    """Ten times the u of a reading in one reading of a net of squares: 95 of 100, and then the right run."""
    chance, hit, wrong = random.Random(3), 0, 0
    for _ in range(300):
        pairs = noisy(grid(3, 3, u=0.2), chance, 0.02)
        k = chance.randrange(len(pairs))
        named = found([replace(p, first=p.first + 2.0) if i == k else p for i, p in enumerate(pairs)])
        hit += k in {d.pair for d in named}
        wrong += bool({d.pair for d in named} - {k})
    assert hit > 285
    assert wrong < 15

"""Where two tapes meet: closed cases, scipy and simulation as oracles."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.optimize import least_squares

from readiness.measure.chance import NORMAL_95
from readiness.measure.trilateration import TapesApartError, two_tapes, worst_u

U = 0.005
near = st.floats(-6, 6)
places = st.tuples(near, near)


def simulated(truth, a, b, *, u_tape, u_mark=0.0, runs=4000, seed=1):
    """Places found left of the marks, and their covariances, from tapes and marks with normal errors."""
    rng = np.random.default_rng(seed)
    found, spreads = [], []
    for _ in range(runs):
        at = [np.add(m, rng.normal(0, u_mark, 2)) for m in (a, b)]
        ra, rb = (float(np.hypot(*np.subtract(truth, m)) + rng.normal(0, u_tape)) for m in at)
        try:
            left, _right = two_tapes(a, b, abs(ra), abs(rb), u_tape=u_tape, u_mark=u_mark)
        except TapesApartError:
            continue
        found.append(left.at)
        spreads.append(left.covariance)
    return np.array(found), np.array(spreads)


# --- closed cases --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("a", "b", "ra", "rb", "left", "right"),
    [
        ((0, 0), (4, 0), 3, 5, (0, 3), (0, -3)),  # 3-4-5 with the right angle at a
        ((0, 0), (5, 0), 3, 4, (1.8, 2.4), (1.8, -2.4)),  # 3-4-5 over its longest side
        ((0, 0), (0, 14), 13, 15, (-12, 5), (12, 5)),  # 13-14-15, height 12 over the side of 14
        ((7, 1), (1, 1), 5, 5, (4, -3), (4, 5)),  # two 3-4-5; left of a line that runs towards -x is -y
    ],
)
def test_triangles_with_whole_sides(a, b, ra, rb, left, right):
    found = two_tapes(a, b, ra, rb, u_tape=U)
    assert found[0].at == pytest.approx(left, abs=1e-12)
    assert found[1].at == pytest.approx(right, abs=1e-12)


def test_tapes_that_cross_at_a_right_angle_give_the_place_as_well_as_themselves():
    # by hand: each tape holds its own direction, and these two are square to one another
    for at in two_tapes((0, 0), (5, 0), 3, 4, u_tape=U, u_mark=0.012):
        assert np.array(at.covariance) == pytest.approx(np.eye(2) * 0.013**2, rel=0.02, abs=1e-6)
        assert at.u == pytest.approx(0.013, rel=0.01)


def test_the_worst_direction_is_numpys_larger_eigenvalue():
    rng = np.random.default_rng(3)
    for _ in range(200):
        m = rng.normal(size=(2, 2))
        m = m @ m.T
        assert worst_u(tuple(map(tuple, m))) == pytest.approx(math.sqrt(np.linalg.eigvalsh(m)[-1]))


@given(places, places, places)
@settings(max_examples=300)
def test_the_place_is_found_again_and_the_other_is_its_mirror_image(a, b, at):
    assume(math.dist(a, b) > 0.1)
    found = two_tapes(a, b, math.dist(a, at), math.dist(b, at), u_tape=U)
    cross = (b[0] - a[0]) * (at[1] - a[1]) - (b[1] - a[1]) * (at[0] - a[0])
    off = abs(cross) / math.dist(a, b)
    mine, other = found if cross >= 0 else found[::-1]
    assert mine.at == pytest.approx(at, abs=1e-6 if off > 1e-3 else 1e-3)
    assert math.dist(mine.at, other.at) == pytest.approx(2 * off, abs=1e-6 if off > 1e-3 else 2e-3)
    assert mine.u == pytest.approx(other.u)


@given(places, places, places, st.floats(0, 2 * math.pi), places)
@settings(max_examples=200)
def test_turning_the_whole_bay_changes_nothing(a, b, at, angle, shift):
    assume(math.dist(a, b) > 0.1)
    turn = np.array([[math.cos(angle), -math.sin(angle)], [math.sin(angle), math.cos(angle)]])
    assume(abs((b[0] - a[0]) * (at[1] - a[1]) - (b[1] - a[1]) * (at[0] - a[0])) > 0.01)

    def moved(p):
        return tuple(turn @ p + shift)

    ra, rb = math.dist(a, at), math.dist(b, at)
    before = two_tapes(a, b, ra, rb, u_tape=U)
    after = two_tapes(moved(a), moved(b), ra, rb, u_tape=U)
    for one, other in zip(before, after, strict=True):
        assert other.at == pytest.approx(moved(one.at), abs=1e-6)
        assert other.u == pytest.approx(one.u, rel=1e-4)
        expected = turn @ np.array(one.covariance) @ turn.T
        assert np.array(other.covariance) == pytest.approx(expected, rel=1e-3, abs=1e-9)


# --- oracles -------------------------------------------------------------------------------------


def test_scipy_finds_the_same_place_and_covariance():
    rng, u = np.random.default_rng(7), 1e-5  # so little that first order is exact
    for _ in range(100):
        marks, at = rng.uniform(-5, 5, (2, 2)), rng.uniform(-5, 5, 2)
        tapes = np.hypot(*(at - marks).T)
        (ex, ey), (px, py) = marks[1] - marks[0], at - marks[0]
        if abs(ex * py - ey * px) < 0.3 * math.hypot(ex, ey):
            continue

        def off(p, marks=marks, tapes=tapes):
            return np.hypot(*(p - marks).T) - tapes

        fit = least_squares(off, at + 0.01, xtol=1e-14, ftol=1e-14, gtol=1e-14)
        both = two_tapes(*map(tuple, marks), *tapes, u_tape=u)
        met = min(both, key=lambda m: math.dist(m.at, at))
        assert met.at == pytest.approx(fit.x, abs=1e-7)
        expected = np.linalg.inv(fit.jac.T @ fit.jac) * u**2
        assert np.array(met.covariance) == pytest.approx(expected, rel=2e-3, abs=1e-3 * expected.max())


@pytest.mark.parametrize(("u_tape", "u_mark"), [(0.005, 0.0), (0.005, 0.01)])
@pytest.mark.parametrize("at", [(1.8, 2.4), (-1, 1.2), (7, 3), (2.5, 0.8)])
def test_simulated_errors_spread_as_the_covariance_says(at, u_tape, u_mark):
    found, spreads = simulated(at, (0, 0), (5, 0), u_tape=u_tape, u_mark=u_mark)
    real, said = np.cov(found.T), spreads.mean(axis=0)
    assert said == pytest.approx(real, rel=0.12, abs=0.04 * real.max())


@pytest.mark.parametrize("h", [0.0, 0.01, 0.05, 0.1, 0.15, 0.2, 0.3, 0.5])
@pytest.mark.parametrize("s", [2.0, 0.3, 6.5])
def test_near_the_line_of_the_marks_u_covers_what_first_order_does_not(h, s):
    # between the marks, near one of them and beyond; 90 of 100 cases within 1.645 u is what the guard bands mean
    found, spreads = simulated((s, h), (0, 0), (5, 0), u_tape=U)
    assert len(found) > 3980  # nearly all touch
    for axis, truth in enumerate((s, h)):
        off = np.abs(found[:, axis] - truth)
        u = np.sqrt(spreads[:, axis, axis])
        assert np.mean(off <= NORMAL_95 * u) > 0.885
        assert np.sqrt(np.mean(u**2)) < 2.0 * max(np.sqrt(np.mean(off**2)), U / 2)  # and claims not much more


@pytest.mark.parametrize(
    ("s", "h"), [(7.0, 0.005), (-2.0, 0.03), (3.0, 0.005), (0.3, 0.01), (6.0, 0.3), (2.0, 1.0)]
)
def test_near_the_line_no_direction_is_told_better_than_it_is(s, h):
    # along and across no longer err in proportion there; what a clearance rests on may lie in any direction.
    # 1 in 20 lie off by more than 1.645 u one way, as the guard bands mean it; 7 % is 5 sd of that more
    found, spreads = simulated((s, h), (0, 0), (5, 0), u_tape=0.0104, runs=3000)
    for way in np.linspace(0, 2 * math.pi, 48, endpoint=False):
        w = np.array([math.cos(way), math.sin(way)])
        u = np.sqrt(np.einsum("i,nij,j->n", w, spreads, w))
        assert np.mean((found - (s, h)) @ w > NORMAL_95 * u) < 0.07


def test_a_tape_of_no_length_lies_at_its_mark():
    left, right = two_tapes((1, 2), (4, 6), 0, 5, u_tape=U)
    assert left.at == right.at == pytest.approx((1, 2))
    assert U <= left.u <= 2 * U


# --- what cannot be ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("tapes", "short", "gap", "words"),
    [((2, 2.5), True, 0.5, "are too short by 0.500 m"), ((8, 2), False, 1.0, "differ too much by 1.000 m"),
     ((2, 8), False, 1.0, "5.000 m apart")],
)  # fmt: skip
def test_tapes_that_do_not_meet_say_by_how_much(tapes, short, gap, words):
    with pytest.raises(TapesApartError, match=words) as error:
        two_tapes((0, 0), (3, 4), *tapes, u_tape=U)
    assert (error.value.short, error.value.gap) == (short, pytest.approx(gap))


def test_tapes_that_nearly_meet_touch_on_the_line():
    left, right = two_tapes((0, 0), (3, 4), 2, 2.99, u_tape=U)
    assert left.at == right.at
    assert math.dist(left.at, (0, 0)) + math.dist(left.at, (3, 4)) == pytest.approx(5)
    with pytest.raises(TapesApartError):
        two_tapes((0, 0), (3, 4), 2, 2.97, u_tape=U)


@pytest.mark.parametrize(
    ("a", "b", "ra"), [((1, 1), (1, 1), 1), ((0, 0), (1, 0), -1), ((0, 0), (1, 0), math.nan)]
)
def test_marks_at_one_place_and_lengths_that_are_none_are_refused(a, b, ra):
    with pytest.raises(ValueError, match=r"one place|cannot be"):
        two_tapes(a, b, ra, 1, u_tape=U)

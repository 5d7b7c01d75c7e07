"""Where a body stands by its tapes: scipy and simulation as oracles."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.optimize import least_squares

from readiness.measure.chance import NORMAL_95
from readiness.measure.taped_pose import TapeTo, pose_from_tapes, suspects

MARKS = ((0.0, 0.0), (10.0, 0.0))
LEFT = ((2.7, 0.77), (0.0, 0.76))
"""Left-hand wheels of an invented car, in its own axes."""
REAR = ((0.0, 0.76), (0.0, -0.76))
U = 0.005


def place(pose, point):
    c, s = math.cos(math.radians(pose[2])), math.sin(math.radians(pose[2]))
    return pose[0] + c * point[0] - s * point[1], pose[1] + s * point[0] + c * point[1]


def tapes_of(pose, points=LEFT, marks=MARKS, *, rng=None, u_tape=0.0, u_mark=0.0):
    """Tapes from every mark to every point, with normal errors of tapes and marks where `rng` is given."""
    found = []
    for mark in marks:
        real = mark if rng is None else tuple(np.add(mark, rng.normal(0, u_mark, 2)))
        for point in points:
            error = 0.0 if rng is None else rng.normal(0, u_tape)
            found.append(TapeTo(mark, point, abs(math.dist(real, place(pose, point)) + error)))
    return found


def apart(one, other):
    """Distance in m, and turn in degrees."""
    turn = (one.heading - other[2] + 180) % 360 - 180
    return math.dist((one.x, one.y), other[:2]), abs(turn)


def nearest(found, pose):
    """The one whose wheels, a few metres off its origin, are nearest."""
    return min(found, key=lambda p: apart(p, pose)[0] + apart(p, pose)[1] / 20)


poses = st.tuples(st.floats(-3, 12), st.floats(-6, 6), st.floats(-180, 180))


def clear_of_line(pose, points, least=0.3):
    return all(abs(place(pose, p)[1]) > least for p in points)


# --- the pose ------------------------------------------------------------------------------------


@given(poses)
@settings(max_examples=200, deadline=None)
def test_the_pose_is_found_again_and_so_is_its_mirror_image(pose):
    assume(clear_of_line(pose, LEFT))
    found = pose_from_tapes(tapes_of(pose), u_tape=U)
    mine = nearest(found, pose)
    assert apart(mine, pose) == pytest.approx((0, 0), abs=1e-5)
    assert mine.chance == pytest.approx(1, abs=1e-3)
    assert (mine.x, mine.y) == pytest.approx(mine.place((0, 0)))
    # by hand: the wheels' mirror images about the line of the marks, and the car beyond them
    images = [(x, -y) for x, y in (place(pose, p) for p in LEFT)]
    other = min(found, key=lambda p: sum(math.dist(p.place(w), i) for w, i in zip(LEFT, images, strict=True)))
    assert [other.place(w) for w in LEFT] == [pytest.approx(i, abs=1e-5) for i in images]
    assert other.chance == pytest.approx(1, abs=1e-3)


@given(poses, st.floats(0, 360), st.tuples(st.floats(-20, 20), st.floats(-20, 20)))
@settings(max_examples=100, deadline=None)
def test_turning_the_whole_bay_changes_nothing(pose, angle, shift):
    assume(clear_of_line(pose, LEFT))
    rng = np.random.default_rng(5)
    tapes = tapes_of(pose, rng=rng, u_tape=U)
    turn = (*shift, angle)
    moved = [TapeTo(place(turn, t.mark), t.point, t.length) for t in tapes]
    before = nearest(pose_from_tapes(tapes, u_tape=U, u_mark=U), pose)
    target = (*place(turn, (before.x, before.y)), before.heading + angle)
    after = nearest(pose_from_tapes(moved, u_tape=U, u_mark=U), target)
    assert apart(after, target) == pytest.approx((0, 0), abs=1e-4)
    assert after.u == pytest.approx(before.u, rel=1e-3)
    assert after.u_heading == pytest.approx(before.u_heading, rel=1e-3)
    assert after.chi_square == pytest.approx(before.chi_square, rel=1e-3, abs=1e-5)


def test_a_third_wheel_beside_the_others_rules_the_mirror_image_out():
    found = pose_from_tapes(tapes_of((3, 2.3, 10), (*LEFT, (0.0, -0.76))), u_tape=U)
    assert apart(found[0], (3, 2.3, 10)) == pytest.approx((0, 0), abs=1e-5)
    assert [p for p in found[1:] if p.chance > 1e-6] == []


def test_three_tapes_are_enough_and_check_nothing():
    found = pose_from_tapes(tapes_of((3, 2.3, 10))[:3], u_tape=U)
    mine = nearest(found, (3, 2.3, 10))
    assert apart(mine, (3, 2.3, 10)) == pytest.approx((0, 0), abs=1e-5)
    assert (mine.dof, mine.chance) == (0, 1.0)


def test_scipy_finds_the_same_pose_and_covariance():
    rng, u = np.random.default_rng(11), 1e-5  # so little that first order is exact
    for _ in range(40):
        pose = (*rng.uniform((-1, -5), (11, 5)), rng.uniform(-180, 180))
        if not clear_of_line(pose, LEFT):
            continue
        tapes = tapes_of(pose, rng=rng, u_tape=u)

        def off(p, tapes=tapes):
            return [math.dist(t.mark, place((p[0], p[1], p[2]), t.point)) - t.length for t in tapes]

        fit = least_squares(off, pose, xtol=1e-15, ftol=1e-15, gtol=1e-15, x_scale=(1, 1, 20))
        mine = nearest(pose_from_tapes(tapes, u_tape=u), pose)
        assert apart(mine, fit.x) == pytest.approx((0, 0), abs=1e-6)
        expected = np.linalg.inv(fit.jac.T @ fit.jac) * u**2
        root = np.sqrt(np.diag(expected))
        assert np.array(mine.covariance) / np.outer(root, root) == pytest.approx(
            expected / np.outer(root, root), abs=5e-3
        )
        assert mine.residuals == pytest.approx(fit.fun, abs=1e-8)
        assert mine.chi_square == pytest.approx(2 * fit.cost / u**2, rel=1e-2, abs=1e-2)


# --- how well it is known ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("pose", "points", "u_mark", "least"),
    [
        ((3, 2.3, 0), LEFT, 0.01, 0.87),
        ((6, -2, 210), LEFT, 0.01, 0.87),
        ((3, 1.5, 80), REAR, 0.0, 0.87),
        ((3, -0.36, 2), LEFT, 0.01, 0.87),  # wheels 0.4 m beside the line of the marks
        ((3, -0.56, 0), LEFT, 0.0, 0.79),  # 0.2 m beside it
    ],
)
def test_u_covers_the_truth(pose, points, u_mark, least):
    rng = np.random.default_rng(2)
    off, chances = [], []
    for _ in range(400):
        tapes = tapes_of(pose, points, rng=rng, u_tape=U, u_mark=u_mark)
        mine = nearest(pose_from_tapes(tapes, u_tape=U, u_mark=u_mark), pose)
        error = (mine.x - pose[0], mine.y - pose[1], (mine.heading - pose[2] + 180) % 360 - 180)
        off.append(np.abs(error) / np.sqrt(np.diag(mine.covariance)))
        chances.append(mine.chance)
    assert (np.mean(np.array(off) <= NORMAL_95, axis=0) > least).all()
    assert (np.sqrt(np.mean(np.square(off), axis=0)) > 0.6).all()  # and u claims not much more than there is
    if least > 0.86:
        assert 0.02 < np.mean(np.array(chances) < 0.05) < 0.09


def test_wheels_on_the_line_of_the_marks_are_seen_to_be_known_badly():
    rng, pose, u = np.random.default_rng(3), (3, -0.72, 0), []
    for _ in range(60):
        u.append(nearest(pose_from_tapes(tapes_of(pose, rng=rng, u_tape=U), u_tape=U), pose).u)
    assert np.mean(np.array(u) > 0.05) > 0.95


# --- slips ---------------------------------------------------------------------------------------


def checked_by_the_others(pose, k, points=LEFT, marks=MARKS):
    """Share of an error of tape k that the tapes' misfit shows: numpy's null space of the transposed design."""
    tapes, rows, step = tapes_of(pose, points, marks), [], 1e-6
    for axis in range(3):
        other = list(pose)
        other[axis] += step
        rows.append(
            [(b.length - a.length) / step for a, b in zip(tapes, tapes_of(other, points, marks), strict=True)]
        )
    basis = np.linalg.svd(np.array(rows))[2][3:]
    return float(np.linalg.norm(basis[:, k]))


def test_a_tape_misread_by_a_tenth_of_a_metre_is_found():
    rng = np.random.default_rng(4)
    found, wrong = [], []
    while len(found) < 400:
        pose, k = (*rng.uniform((0, 1), (8, 5)), rng.uniform(-180, 180)), int(rng.integers(4))
        if not clear_of_line(pose, LEFT) or checked_by_the_others(pose, k) < 0.3:
            continue  # the others do not check this one
        tapes = tapes_of(pose, rng=rng, u_tape=U)
        sound = pose_from_tapes(tapes, u_tape=U)
        tapes[k] = TapeTo(tapes[k].mark, tapes[k].point, tapes[k].length + rng.choice((-0.1, 0.1)))
        found.append(pose_from_tapes(tapes, u_tape=U)[0].chance < 0.01)
        wrong.append(sound[0].chance < 0.01)
    assert np.mean(found) > 0.95
    assert np.mean(wrong) < 0.03


def test_two_tapes_that_were_swapped_are_found():
    rng = np.random.default_rng(6)
    found = []
    for _ in range(200):
        pose = (*rng.uniform((1, 2), (6, 5)), rng.uniform(-20, 20))
        tapes = tapes_of(pose, rng=rng, u_tape=U)
        a, b = tapes[0], tapes[1]  # from one mark to front and rear
        swapped = [TapeTo(a.mark, a.point, b.length), TapeTo(b.mark, b.point, a.length), *tapes[2:]]
        if abs(a.length - b.length) > 0.2:
            found.append(pose_from_tapes(swapped, u_tape=U)[0].chance < 0.01)
    assert len(found) > 100
    assert np.mean(found) > 0.95


def test_with_tapes_to_spare_the_misread_one_is_named():
    rng = np.random.default_rng(8)
    marks, named, told = (*MARKS, (5.0, 7.0)), [], []
    while len(named) < 60:
        pose, k = (*rng.uniform((1, 1), (8, 5)), rng.uniform(-180, 180)), int(rng.integers(6))
        tapes = tapes_of(pose, LEFT, marks, rng=rng, u_tape=U)
        if not clear_of_line(pose, LEFT) or checked_by_the_others(pose, k, LEFT, marks) < 0.5:
            continue
        tapes[k] = TapeTo(tapes[k].mark, tapes[k].point, tapes[k].length + rng.choice((-0.1, 0.1)))
        may_be = suspects(tapes, u_tape=U)
        named.append(k in may_be)
        told.append(may_be == (k,))
    assert np.mean(named) > 0.95
    assert np.mean(told) > 0.7


def test_with_one_tape_to_spare_it_may_be_any_of_them():
    tapes = tapes_of((3, 2.3, 0))
    tapes[2] = TapeTo(tapes[2].mark, tapes[2].point, tapes[2].length + 0.1)
    assert suspects(tapes, u_tape=U) == (0, 1, 2, 3)
    inside = suspects(tapes, u_tape=U, can_be=lambda p: apart(p, (3, 2.3, 0))[0] < 0.01)
    assert inside == (2,)  # where only the true pose can be


# --- what cannot be ------------------------------------------------------------------------------


@pytest.mark.parametrize("keep", [(0, 1), (0, 2), (0,), ()])
def test_too_few_tapes_are_refused(keep):
    tapes = tapes_of((3, 2.3, 0))
    with pytest.raises(ValueError, match="tell no pose"):
        pose_from_tapes([tapes[k] for k in keep], u_tape=U)


def test_a_tape_without_uncertainty_is_refused():
    with pytest.raises(ValueError, match="it is positive"):
        pose_from_tapes(tapes_of((3, 2.3, 0)), u_tape=0.0)


# --- what it turns about -------------------------------------------------------------------------


@given(
    poses,
    st.sampled_from([LEFT, REAR]),
    st.tuples(st.floats(-6, 8), st.floats(-4, 4)),
    st.floats(0, 2 * math.pi),
)
def test_about_its_pivot_place_and_heading_err_independently(pose, points, at, way):
    # the covariance of any place along any way (JCGM 100, 5.2.2) is never more than pivot and heading say
    assume(clear_of_line(pose, points))
    found = nearest(pose_from_tapes(tapes_of(pose, points), u_tape=U, u_mark=0.01), pose)
    turn = np.diag([1.0, 1.0, math.radians(1.0)])
    spread = turn @ np.array(found.covariance) @ turn
    (px, py), u = found.pivot
    (x, y), w = place((found.x, found.y, found.heading), at), np.array([math.cos(way), math.sin(way)])

    def slope(fx, fy):
        return np.array([*w, w[1] * (x - fx) - w[0] * (y - fy)])

    exact = slope(found.x, found.y) @ spread @ slope(found.x, found.y)
    lever = slope(px, py)[2]
    told = u**2 + spread[2, 2] * lever**2
    assert exact <= told * (1 + 1e-6) + 1e-12
    assert u <= found.u * (1 + 1e-6)

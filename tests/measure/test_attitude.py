"""Roll, pitch, yaw and shift against scipy's rotations, with the signs of ISO 8855."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from readiness.measure.attitude import (
    pitch_deg,
    roll_deg,
    roll_pitch_of_slopes,
    rotation,
    shift_at,
    turned,
    turned_back,
    yaw_of_marks,
)

angles = st.floats(-5, 5)
lengths = st.floats(1.0, 4.0)
mm = st.floats(-60, 60)


@given(angles, lengths)
def test_roll_lifts_the_left_side(angle, track):
    """A right-handed turn about x forward lifts y left (ISO 8855)."""
    turn = Rotation.from_euler("x", angle, degrees=True)
    left, right = turn.apply([[0, track / 2, 0], [0, -track / 2, 0]])
    # heights over the level distance between the two places
    got = roll_deg(left[2] * 1000, right[2] * 1000, left[1] - right[1])
    assert got == pytest.approx(angle, abs=1e-9)


@given(angles, lengths)
def test_pitch_lowers_the_nose(angle, wheelbase):
    """A right-handed turn about y left lowers x forward (ISO 8855)."""
    turn = Rotation.from_euler("y", angle, degrees=True)
    front, rear = turn.apply([[wheelbase / 2, 0, 0], [-wheelbase / 2, 0, 0]])
    got = pitch_deg(front[2] * 1000, rear[2] * 1000, front[0] - rear[0])
    assert got == pytest.approx(angle, abs=1e-9)


@given(angles, st.floats(1, 4), st.floats(-4, 0.5), mm)
def test_yaw_and_shift_of_a_turned_centre_line(angle, x_front, x_rear, shift):
    """A right-handed turn about z up takes the nose left; the marks are where the turned line crosses."""
    ahead = Rotation.from_euler("z", angle, degrees=True).apply([1.0, 0, 0])

    def left_at(x: float) -> float:
        return shift + 1000 * x * ahead[1] / ahead[0]

    f, r = left_at(x_front), left_at(x_rear)
    assert yaw_of_marks(f, r, x_front, x_rear) == pytest.approx(angle, abs=1e-9)
    assert shift_at(0.0, f, r, x_front, x_rear) == pytest.approx(shift, abs=1e-9)
    assert shift_at(x_front, f, r, x_front, x_rear) == pytest.approx(f, abs=1e-9)


def test_offsets_at_three_metres():
    """tan: 0.1 deg is 5.236 mm and 1 deg 52.365 mm at 3 m (by hand)."""
    assert yaw_of_marks(5.236, 0, 3, 0) == pytest.approx(0.1, abs=1e-5)
    assert roll_deg(52.365, 0, 3) == pytest.approx(1.0, abs=1e-5)


@given(mm, mm, lengths)
def test_the_mirror_image_rolls_the_other_way(left, right, track):
    assert roll_deg(right, left, track) == -roll_deg(left, right, track)
    assert yaw_of_marks(-left, -right, 2, -1) == pytest.approx(-yaw_of_marks(left, right, 2, -1))


@given(angles, angles, angles, st.tuples(mm, mm, mm))
def test_rotations_are_scipys(roll, pitch, yaw, v):
    """Intrinsic yaw, pitch, roll: 'ZYX' in scipy (ISO 8855)."""
    turn = Rotation.from_euler("ZYX", [yaw, pitch, roll], degrees=True)
    by = rotation(roll, pitch, yaw)
    assert np.array(by) == pytest.approx(turn.as_matrix(), abs=1e-12)
    assert turned(by, v) == pytest.approx(tuple(turn.apply(v)), abs=1e-9)
    assert turned_back(by, v) == pytest.approx(tuple(turn.inv().apply(v)), abs=1e-9)


@given(st.floats(-0.5, 0.5), st.floats(-0.5, 0.5))
def test_a_body_turned_by_its_roll_and_pitch_lies_in_the_plane(along, across):
    """The normal of z = along x + across y is (-along, -across, 1); ahead stays straight ahead in plan."""
    turn = Rotation.from_euler("YX", roll_pitch_of_slopes(along, across)[::-1], degrees=True)
    normal = np.array([-along, -across, 1.0]) / np.sqrt(1 + along**2 + across**2)
    assert turn.apply([0.0, 0.0, 1.0]) == pytest.approx(normal, abs=1e-12)
    assert turn.apply([1.0, 0.0, 0.0])[1] == pytest.approx(0.0, abs=1e-12)


@pytest.mark.parametrize(
    "call",
    [
        lambda: roll_deg(1, 2, 0),
        lambda: pitch_deg(1, 2, -1),
        lambda: yaw_of_marks(1, 2, 0, 1),
        lambda: shift_at(0, 1, 2, 1, 1),
        lambda: roll_deg(1, 2, math.nan),
    ],
)
def test_no_length_no_angle(call):
    with pytest.raises(ValueError, match="is positive"):
        call()

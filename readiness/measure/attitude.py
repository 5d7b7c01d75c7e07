"""How a body or a laid-out line sits, from heights and offsets at known places.

Signs by ISO 8855: x forward, y left, z up; roll > 0 left side up, pitch > 0 nose down, yaw > 0 nose left.
"""

from __future__ import annotations

import math

XYZ = tuple[float, float, float]
Matrix3 = tuple[XYZ, XYZ, XYZ]


def roll_deg(left_mm: float, right_mm: float, track_m: float) -> float:
    """Roll in degrees from heights in mm on the left and right, `track_m` apart; > 0 left side up."""
    return math.degrees(math.atan2((left_mm - right_mm) / 1000.0, _length(track_m, "track")))


def pitch_deg(front_mm: float, rear_mm: float, wheelbase_m: float) -> float:
    """Pitch in degrees from heights in mm at front and rear, `wheelbase_m` apart; > 0 nose down."""
    return math.degrees(math.atan2((rear_mm - front_mm) / 1000.0, _length(wheelbase_m, "wheelbase")))


def yaw_of_marks(f_mm: float, r_mm: float, x_f_m: float, x_r_m: float) -> float:
    """Yaw in degrees of the line through a front and a rear mark; > 0 nose left.

    f_mm and r_mm are how far the marks lie left of the true centre line, x_f_m and x_r_m where they are.
    """
    return math.degrees(math.atan2((f_mm - r_mm) / 1000.0, _length(x_f_m - x_r_m, "distance of the marks")))


def shift_at(x_m: float, f_mm: float, r_mm: float, x_f_m: float, x_r_m: float) -> float:
    """How far in mm, left positive, the line through the marks lies off the true centre line at x."""
    return r_mm + (f_mm - r_mm) * (x_m - x_r_m) / _length(x_f_m - x_r_m, "distance of the marks")


def roll_pitch_of_slopes(along: float, across: float) -> tuple[float, float]:
    """Roll and pitch in degrees of a plane that rises by `along` a m ahead and by `across` a m to the left.

    Exact for `rotation`, which pitches first and then rolls: tan pitch = -along, tan roll = across cos pitch.
    """
    pitch = math.atan(-along)
    return math.degrees(math.atan(across * math.cos(pitch))), math.degrees(pitch)


def rotation(roll: float, pitch: float, yaw: float = 0.0) -> Matrix3:
    """The matrix, by rows, that turns body axes into axes of the ground: yaw, then pitch, then roll (ISO 8855).

    Angles in degrees. With yaw 0 the body points straight ahead however it rolls and pitches.
    """
    sr, cr = math.sin(math.radians(roll)), math.cos(math.radians(roll))
    sp, cp = math.sin(math.radians(pitch)), math.cos(math.radians(pitch))
    sy, cy = math.sin(math.radians(yaw)), math.cos(math.radians(yaw))
    return (
        (cy * cp, cy * sp * sr - sy * cr, cy * sp * cr + sy * sr),
        (sy * cp, sy * sp * sr + cy * cr, sy * sp * cr - cy * sr),
        (-sp, cp * sr, cp * cr),
    )


def turned(by: Matrix3, v: XYZ) -> XYZ:
    """The vector after the rotation."""
    x, y, z = (row[0] * v[0] + row[1] * v[1] + row[2] * v[2] for row in by)
    return x, y, z


def turned_back(by: Matrix3, v: XYZ) -> XYZ:
    """The vector before the rotation: what `turned` would have made into v."""
    x, y, z = (by[0][k] * v[0] + by[1][k] * v[1] + by[2][k] * v[2] for k in range(3))
    return x, y, z


def _length(value: float, what: str) -> float:
    if not value > 0:
        raise ValueError(f"a {what} of {value} m cannot be: it is positive")
    return value

"""The same physics as `readiness.measure.aim`, written again for whole columns of numbers with numpy and scipy.

Rotations are scipy's, planes are numpy's least squares; nothing of the project is used.
"""

from __future__ import annotations

import numpy as np
from scipy.spatial.transform import Rotation

CORNERS = ("lf", "lr", "rr", "rf")


def seen(g, raw):
    """Azimuth and elevation in degrees off what is meant; `raw` maps causes to arrays of equal length."""
    n = max((np.size(v) for v in raw.values()), default=1)

    def column(*names):
        return np.stack(
            [sum(np.broadcast_to(raw.get(x, 0.0), n) for x in name.split("+")) for name in names], axis=-1
        )

    wheels, feet = np.array(g.wheels), np.array(g.feet)
    body, sensor = _body(g, wheels, column(*(f"body.{c}+tyre.{c}" for c in CORNERS)) / 1000)
    ground = _plane(wheels, column(*(f"floor.{c}" for c in CORNERS)) / 1000)
    up = np.empty((n, 3))
    up[:, :2] = ground[:, 1:] + column("tilt.along", "tilt.across") / 1000
    up[:, 2] = np.sqrt(1 - (up[:, :2] ** 2).sum(axis=1))
    over = column(*(f"floor.foot.{k}" for k in range(1, len(feet) + 1))) / 1000
    over = (over - ground @ _design(feet).T) / up[:, 2:]
    stand = _plane(feet, over)
    lift = (stand * np.array([1, *g.target[:2]])).sum(axis=1)
    front, rear = column("mark.front", "mark.rear").T / 1000
    across = front - rear
    line = Rotation.from_euler("z", np.arctan2(across, g.marks[0] - g.marks[1])[:, None])
    origin = np.stack(
        [
            np.full(n, g.origin_x),
            rear + across * (g.origin_x - g.marks[1]) / (g.marks[0] - g.marks[1]),
            0 * rear,
        ],
        axis=-1,
    )
    base = origin + line.apply([g.target[0] - g.origin_x, g.target[1], 0.0])
    base[:, 2] += lift
    normal = np.stack([-stand[:, 1], -stand[:, 2], np.ones(n)], axis=-1)
    axis = up if g.stand == "plumb" else line.apply(normal / np.linalg.norm(normal, axis=1)[:, None])
    v = body.inv().apply(base + g.target[2] * axis - sensor)
    meant = np.subtract(g.target, g.sensor)
    azimuth = (
        np.degrees(np.arctan2(v[:, 1], v[:, 0]) - np.arctan2(meant[1], meant[0])) - column("thrust")[:, 0]
    )
    elevation = np.degrees(
        np.arctan2(v[:, 2], np.hypot(v[:, 0], v[:, 1])) - np.arctan2(meant[2], np.hypot(*meant[:2]))
    )
    return (azimuth + 180) % 360 - 180, elevation


def _body(g, wheels, corners):
    """ISO 8855: intrinsic yaw, pitch, roll; heading straight ahead, normal of the body the plane's."""
    plane = _plane(wheels, corners)
    normal = np.stack([-plane[:, 1], -plane[:, 2], np.ones(len(plane))], axis=-1)
    pitch = np.arctan2(normal[:, 0], normal[:, 2])
    roll = np.arctan2(-normal[:, 1], np.hypot(normal[:, 0], normal[:, 2]))
    body = Rotation.from_euler("ZYX", np.stack([0 * pitch, pitch, roll], axis=-1))
    pivot = np.array([*wheels.mean(axis=0), g.pivot])
    sensor = pivot + body.apply(np.subtract(g.sensor, pivot))
    sensor[:, 2] += corners.mean(axis=1)
    return body, sensor


def _design(places):
    return np.column_stack([np.ones(len(places)), places])


def _plane(places, heights):
    """Coefficients (a, b, c) of z = a + b x + c y for each row; of those that fit, the one of least slope."""
    centre = places.mean(axis=0)
    slopes = heights @ np.linalg.pinv(places - centre, rcond=1e-9).T
    return np.column_stack([heights.mean(axis=1) - slopes @ centre, slopes])

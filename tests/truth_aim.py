"""Cars that see their target off by a known angle: floor, body, tyres and centre marks, all wrong at once.

The truth is built in space, with gravity's axes and rigid bodies, apart from the engine: the wheels stand where the
floor is, the body is the rigid body that fits their centres best (Kabsch 1976, by singular values), the target
stands on its feet along the line through the marks. Every cause is drawn anew and all are scaled together until the
sensor sees its target so far off.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import hypot

import numpy as np
from msgspec.structs import replace as changed
from numpy.typing import NDArray
from scipy.optimize import brentq

from readiness.job import (
    WHEELS,
    AimTolerance,
    AxleLoads,
    Place,
    Point,
    RideHeights,
    Sensor,
    Sheet,
    Target,
)
from tests.scenes import SHEET, check
from tests.truth import SCENARIOS, Car, Read, Scenario

Vector = NDArray[np.float64]
WIDE = {"slope_along": 90, "slope_across": 90, "flatness": 90, "twist": 90, "target_height": 90}
CHECKS = {
    "floor": check("floor", WIDE),
    "centre_marks": check("centre_marks", {"yaw": 9, "shift": 90}),
    "tyres": check("tyres", {"pressure_below": 50, "pressure_above": 50, "side_difference": 90, "least_tread": 2,
                             "tread_difference": 9}),
    "stance": check("stance", {"height": 90, "roll": 9, "pitch": 9, "warp": 90}, if_applicable=True),
}  # fmt: skip
AIM = check("aim", per_side=True)
WANTED = {"lf": (390.0, 230.0, 400.0), "lr": (380.0, 250.0, 350.0), "rr": (380.0, 250.0, 350.0),
          "rf": (390.0, 230.0, 400.0)}  # fmt: skip
"""By wheel: ride height in mm, cold pressure in kPa, load in kg."""


@dataclass(frozen=True)
class Body:
    """What of a car the truth needs; wheels in the order of WHEELS, lengths in m."""

    contacts: tuple[tuple[float, float], ...]
    marks: tuple[float, float]
    size: tuple[int, int, int]
    """Of its tyres: width in mm, aspect in %, rim in inches."""
    pressures: tuple[float, ...]
    """Cold, in kPa, as the placard has them."""
    loads: tuple[float, ...]
    """On each wheel, in kg."""

    @property
    def radius(self) -> float:
        """m, of a tyre by its size code: (25.4 rim + 2 width aspect / 100) / 2 mm."""
        width, aspect, rim = self.size
        return (25.4 * rim + 2 * width * aspect / 100) / 2000

    @property
    def places(self) -> Vector:
        return np.array(self.contacts)


ESTATE = Body(
    ((2.7, 0.775), (0.0, 0.765), (0.0, -0.765), (2.7, -0.775)), (3.55, -0.95), (205, 55, 16),
    tuple(WANTED[w][1] for w in WHEELS), tuple(WANTED[w][2] for w in WHEELS),
)  # fmt: skip
ACROSS_ONLY = ((6.0, 0.5), (6.0, -0.5))


@dataclass(frozen=True)
class Setting:
    """A sensor and its target on the left side or the only one; lengths in m, limits in degrees."""

    sensor: tuple[float, float, float]
    target: tuple[float, float, float]
    feet: tuple[tuple[float, float], ...]
    plumb: bool
    side: str
    from_floor: bool
    limit: float
    body: Body = ESTATE

    @property
    def mirror(self) -> float:
        return -1.0 if self.side == "right" else 1.0

    def mirrored(self, place: tuple[float, ...]) -> Vector:
        return np.array([place[0], self.mirror * place[1], *place[2:]])

    @property
    def lies(self) -> bool:
        return len(self.feet) == 1

    @property
    def names(self) -> tuple[str, ...]:
        side = "right." if self.side == "right" else ""
        first = 0 if self.lies else 1
        return tuple(f"{side}plate.{n}" for n in range(first, first + len(self.feet)))

    @property
    def sheet(self) -> Sheet:
        places = [Place(x=x, y=y, z=z) for x, y, z in (self.sensor, self.target)]
        feet = () if self.lies else tuple(Point(x=x, y=y) for x, y in self.feet)
        tolerance = AimTolerance(azimuth=self.limit, elevation=self.limit)
        return changed(
            SHEET, sensors=(Sensor(id="radar", at=places[0], tolerance=tolerance),),
            targets=(Target(id="plate", at=places[1], feet=feet, stand="plumb" if self.plumb else "floor"),),
            axle_loads=AxleLoads(front=800.0, rear=700.0),
            ride_heights=RideHeights(kind="floor_to_arch" if self.from_floor else "hub_to_arch", front=390.0, rear=380.0),
        )  # fmt: skip


SETTINGS = {
    "front radar before a plate": Setting(
        (3.4, 0.0, 0.5), (6.0, 0.0, 0.6), (*ACROSS_ONLY, (6.4, 0.0)), False, "single", True, 0.3
    ),
    "corner radar to a plumb reflector": Setting(
        (-0.8, 0.65, 0.6),
        (-2.8, 2.2, 0.7),
        ((-3.1, 2.2), (-2.6, 2.5), (-2.6, 1.9)),
        True,
        "right",
        False,
        0.5,
    ),
    "camera before a board on two feet": Setting(
        (1.9, 0.0, 1.3), (6.0, 0.0, 1.4), ACROSS_ONLY, False, "single", False, 0.3
    ),
    "side camera over a mat": Setting(
        (1.75, 0.95, 0.98), (1.3, 1.85, 0.0), ((1.3, 1.85),), False, "left", False, 0.5
    ),
}


# --- the truth -----------------------------------------------------------------------------------


@dataclass(frozen=True)
class Off:
    """What is wrong: floor heights in mm of wheels and feet, ride heights in mm, pressures in kPa, marks in mm."""

    floor: Vector
    ride: Vector
    pressure: Vector
    marks: Vector
    stiffness: float
    loads: Vector
    """Shares by which the tyres' stiffness and the wheels' loads are not what the books say."""

    @classmethod
    def drawn(cls, car: Car, feet: int) -> Off:
        front, rear = 1 + car.within(0.05), 1 + car.within(0.05)
        return cls(
            car.rng.normal(0, 4, 4 + feet), car.rng.normal(0, 6, 4), car.rng.normal(0, 8, 4), car.rng.normal(0, 5, 2),
            1 + 0.1 * car.rng.normal(), np.array([front, rear, rear, front]),
        )  # fmt: skip

    def times(self, k: float) -> Off:
        return Off(
            k * self.floor, k * self.ride, k * self.pressure, k * self.marks, self.stiffness, self.loads
        )

    def tyres(self, body: Body) -> Vector:
        """How far in mm the wheel centres are high; stiffness by Rhyne (2005, from memory), in N/mm."""
        width, aspect, rim = body.size

        def rate(kpa: Vector) -> Vector:
            shape = np.sqrt((1.03 - 0.004 * aspect) * width * (width * aspect / 50 + 25.4 * rim))
            return 9.80665 * (0.00028 * kpa * shape + 3.45) * self.stiffness

        placard = np.array(body.pressures)
        load = 9.80665 * np.array(body.loads) * self.loads
        return load / rate(placard) - load / rate(placard + self.pressure)


def seen(s: Setting, off: Off) -> tuple[float, float]:
    """Azimuth and elevation in degrees by which the sensor sees its target off."""
    axes, over = _floor(s, off.floor / 1000)
    up = np.array([0.0, 0.0, 1.0])
    raised = off.ride / 1000 if s.from_floor else (off.ride + off.tyres(s.body)) / 1000
    # wheel centres, as they should be and as they are, along the floor's axes in space
    should = np.column_stack([s.body.places, np.full(4, s.body.radius)])
    are = (should + np.column_stack([np.zeros((4, 2)), over[:4] + raised])) @ axes
    turn, shift = _kabsch(should, are)
    sensor = turn @ s.mirrored(s.sensor) + shift
    base, along, left = _line(s, off.marks / 1000)
    normal = _normal(s, over[4:])
    x, y, z = s.mirrored(s.target)
    square = normal[0] * along + normal[1] * left + normal[2] * np.array([0.0, 0.0, 1.0])
    under = base + x * along + y * left + np.array([0.0, 0.0, _lift(s, over[4:])])
    target = under @ axes + z * (up if s.plumb else square @ axes)
    return _direction(turn.T @ (target - sensor), s.mirrored(s.target) - s.mirrored(s.sensor))


def _floor(s: Setting, heights: Vector) -> tuple[Vector, Vector]:
    """Axes along the floor, by rows, in axes of gravity; heights of wheels and feet along the third of them."""
    places = np.vstack([s.body.places, [s.mirrored(f) for f in s.feet]])
    design = np.column_stack([np.ones(len(places)), places])
    plane = np.linalg.lstsq(design[:4], heights[:4], rcond=None)[0]
    ahead, left = plane[1], plane[2]  # sines, for lengths run along the floor
    x = np.array([np.sqrt(1 - ahead**2), 0.0, ahead])
    y = np.array([-ahead * left / x[0], np.sqrt(1 - left**2 - (ahead * left / x[0]) ** 2), left])
    z = np.cross(x, y)
    return np.array([x, y, z]), (heights - design @ plane) / z[2]


def _kabsch(should: Vector, are: Vector) -> tuple[Vector, Vector]:
    a, b = should.mean(axis=0), are.mean(axis=0)
    u, _, vt = np.linalg.svd((should - a).T @ (are - b))
    flip = np.diag([1.0, 1.0, np.sign(np.linalg.det(vt.T @ u.T))])
    turn = vt.T @ flip @ u.T
    return turn, b - turn @ a


def _line(s: Setting, marks: Vector) -> tuple[Vector, Vector, Vector]:
    """A point of the line through the marks abreast of the rear axle, its direction, and its left."""
    (x_front, x_rear) = s.body.marks
    front, rear = np.array([x_front, marks[0], 0.0]), np.array([x_rear, marks[1], 0.0])
    along = (front - rear) / np.linalg.norm(front - rear)
    return (
        rear + (front - rear) * (0 - x_rear) / (x_front - x_rear),
        along,
        np.cross([0.0, 0.0, 1.0], along),
    )


def _stand(s: Setting, feet: Vector) -> Vector:
    """Height and slopes of what stands there, at its target; two feet slope along their line only, one not at all."""
    if s.lies:
        return np.array([feet[0], 0.0, 0.0])
    places = np.array([s.mirrored(f) for f in s.feet]) - s.mirrored(s.target)[:2]
    if len(places) == 2:
        step = places[1] - places[0]
        slope = (feet[1] - feet[0]) * step / (step @ step)
        return np.array([feet[0] - slope @ places[0], *slope])
    return np.linalg.solve(np.column_stack([np.ones(3), places]), feet)


def _lift(s: Setting, feet: Vector) -> float:
    return float(_stand(s, feet)[0])


def _normal(s: Setting, feet: Vector) -> Vector:
    _, ahead, left = _stand(s, feet)
    return np.array([-ahead, -left, 1.0]) / np.sqrt(1 + ahead**2 + left**2)


def _direction(is_: Vector, meant: Vector) -> tuple[float, float]:
    azimuth, elevation = (
        (np.arctan2(v[1], v[0]), np.arctan2(v[2], np.hypot(v[0], v[1]))) for v in (is_, meant)
    )
    return tuple(np.degrees(np.subtract(azimuth, elevation)))


# --- what the instruments show of it -------------------------------------------------------------


def wrong_by(car: Car, s: Setting, axis: int, size: float) -> Off:
    """Everything wrong at random, so much that the sensor sees its target off by this size on this axis."""
    while True:
        off = Off.drawn(car, len(s.feet))

        def over(k: float, off: Off = off) -> float:
            return abs(seen(s, off.times(k))[axis]) - size

        if over(4.0) > 0:
            return off.times(brentq(over, 0.0, 4.0, xtol=1e-12))


def shown(car: Car, s: Setting, off: Off) -> dict[str, float]:
    """Staff readings, tapes from the marks, pressures and ride heights."""
    names, laser, air = (*WHEELS, *s.names), 1200 + car.within(100), car.rng.uniform(15, 25)
    read = {f"staff.{p}": car.read("laser", laser - z) for p, z in zip(names, off.floor, strict=True)}
    for end, at, ahead, track in (("front", off.marks[0], 850, 1550), ("rear", off.marks[1], 950, 1530)):
        half = (track + 210 + car.within(60)) / 2
        read[f"{end}.left"] = car.read("tape", hypot(ahead, half - at))
        read[f"{end}.right"] = car.read("tape", hypot(ahead, half + at))
    read["air"], weather = car.read("thermometer", air), 101.325 + car.rng.normal(0, 1.2)
    for w, ride, more in zip(WHEELS, off.ride, off.pressure, strict=True):
        absolute, tyre = WANTED[w][1] + more + weather, air + car.within(1)
        read[f"pressure.{w}"] = car.read("gauge", absolute * (tyre + 273.15) / (air + 273.15) - weather)
        read[f"height.{w}"] = car.read("tape", WANTED[w][0] + ride)
    return read


def typed(s: Setting) -> Mapping[str, Mapping[str, str]]:
    """Every question answered with something; the numbers are replaced for each car."""
    return {
        "floor": {"source": "laser", **{f"staff.{p}": "1200 mm" for p in (*WHEELS, *s.names)}},
        "centre_marks": {f"{end}.{side}": "1200 mm" for end in ("front", "rear") for side in ("left", "right")},
        "tyres": {"parked": "stood", "air": "20 C", "sizes": "y", **{f"pressure.{w}": "240 kPa" for w in WHEELS}},
        "stance": {f"height.{w}": "385 mm" for w in WHEELS},
    }  # fmt: skip


def add(name: str, s: Setting, axis: int) -> None:
    def drawn(car: Car, beyond: float) -> Read:
        return shown(car, s, wrong_by(car, s, axis, s.limit + beyond))

    axis_name = ("azimuth", "elevation")[axis]
    SCENARIOS[f"{name} {axis_name}"] = Scenario(
        AIM, {}, f"radar.plate.{axis_name}", FAR[axis], drawn, {"sheet": s.sheet, "sides": (s.side,)}, side=s.side,
        beside=tuple((one, typed(s)[id_]) for id_, one in CHECKS.items()),
    )  # fmt: skip


FAR = (0.35, 0.35)
"""Degrees that these instruments tell apart in any of the settings."""


def add_all() -> None:
    """Azimuth and elevation of every setting."""
    for name, setting in SETTINGS.items():
        for axis in (0, 1):
            add(name, setting, axis)

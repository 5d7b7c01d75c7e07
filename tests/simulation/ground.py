"""The truth about the floor and about what a sensor sees, and what laser, level and survey show of it.

Planes by least squares, the twist by what no plane has, the aim in space (see tests/truth_aim.py).
"""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import pairwise
from math import cos, hypot, radians, sin
from typing import Any

import numpy as np

from readiness.checks.floor.heights import WHEEL_RUNS
from readiness.job import WHEELS, LevelRun, Standing, Survey, SurveyPoint
from tests.scenes import AT
from tests.simulation.body import Car
from tests.simulation.tools import Shows, Toolbox
from tests.simulation.topics import ESTIMATED, Bound, Topic, sizes
from tests.truth_aim import Body, Off, Setting, Vector, seen

SOURCES = ("laser", "level both ways", "level one way", "survey by laser", "survey by level")
"""The last two only where the car stands on the bay's own marks."""


def places(car: Car) -> dict[str, tuple[float, float]]:
    """Wheels and target feet, in car axes."""
    return car.wheels | car.all_feet()


def floor(car: Car, heights: dict[str, float], source: str) -> Topic:
    """Slopes in mm/m of the plane of the wheels; twist, flatness and each foot in mm."""
    at = places(car)
    names = [*at]
    z = np.array([heights[n] for n in names])
    design = np.array([(1.0, *at[n]) for n in names])
    plane = np.linalg.lstsq(design[:4], z[:4], rcond=None)[0]
    best = np.linalg.lstsq(design, z, rcond=None)[0]
    over = z - design @ plane
    none = np.linalg.svd(design[:4].T)[2][-1]  # what is orthogonal to every plane
    twist = float(none @ z[:4] / np.abs(none).min())
    feet = {f"target.{n}": abs(float(over[k])) for k, n in enumerate(names) if k >= 4}
    numbers = {
        "slope_along": {"slope_along": abs(float(plane[1]))}, "slope_across": {"slope_across": abs(float(plane[2]))},
        "twist": {"twist": abs(twist)}, "flatness": {"flatness": float(np.ptp(z - design @ best))},
        "target_height": feet,
    }  # fmt: skip
    return Topic(
        [
            Bound("floor", name, sizes("floor", f"{name.replace('_', ' ')}, {source}", much))
            for name, much in numbers.items()
        ]
    )


def floor_read(car: Car, heights: dict[str, float], source: str, chance: np.random.Generator) -> Topic:
    """A laser at some height over the floor; or a level on its two feet, turned or not."""
    says: dict[str, Any] = {"source": source.split()[0]}
    if source == "laser":
        over = 1200 + chance.uniform(-150, 150)
        says |= {f"staff.{n}": Shows("height", over - z) for n, z in heights.items()}
    elif source.startswith("survey"):
        says["survey_holds"] = "yes"
        for a, b in WHEEL_RUNS[:3]:
            says |= laid("quick", car, heights, (a, b), True, chance)
    else:
        for a, b in (*WHEEL_RUNS, *to_feet(car)):
            says |= laid("run", car, heights, (a, b), source == "level both ways", chance)
    return Topic(says={("floor", "", key): said for key, said in says.items()})


def to_feet(car: Car) -> list[tuple[str, str]]:
    """To each foot from the wheel that is nearest."""
    return [
        (min(WHEELS, key=lambda w: hypot(car.wheels[w][0] - x, car.wheels[w][1] - y)), foot)
        for foot, (x, y) in car.all_feet().items()
    ]


def laid(
    what: str, car: Car, z: dict[str, float], run: tuple[str, str], both: bool, chance: np.random.Generator
) -> dict[str, Shows]:
    """A level from one place to the other; on a rough floor each foot comes to lie within half a mm."""
    (xa, ya), (xb, yb) = (places(car)[p] for p in run)
    rise = z[run[1]] + chance.uniform(-0.5, 0.5) - z[run[0]] - chance.uniform(-0.5, 0.5)
    slope, key = rise / hypot(xa - xb, ya - yb), f"{what}.{run[0]}-{run[1]}"
    shown = {f"{key}.1": Shows("slope", slope)}
    return shown | ({f"{key}.2": Shows("slope", -slope)} if both else {})


def surveyed(
    car: Car,
    heights: dict[str, float],
    box: Toolbox,
    standing: Standing,
    source: str,
    chance: np.random.Generator,
) -> Survey:
    """At points chalked where wheels and feet of a car on the bay's marks stand: by laser, or by a net of level runs."""
    h, by_laser = radians(standing.heading), source.endswith("laser")
    points = []
    for n, (x, y) in places(car).items():
        at = (standing.x + x * cos(h) - y * sin(h), standing.y + x * sin(h) + y * cos(h))
        height = -box.reads(Shows("height", 1200 - heights[n]), "mm", f"survey {n}") if by_laser else None
        points.append(SurveyPoint(name=f"P {n}", x=at[0], y=at[1], height=height))
    runs = () if by_laser else tuple(_run(car, heights, box, ends, chance) for ends in _net(car))
    tool = "height" if by_laser else "slope"
    return Survey(date=AT.date(), by="B. Test", instrument=tool, points=tuple(points), runs=runs)


def _net(car: Car) -> list[tuple[str, str]]:
    """Once round the wheels and across, to every foot, and from foot to foot."""
    feet = [*car.all_feet()]
    return [*WHEEL_RUNS, ("lr", "rf"), *to_feet(car), *pairwise(feet)]


def _run(
    car: Car, z: dict[str, float], box: Toolbox, ends: tuple[str, str], chance: np.random.Generator
) -> LevelRun:
    first, turned = (
        box.reads(shows, "mm/m", key) for key, shows in laid("survey", car, z, ends, True, chance).items()
    )
    return LevelRun(start=f"P {ends[0]}", end=f"P {ends[1]}", first=first, turned=turned)


# --- aim -----------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Rolling:
    """What of the car is off: ride heights in mm, cold pressures in kPa, marks in mm; and what nobody measures.

    `stiffness` and `loads` are shares by which the tyres and what they carry are not what the books say.
    """

    cold: dict[str, float]
    marks: tuple[float, float]
    stiffness: float
    loads: Vector
    estimated: bool
    """Whether nobody reads the ride heights."""
    ride: dict[str, float] = field(default_factory=dict)

    @classmethod
    def drawn(cls, cold: dict[str, float], chance: np.random.Generator) -> Rolling:
        front, rear = 1 + chance.uniform(-0.05, 0.05, 2)
        marks = (float(chance.normal(0, 6)), float(chance.normal(0, 6)))
        stiffness, loads = 1 + 0.1 * float(chance.normal()), np.array([front, rear, rear, front])
        return cls(cold, marks, stiffness, loads, bool(chance.random() < 0.15))

    def off(self, car: Car, floor: list[float]) -> Off:
        ride = np.array([self.ride.get(w, 0.0) for w in WHEELS])
        pressure = np.array([self.cold[w] - car.pressures[w] for w in WHEELS])
        return Off(np.array(floor), ride, pressure, np.array(self.marks), self.stiffness, self.loads)

    def tyres(self, car: Car) -> Vector:
        """How far in mm the pressures hold the wheels up."""
        return self.off(car, []).tyres(setting(car, car.sides[0]).body)


def aim(car: Car, floor: dict[str, float], rolling: Rolling) -> Topic:
    """Azimuth and elevation in degrees by which the sensor sees its target off, on each side."""
    parts: dict[str, dict[Any, Any]] = {"azimuth": {}, "elevation": {}}
    how = "heights from the floor" if _from_floor(car) else "heights from the hub"
    for side in car.sides:
        off = rolling.off(car, [floor[n] for n in (*WHEELS, *car.feet(side))])
        for axis, much in zip(parts, seen(setting(car, side), off), strict=True):
            key = f"eye.plate.{axis}"
            parts[axis] |= sizes(
                "aim",
                f"aim, {axis}{ESTIMATED}" if rolling.estimated else f"aim, {axis}, {how}",
                {key: abs(float(much))},
                side,
            )
    return Topic([Bound("aim", axis, found) for axis, found in parts.items()])


def setting(car: Car, side: str) -> Setting:
    sheet = car.sheet
    (sensor,), (target,) = sheet.sensors, sheet.targets
    feet = tuple((p.x, p.y) for p in target.feet) or ((target.at.x, target.at.y),)
    body = Body(
        tuple(car.wheels[w] for w in WHEELS), (sheet.marks.front, sheet.marks.rear), car.size,
        tuple(car.pressures[w] for w in WHEELS), tuple(car.wheel_loads[w] for w in WHEELS),
    )  # fmt: skip
    return Setting(
        (sensor.at.x, sensor.at.y, sensor.at.z), (target.at.x, target.at.y, target.at.z), feet,
        target.stand == "plumb", side, _from_floor(car), 0.0, body,
    )  # fmt: skip


def _from_floor(car: Car) -> bool:
    return car.sheet.ride_heights is not None and car.sheet.ride_heights.kind == "floor_to_arch"

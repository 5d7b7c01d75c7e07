"""The truth about tyres, load, body and centre marks, and what is read of it.

Ideal gas with absolute temperatures; moments about the axles; angles of a triangle; Pythagoras.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import atan, degrees, exp, hypot
from typing import Any

import numpy as np

from readiness.job import WHEELS
from tests.simulation.body import Car
from tests.simulation.tools import Shows
from tests.simulation.topics import ESTIMATED, ON_STEP, Bound, Topic, sizes, under
from tests.truth_aim import Vector

SHARED = "shared"


@dataclass(frozen=True)
class Day:
    """What is so all day: air in °C, pressure of the atmosphere in kPa, altitude in m."""

    air: float
    atmosphere: float
    altitude: float

    @classmethod
    def drawn(cls, chance: np.random.Generator) -> Day:
        """Weather about the standard atmosphere (ISO 2533), one standard deviation 1.2 kPa."""
        altitude = round(float(chance.uniform(0, 1500)))
        standard = 101.325 * (1 - 0.0065 * altitude / 288.15) ** 5.25588
        return cls(
            float(chance.uniform(8, 32)), standard + float(np.clip(chance.normal(0, 1.2), -4, 4)), altitude
        )

    def answers(self, chance: np.random.Generator) -> Topic:
        says: dict[Any, Any] = {(SHARED, "", "air"): Shows("temperature", self.air)}
        if chance.random() < 0.5:  # a station barometer
            says[SHARED, "", "barometer"] = f"{self.atmosphere + chance.normal(0, 0.1):.2f} kPa"
        return Topic(says=says)


# --- tyres ---------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Tyres:
    """Cold gauge pressures in kPa at the bay's air, and treads in mm, by wheel."""

    cold: dict[str, float]
    tread: dict[str, float]
    on_step: bool
    """Whether treads are round numbers, which every display can show."""

    @classmethod
    def drawn(cls, car: Car, chance: np.random.Generator) -> Tyres:
        cold = {w: car.pressures[w] + chance.normal(0, 8) for w in WHEELS}
        on_step = chance.random() < 0.3
        tread = {w: float(chance.uniform(2, 8)) for w in WHEELS}
        return cls(cold, {w: round(t, 1) for w, t in tread.items()} if on_step else tread, on_step)

    def topic(self, car: Car, day: Day, chance: np.random.Generator) -> Topic:
        warm = bool(chance.integers(2))
        how = "from the road" if warm else "stood"
        below = {f"pressure.{w}": car.pressures[w] - p for w, p in self.cold.items()}
        above = {key: -size for key, size in below.items()}
        apart = {
            f"side.{axle}": abs(self.cold[a] - self.cold[b])
            for axle, a, b in (("front", "lf", "rf"), ("rear", "lr", "rr"))
        }
        worn = {
            f"tread.{axle}": abs(self.tread[a] - self.tread[b])
            for axle, a, b in (("front", "lf", "rf"), ("rear", "lr", "rr"))
        }
        step = ON_STEP if self.on_step else ""
        shallow = {f"tread.{w}": -t for w, t in self.tread.items()}
        return Topic(
            [
                Bound("tyres", "pressure_below", sizes("tyres", f"cold pressure, {how}", below)),
                Bound("tyres", "pressure_above", sizes("tyres", f"cold pressure, {how}", above)),
                Bound("tyres", "side_difference", sizes("tyres", f"left against right, {how}", apart)),
                Bound("tyres", "least_tread", sizes("tyres", f"tread{step}", shallow), -99.0, limit=under),
                Bound("tyres", "tread_difference", sizes("tyres", f"tread, left against right{step}", worn)),
            ],
            {("tyres", "", key): said for key, said in self._read(day, warm, chance).items()},
        )

    def _read(self, day: Day, warm: bool, chance: np.random.Generator) -> dict[str, Any]:
        says: dict[str, Any] = {"parked": "road" if warm else "stood", "sizes": "yes"}
        abroad = chance.uniform(-1, 1)  # a cold tyre has the air's temperature where it stands
        alike = chance.random() < 0.5
        for w in WHEELS:
            if warm:
                inside = day.air + chance.uniform(3, 30)
                says[f"temperature.{w}"] = Shows("temperature", inside + chance.uniform(-3, 3))  # its skin
            else:
                inside = day.air + (abroad if alike else chance.uniform(-1, 1))
            absolute = (self.cold[w] + day.atmosphere) * (inside + 273.15) / (day.air + 273.15)
            says[f"pressure.{w}"] = Shows("pressure", absolute - day.atmosphere)
            says[f"tread.{w}"] = Shows("depth", self.tread[w])
        return says


# --- load ----------------------------------------------------------------------------------------


def fuel_density(kind: str, air: float, chance: np.random.Generator) -> float:
    """kg/L: what EN 228 and EN 590 allow at 15 °C, expanded by ASTM D1250 table 54B (from memory)."""
    low, high = (720.0, 775.0) if kind == "petrol" else (820.0, 845.0)
    rho = chance.uniform(low, high)
    if kind == "petrol":
        alpha = 346.4228 / rho**2 + 0.4388 / rho
    elif rho >= 838.5:
        alpha = 186.9696 / rho**2 + 0.4862 / rho
    else:
        alpha = 594.5418 / rho**2
    return rho / 1000 * exp(-alpha * (air - 15) * (1 + 0.8 * alpha * (air - 15)))


Loads = list[tuple[float, float]]
"""kg that are there and should not be, or the other way round, and where: x in m."""


def load(car: Car, day: Day, chance: np.random.Generator) -> tuple[Topic, Loads]:
    """Fuel, what is carried, and things found: moments about the axles."""
    fuel, wheelbase = car.sheet.fuel, car.sheet.dimensions.wheelbase
    level = chance.uniform(0.05, 1.0)
    on: Loads = [((level - fuel.level) * fuel.tank * fuel_density(fuel.kind, day.air, chance), fuel.tank_at)]
    gauge = min(max(level + chance.uniform(-1 / 16, 1 / 16), 0.0), 1.0)
    says: dict[str, Any] = {"fuel": f"{gauge:.4f}"}
    for n, thing in enumerate(car.sheet.load.carried, 1):
        there = chance.random() < 0.6
        says[f"carried.{n}"] = "yes" if there else "no"
        if not there:
            on.append((-thing.mass, thing.x))
    things = int(chance.integers(0, 4))
    says["extra"] = "yes" if things else "no"
    weighed = chance.random() < 0.7
    for n in range(1, things + 1):
        station = car.sheet.load.stations[int(chance.integers(len(car.sheet.load.stations)))]
        mass = chance.uniform(3, 25)
        on.append((mass, station.x + chance.uniform(-0.15, 0.15)))
        guess = f"{max(mass + chance.uniform(-2, 2), 0.1):.2f} kg"
        says[f"extra.{n}.name"], says[f"extra.{n}.station"] = f"box {n}", station.name
        says[f"extra.{n}.mass"] = Shows("mass", mass) if weighed else guess
        says[f"extra.{n}.more"] = "yes" if n < things else "no"
    rear = sum(m * (1 - x / wheelbase) for m, x in on)
    front = sum(m * x / wheelbase for m, x in on)
    kind = "axle load" if not things else f"axle load, things {'weighed' if weighed else 'judged by hand'}"
    topic = Topic(
        [
            Bound("load", "front_change", sizes("load", kind, {"front": abs(front)})),
            Bound("load", "rear_change", sizes("load", kind, {"rear": abs(rear)})),
        ],
        {("load", "", key): said for key, said in says.items()},
    )
    return topic, on


# --- body and marks ------------------------------------------------------------------------------


def sagged(
    car: Car, loads: Loads, tyres: Vector, stiffness: float, chance: np.random.Generator
) -> dict[str, float]:
    """How far in mm each corner is over the sheet's height by springs and tyres alone, up positive.

    Both springs of an axle are 30 % off at most, and each thing lies within 0.4 m of the middle. `tyres`: what their
    pressures do, mm by wheel.
    """
    sheet, d = car.sheet, car.sheet.dimensions
    assert sheet.springs is not None
    from_floor = sheet.ride_heights is not None and sheet.ride_heights.kind == "floor_to_arch"
    rates = {"f": sheet.springs.front, "r": sheet.springs.rear}
    rates = {axle: k * (1 + chance.uniform(-0.3, 0.3)) for axle, k in rates.items()}
    aside = chance.uniform(-0.4, 0.4, len(loads))
    off = {}
    for w, raised in zip(WHEELS, tyres, strict=True):
        left, track = (1 if w.startswith("l") else -1), d.track_front if w.endswith("f") else d.track_rear
        on_axle = [m * (x if w.endswith("f") else d.wheelbase - x) / d.wheelbase for m, x in loads]
        force = 9.80665 * sum(f * (0.5 + left * y / track) for f, y in zip(on_axle, aside, strict=True))
        off[w] = -force / rates[w[-1]]
        if from_floor:
            off[w] += float(raised) - force / (tyre_rate(car.size, car.pressures[w]) * stiffness)
    return off


def tyre_rate(size: tuple[int, int, int], kpa: float) -> float:
    """N/mm by Rhyne (2005, from memory)."""
    width, aspect, rim = size
    shape = ((1.03 - 0.004 * aspect) * width * (width * aspect / 50 + 25.4 * rim)) ** 0.5
    return float(9.80665 * (0.00028 * kpa * shape + 3.45))


def stance(car: Car, off: dict[str, float], estimated: bool) -> Topic:
    """Ride heights in mm over the sheet's, by wheel: roll over the mean track, pitch over the wheelbase."""
    how = ESTIMATED if estimated else ""
    d = car.sheet.dimensions
    across = (off["lf"] + off["lr"] - off["rf"] - off["rr"]) / 2
    along = (off["lf"] + off["rf"] - off["lr"] - off["rr"]) / 2
    roll = degrees(atan(across / 1000 / ((d.track_front + d.track_rear) / 2)))
    pitch = degrees(atan(along / 1000 / d.wheelbase))
    warp = off["lf"] - off["lr"] + off["rr"] - off["rf"]
    heights = {f"height.{w}": abs(o) for w, o in off.items()}
    heights_read: dict[Any, Any] = {
        ("stance", "", f"height.{w}"): Shows("length", car.heights[w] + o) for w, o in off.items()
    }
    return Topic(
        [
            Bound("stance", "height", sizes("stance", f"ride height{how}", heights)),
            Bound("stance", "roll", sizes("stance", f"roll{how}", {"roll": abs(roll)})),
            Bound("stance", "pitch", sizes("stance", f"pitch{how}", {"pitch": abs(pitch)})),
            Bound("stance", "warp", sizes("stance", f"warp{how}", {"warp": abs(warp)})),
        ],
        {("stance", "", "estimate"): "estimated"} if estimated else heights_read,
    )


def marks(car: Car, front: float, rear: float, chance: np.random.Generator) -> Topic:
    """Marks so many mm left of the middle; tapes from each of them to the rims' outer edges beside it."""
    sheet, d = car.sheet, car.sheet.dimensions
    says: dict[Any, Any] = {}
    for end, at, ahead, track in (
        ("front", front, sheet.marks.front - d.wheelbase, d.track_front),
        ("rear", rear, -sheet.marks.rear, d.track_rear),
    ):
        half = (1000 * track + 210 + chance.uniform(-60, 60)) / 2
        says["centre_marks", "", f"{end}.left"] = Shows("length", hypot(1000 * ahead, half - at))
        says["centre_marks", "", f"{end}.right"] = Shows("length", hypot(1000 * ahead, half + at))
    apart = sheet.marks.front - sheet.marks.rear
    yaw = degrees(atan((front - rear) / 1000 / apart))
    at_target = rear + (front - rear) * (sheet.targets[0].at.x - sheet.marks.rear) / apart
    return Topic(
        [
            Bound("centre_marks", "yaw", sizes("centre_marks", "turn of the centre line", {"yaw": abs(yaw)})),
            Bound("centre_marks", "shift", sizes("centre_marks", "shift at the target", {"shift": abs(at_target)})),
        ],
        says,
    )  # fmt: skip

"""Simulated cars: their sheets, of four kinds of calibration, each with dimensions of its own."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from msgspec.structs import replace as changed

from readiness.job import (
    AimTolerance,
    AxleLoads,
    Axles,
    Carried,
    Corridor,
    Dimensions,
    Disc,
    Fuel,
    Load,
    Marks,
    Placard,
    Place,
    Point,
    Pressures,
    Rectangle,
    RideHeights,
    Sector,
    Sensor,
    Sheet,
    Springs,
    Station,
    Target,
    Zone,
)
from tests.scenes import SHEET

SIZES = ((205, 55, 16, "205/55 R16 91V"), (215, 60, 17, "215/60 R17 96H"), (185, 60, 15, "185/60 R15 84T"))
LAYOUTS = ("front_radar", "rear_corner_radar", "windscreen_camera", "surround_view")


@dataclass(frozen=True)
class Car:
    """A car as its sheet has it, with what the truth needs of it in plain numbers; m, mm, kPa, kg."""

    layout: str
    sheet: Sheet
    size: tuple[int, int, int]
    """Width in mm, aspect in %, rim in inches."""
    wheels: dict[str, tuple[float, float]]
    pressures: dict[str, float]
    heights: dict[str, float]
    wheel_loads: dict[str, float]

    @property
    def sides(self) -> tuple[str, ...]:
        return ("left", "right") if self.layout == "rear_corner_radar" else ("single",)

    def feet(self, side: str) -> dict[str, tuple[float, float]]:
        """Where the target of a side stands, by the names that the floor has for its feet."""
        target, mirror = self.sheet.targets[0], -1.0 if side == "right" else 1.0
        name = f"right.{target.id}" if side == "right" else target.id
        feet = target.feet or (Point(x=target.at.x, y=target.at.y),)
        first = 1 if target.feet else 0
        return {f"{name}.{n}": (p.x, mirror * p.y) for n, p in enumerate(feet, first)}

    def all_feet(self) -> dict[str, tuple[float, float]]:
        return {name: at for side in self.sides for name, at in self.feet(side).items()}


def drawn(chance: np.random.Generator) -> Car:
    """Any car, and any of the four calibrations on it."""
    layout = LAYOUTS[int(chance.integers(len(LAYOUTS)))]
    u = chance.uniform
    wheelbase, front, rear = round(u(2.35, 3.2), 3), round(u(1.42, 1.66), 3), round(u(1.42, 1.66), 3)
    *size, code = SIZES[int(chance.integers(len(SIZES)))]
    p_front, p_rear = round(u(210, 300)), round(u(210, 320))
    axles = (round(u(650, 1050)), round(u(550, 900)))
    floor_to_arch = bool(chance.integers(2))
    arch = (700.0, 705.0) if floor_to_arch else (380.0, 372.0)
    kind: Literal["petrol", "diesel"] = "petrol" if chance.integers(2) else "diesel"
    sheet = changed(
        SHEET, sheet="simulated", title="Simulated car", car="Simulated car", checklist=layout,
        placard=Placard(size=Axles(front=code, rear=code), pressure=Pressures(front=p_front, rear=p_rear)),
        dimensions=Dimensions(
            wheelbase=wheelbase, track_front=front, track_rear=rear, length=wheelbase + 1.85, width=max(front, rear) + 0.28,
            front_overhang=0.9,
        ),
        fuel=Fuel(kind=kind, tank=round(u(40, 75)), tank_at=round(u(0.2, 1.2), 2), level=(1.0, 0.75, 0.5)[int(chance.integers(3))]),
        load=Load(
            carried=(Carried(name="spare wheel", mass=round(u(12, 25)), x=-0.6),),
            stations=(
                Station(name="front seats", x=round(0.45 * wheelbase, 2)), Station(name="rear seat", x=0.4),
                Station(name="boot floor", x=-0.5),
            ),
        ),
        axle_loads=AxleLoads(front=axles[0], rear=axles[1]),
        ride_heights=RideHeights(kind="floor_to_arch" if floor_to_arch else "hub_to_arch", front=arch[0], rear=arch[1]),
        springs=Springs(front=round(u(22, 35)), rear=round(u(22, 40))),
        marks=Marks(front=round(wheelbase + 0.85, 3), rear=-0.95),
        **_aiming(layout, wheelbase, chance),
    )  # fmt: skip
    wheels = {
        "lf": (wheelbase, front / 2), "lr": (0.0, rear / 2), "rr": (0.0, -rear / 2), "rf": (wheelbase, -front / 2),
    }  # fmt: skip

    def by_axle(at_front: float, at_rear: float) -> dict[str, float]:
        return {w: at_front if w.endswith("f") else at_rear for w in wheels}

    return Car(
        layout, sheet, (size[0], size[1], size[2]), wheels, by_axle(p_front, p_rear), by_axle(*arch),
        by_axle(axles[0] / 2, axles[1] / 2),
    )  # fmt: skip


def _aiming(layout: str, wheelbase: float, chance: np.random.Generator) -> dict[str, object]:
    """Sensor, target and zones of a calibration, on the left or in the middle."""
    nose = wheelbase + 0.7
    far = round(float(chance.uniform(2.2, 3.2)), 2)
    plumb = bool(chance.integers(2))
    feet: tuple[tuple[float, float], ...]
    if layout == "rear_corner_radar":
        sensor, target = (-0.8, 0.65, 0.6), (-0.8 - far * 0.75, 0.65 + far * 0.66, 0.62)
        x, y, _ = target
        feet = ((x - 0.3, y), (x + 0.2, y + 0.3), (x + 0.2, y - 0.3))
    elif layout == "surround_view":
        sensor, target, feet = (1.75, 0.95, 0.98), (1.3, 1.85, 0.0), ()
    elif layout == "front_radar":
        sensor, target = (nose, 0.0, 0.5), (nose + far, 0.0, 0.55)
        feet = ((nose + far, 0.45), (nose + far, -0.45), (nose + far + 0.35, 0.0))
    else:
        sensor, target = (wheelbase - 0.2, 0.0, 1.35), (nose + far, 0.0, 1.3)
        feet = ((nose + far, 0.6), (nose + far, -0.6))
    return {
        "sensors": (Sensor(id="eye", at=_place(sensor), tolerance=AimTolerance(azimuth=5.0, elevation=5.0)),),
        "targets": (
            Target(id="plate", at=_place(target), feet=tuple(_point(f) for f in feet), stand="plumb" if plumb and len(feet) == 3 else "floor"),
        ),
        "zones": _zones(layout, sensor, target),
    }  # fmt: skip


def _zones(layout: str, sensor: tuple[float, ...], target: tuple[float, ...]) -> tuple[Zone, ...]:
    disc = Zone(id="round", reason="nothing between", disc=Disc(at=_point(target), radius=0.9))
    if layout == "surround_view":
        box = Rectangle(corner=Point(x=-2.9, y=-2.6), opposite=Point(x=5.2, y=2.6))
        return (Zone(id="carpet", reason="nothing between", rectangle=box),)
    if layout == "windscreen_camera":
        far = target[0]
        corners = ((far - 1.5, 0.7), (far - 1.5, -0.7), (far, -1.5), (far + 0.4, 0.0), (far, 1.5))
        view = Zone(id="view", reason="nothing between", polygon=tuple(_point(c) for c in corners))
        return (disc, view)
    corridor = Corridor(start=_point(sensor), end=_point(target), half_width=0.6)
    line = Zone(id="line", reason="nothing between", corridor=corridor)
    if layout == "rear_corner_radar":
        return (line, disc)
    beam = Sector(at=_point(sensor), radius=target[0] - sensor[0] + 1.0, start=-20.0, end=20.0)
    return (line, disc, Zone(id="beam", reason="nothing between", sector=beam))


def _place(at: tuple[float, ...]) -> Place:
    return Place(x=at[0], y=at[1], z=at[2])


def _point(at: tuple[float, ...]) -> Point:
    return Point(x=at[0], y=at[1])

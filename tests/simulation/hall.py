"""A bay as it really is and as its file has it, where the car really stands in it, and the zones that are kept clear.

Shapes are shapely's; discs are polygons of 256 corners there, which is exact to 0.1 mm.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from math import cos, radians, sin
from typing import Any

import numpy as np
from shapely import affinity
from shapely.geometry import LineString, Polygon, box
from shapely.geometry import Point as At
from shapely.geometry.base import BaseGeometry

from readiness.job import Bay, Obstacle, Point, Standing, Zone
from tests.simulation.body import Car
from tests.simulation.tools import Shows
from tests.simulation.topics import Topic

XY = tuple[float, float]
ROUND = 64
OUTLINE = tuple(Point(x=x, y=y) for x, y in ((0, 0), (24, 0), (24, 24), (0, 24)))
ENDS = (("left", ("lf", "lr")), ("right", ("rf", "rr")), ("front", ("lf", "rf")), ("rear", ("lr", "rr")))

# --- the bay -------------------------------------------------------------------------------------


@dataclass
class Floorspace:
    """A bay as it really is, seen from the car, and its file."""

    standing: Standing
    """By the bay's own marks."""
    origin: XY
    """Where the middle of the rear axle really is, in bay axes."""
    turned: float
    """degrees; the car's true heading."""
    corners: np.ndarray
    """Where the corners of the bay really are; its file has them 10 mm off."""
    taped: bool
    """Whether the car stands anywhere and is measured by tapes; otherwise on the marks."""
    obstacles: list[Obstacle] = field(default_factory=list)

    @classmethod
    def drawn(cls, car: Car, chance: np.random.Generator) -> Floorspace:
        """Parked on marks: 20 mm about the place, each axle within 20 mm to one side of its own. Or anywhere."""
        standing = Standing(x=12.0, y=12.0, heading=float((0.0, 90.0, 12.0)[int(chance.integers(3))]))
        taped = chance.random() < 0.3
        dx, dy = chance.uniform(-1, 1, 2) if taped else chance.normal(0, 0.02, 2)
        front, rear = chance.uniform(-0.02, 0.02, 2)
        turn = float(np.degrees((front - rear) / car.sheet.dimensions.wheelbase))
        turn = float(chance.uniform(-10, 10)) if taped else turn
        corners = np.array([(p.x, p.y) for p in OUTLINE]) + chance.normal(0, 0.01, (4, 2))
        return cls(
            standing, (standing.x + dx, standing.y + dy), standing.heading + turn, corners, bool(taped)
        )

    def answers(self, car: Car, chance: np.random.Generator) -> Topic:
        """On its marks; or four tapes from two corners to the floor beside two tyres, held to 10 mm."""
        says: dict[str, Any] = {"where": "marks"}
        if self.taped:
            first = int(chance.integers(4))
            second = (first + (1 if chance.integers(2) else 3)) % 4
            name, wheels = ENDS[int(chance.integers(len(ENDS)))]
            feet = {w: np.array(self.in_bay(beside_tyre(car, w))) for w in wheels}
            says = {
                "where": "tape",
                "mark.1": f"corner {first + 1}",
                "mark.2": f"corner {second + 1}",
                "wheels": name,
            }
            for corner in (first, second):
                for w, foot in feet.items():
                    length = np.hypot(*(foot - self.corners[corner])) + chance.uniform(-0.01, 0.01)
                    says[f"tape.{corner + 1}.{w}"] = Shows("distance", float(length))
            line = self.corners[second] - self.corners[first]
            to = feet[wheels[0]] - self.corners[first]
            says["line"] = "left" if line[0] * to[1] - line[1] * to[0] > 0 else "right"
        return Topic(says={("standing", "", key): said for key, said in says.items()})

    def in_bay(self, at: XY) -> XY:
        """A place about the car, truly, in the bay's axes."""
        h = radians(self.turned)
        return (
            self.origin[0] + at[0] * cos(h) - at[1] * sin(h),
            self.origin[1] + at[0] * sin(h) + at[1] * cos(h),
        )

    @property
    def how(self) -> str:
        return "car by tapes" if self.taped else "car on marks"

    def bay(self, survey: Any) -> Bay:
        return Bay(
            bay="simulated", title="Simulated bay", outline=OUTLINE, standing=self.standing,
            obstacles=tuple(self.obstacles), survey=survey,
        )  # fmt: skip


def beside_tyre(car: Car, wheel: str) -> XY:
    """The floor on a tyre's outer side, under its hub."""
    (x, y), half = car.wheels[wheel], car.size[0] / 2000
    return x, y + (half if y > 0 else -half)


def zone_as_it_is(zone: Zone, side: str) -> BaseGeometry:
    mirror = -1.0 if side == "right" else 1.0
    return affinity.scale(_drawn(zone), 1.0, mirror, origin=(0, 0))


def _drawn(zone: Zone) -> BaseGeometry:
    if zone.disc is not None:
        return At(zone.disc.at.x, zone.disc.at.y).buffer(zone.disc.radius, ROUND)
    if zone.rectangle is not None:
        a, b = zone.rectangle.corner, zone.rectangle.opposite
        return box(min(a.x, b.x), min(a.y, b.y), max(a.x, b.x), max(a.y, b.y))
    if zone.corridor is not None:
        c = zone.corridor
        return LineString([(c.start.x, c.start.y), (c.end.x, c.end.y)]).buffer(c.half_width, ROUND)
    if zone.sector is not None:
        s = zone.sector
        turns = np.radians(np.linspace(s.start, s.end, 4 * ROUND))
        arc = [(s.at.x + s.radius * cos(t), s.at.y + s.radius * sin(t)) for t in turns]
        return Polygon([(s.at.x, s.at.y), *arc])
    assert zone.polygon is not None
    return Polygon([(p.x, p.y) for p in zone.polygon])

"""What stands round the car, as shapes in car axes, and how well it is known where.

The bay's file is in bay axes; where the car stands turns it into the car's.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from readiness.checks.clear_area.zones import band_of, keeps_out
from readiness.checks.clear_area.zones import zone_shape as zone_shape
from readiness.checks.place import Where
from readiness.job import Bay, Obstacle, Reading, Standing, Zone
from readiness.measure.overlap import XY
from readiness.measure.plan import Area, BoxAt, DiscAt, PointAt, SegmentAt, Shape, moved


@dataclass(frozen=True, slots=True)
class Doubt:
    """How far a thing may lie from where it is drawn, in car axes; independent errors, standard uncertainties.

    `u` in m in every direction; `along` errors that have a direction, m; `turn` in radians about a place of the
    car, so that it acts with its lever.
    """

    u: float = 0.0
    along: tuple[XY, ...] = ()
    turn: float = 0.0
    about: XY = (0.0, 0.0)
    """What it turns about: the middle of the rear axle unless said."""

    @property
    def plain(self) -> bool:
        """Whether it is the same in every direction."""
        return not (self.along or self.turn)

    def towards(self, way: XY, at: XY) -> float:
        """Standard uncertainty in m of the place `at` in the direction of the unit vector `way` (JCGM 100 5.1.2)."""
        lever = self.turn * (way[1] * (at[0] - self.about[0]) - way[0] * (at[1] - self.about[1]))
        return math.hypot(self.u, lever, *(way[0] * x + way[1] * y for x, y in self.along))

    def at_most(self, at: XY) -> float:
        """No direction has more than this."""
        return math.hypot(
            self.u, self.turn * math.dist(at, self.about), *(math.hypot(*e) for e in self.along)
        )


@dataclass(frozen=True, slots=True)
class Thing:
    """One thing in plan, in car axes."""

    key: str
    name: str
    shape: Shape
    doubts: tuple[Doubt, ...]
    """One, or one an end of a long thing: the worse one counts, since what lies between errs less than an end."""
    low: float = 0.0
    high: float = math.inf
    """Height band in m, as wide as it may be; without a height it is any height."""
    sure_high: float = math.inf
    """The height in m that it has at least."""
    metal: str = "unknown"
    people: bool = False
    """Somebody works at it or walks through it."""
    fixed: bool = False
    readings: tuple[Reading, ...] = ()

    @property
    def of_bay(self) -> bool:
        """Whether it stands in the bay's file; else a person told of it."""
        return self.key.startswith("bay.")

    def u(self, way: XY | None, at: XY) -> float:
        """Standard uncertainty in m of the place `at` on it in a direction; without one, of the worst direction."""
        if way is None:
            return max(d.at_most(at) for d in self.doubts)
        return max(d.towards(way, at) for d in self.doubts)


def bay_things(bay: Bay, where: Where) -> list[Thing]:
    """The bay's obstacles, in the order of its file."""
    pivot = where.turns_about
    return [
        bay_thing(f"bay.{n}", o, where.standing, pivot.u, where.u_heading, pivot.at)
        for n, o in enumerate(bay.obstacles, 1)
    ]


@lru_cache(maxsize=1024)  # a bay stays the same from answer to answer
def bay_thing(
    key: str, obstacle: Obstacle, standing: Standing, u: float, u_heading: float, about: XY = (0.0, 0.0)
) -> Thing:
    """An obstacle as the car sees it: its own uncertainty, and that of where the car stands (m, and degrees about a place
    of the car)."""
    band = obstacle.height
    doubt = Doubt(math.hypot(obstacle.u, u), turn=math.radians(u_heading), about=about)
    return Thing(
        key, obstacle.name, seen_from(standing, obstacle_shape(obstacle)), (doubt,),
        band.low if band else 0.0, band.high if band else math.inf, band.high if band else math.inf,
        obstacle.metal, obstacle.people, obstacle.fixed,
    )  # fmt: skip


def seen_from(standing: Standing, shape: Shape) -> Shape:
    """A shape in bay axes, in the axes of a car that stands there."""
    return moved(moved(shape, -standing.x, -standing.y), 0.0, 0.0, -standing.heading)


def matters(zone: Zone, thing: Thing) -> bool:
    """Whether a thing could disturb a zone: by what it is, and by its height."""
    band = band_of(zone)
    if not keeps_out(zone, thing.metal, thing.people):
        return False
    return band is None or (band.low <= thing.high and thing.low <= band.high)


def may_lie_below(zone: Zone, thing: Thing) -> bool:
    """Whether a thing's height is too near the zone's lower edge to say that it reaches into it."""
    band = band_of(zone)
    return band is not None and thing.sure_high < band.low


def obstacle_shape(obstacle: Obstacle) -> Shape:
    """An obstacle of a bay, in bay axes."""
    if obstacle.point is not None:
        return PointAt(obstacle.point.x, obstacle.point.y)
    if obstacle.disc is not None:
        return DiscAt(obstacle.disc.at.x, obstacle.disc.at.y, obstacle.disc.radius)
    if obstacle.rectangle is not None:
        a, b = obstacle.rectangle.corner, obstacle.rectangle.opposite
        return BoxAt(a.x, a.y, b.x, b.y)
    if obstacle.wall is not None:
        start, end = obstacle.wall.start, obstacle.wall.end
        return SegmentAt(start.x, start.y, end.x, end.y)
    if obstacle.polygon is not None:
        return Area(tuple((p.x, p.y) for p in obstacle.polygon))
    raise ValueError(f"obstacle {obstacle.name} has no shape")

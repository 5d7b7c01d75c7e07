"""What stands round the car, as shapes in car axes: the bay's obstacles and what was typed.

The car stands at the bay's standing place; the bay's file is in bay axes and is turned into the car's.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache

from readiness.checks.kind import Answer, Question, Scene
from readiness.job import Obstacle, Reading, Standing, Zone
from readiness.measure.plan import BoxAt, Capsule, DiscAt, PointAt, SegmentAt, Shape, mirrored, moved
from readiness.measure.uncertain import combined

METAL_FREE = "metal-free"
SET_UP_U = 0.02
"""m; standard uncertainty of laying out the car's axes by eye, or of parking on the bay's marks; common
practice, no published source."""
FARTHEST = 20.0
"""m; a thing farther from the rear axle than this is a slip of typing."""


@dataclass(frozen=True, slots=True)
class Thing:
    """One thing in plan, in car axes. `u` in m is the standard uncertainty of where it stands."""

    key: str
    name: str
    shape: Shape
    u: float
    low: float = 0.0
    high: float = math.inf
    """Height band in m, as wide as it may be; without a height it is any height."""
    sure_high: float = math.inf
    """The height in m that it has at least."""
    metal: str = "unknown"
    fixed: bool = False
    readings: tuple[Reading, ...] = ()


def bay_things(scene: Scene) -> list[Thing]:
    """The bay's obstacles, in the order of its file."""
    return [_of_bay(n, o, scene.bay.standing) for n, o in enumerate(scene.bay.obstacles, 1)]


def typed_thing(scene: Scene, key: str, name: str, metal: str = "unknown") -> Thing | tuple[Answer, ...]:
    """A thing from the answers to `place_questions`; the answers still missing if it cannot be placed."""
    x, y = scene.answer(f"{key}.x", shared=True), scene.answer(f"{key}.y", shared=True)
    radius, height = scene.answer(f"{key}.radius", shared=True), scene.answer(f"{key}.height", shared=True)
    placing = (x, y, *(a for a in (radius, height) if a.readings or a.missing == "lapsed"))
    if x.estimate is None or y.estimate is None or not all(a.ready for a in placing):
        return placing
    r = max(0.0, radius.estimate.value) if radius.estimate else 0.0
    u = combined(x.estimate.u, y.estimate.u, radius.estimate.u if radius.estimate else 0.0, SET_UP_U)
    top, guard = (
        (height.estimate.value, scene.factor * height.estimate.u) if height.estimate else (math.inf, 0.0)
    )
    at = (x.estimate.value, y.estimate.value)
    readings = tuple(reading for a in (x, y, radius, height) for reading in a.readings)
    return Thing(
        key, name, DiscAt(*at, r) if r else PointAt(*at), u, high=top + guard, sure_high=top - guard, metal=metal,
        readings=readings,
    )  # fmt: skip


def place_questions(key: str, name: str, *, radius: bool) -> list[Question]:
    """Where a thing stands in car axes, how wide it is if `radius`, and how high."""
    spot = "its middle" if radius else "its point nearest to the target"
    forward = f"{spot}, forward of the rear axle; behind it is negative"
    left = f"{spot}, to the left of the centre line; right is negative"
    asked = [
        Question(f"{key}.x", f"{name}: forward", low=-FARTHEST, high=FARTHEST, hint=forward),
        Question(f"{key}.y", f"{name}: left", low=-FARTHEST, high=FARTHEST, hint=left),
    ]
    if radius:
        wide = "half its width; empty: a point"
        asked.append(Question(f"{key}.radius", f"{name}: radius", low=0, high=3, hint=wide, optional=True))
    high = "above the floor; empty: any height"
    asked.append(Question(f"{key}.height", f"{name}: top", low=0, high=5, hint=high, optional=True))
    return [replace(q, unit="m", measures="distance", shared=True) for q in asked]


@lru_cache(maxsize=256)
def zone_shape(zone: Zone, side: str) -> Shape:
    """A zone of the sheet in car axes: as drawn, or its mirror image for the right side."""
    shape = _drawn(zone)
    return mirrored(shape) if side == "right" else shape


def matters(zone: Zone, thing: Thing) -> bool:
    """Whether a thing could disturb a zone: by what it is made of, and by its height."""
    if zone.reason == METAL_FREE and thing.metal == "no":
        return False
    return zone.height is None or (zone.height.low <= thing.high and thing.low <= zone.height.high)


def may_lie_below(zone: Zone, thing: Thing) -> bool:
    """Whether a thing's height is too near the zone's lower edge to say that it reaches into it."""
    return zone.height is not None and thing.sure_high < zone.height.low


def _drawn(zone: Zone) -> Shape:
    if zone.disc is not None:
        return DiscAt(zone.disc.at.x, zone.disc.at.y, zone.disc.radius)
    if zone.rectangle is not None:
        a, b = zone.rectangle.corner, zone.rectangle.opposite
        return BoxAt(a.x, a.y, b.x, b.y)
    if zone.corridor is not None:
        a, b = zone.corridor.start, zone.corridor.end
        return Capsule(a.x, a.y, b.x, b.y, zone.corridor.half_width)
    raise ValueError(f"zone {zone.id} has no shape")


@lru_cache(maxsize=256)  # a bay stays the same from answer to answer
def _of_bay(n: int, obstacle: Obstacle, standing: Standing) -> Thing:
    shifted = moved(obstacle_shape(obstacle), -standing.x, -standing.y)
    band = obstacle.height
    return Thing(
        f"bay.{n}", obstacle.name, moved(shifted, 0.0, 0.0, -standing.heading),
        combined(obstacle.u, SET_UP_U), band.low if band else 0.0, band.high if band else math.inf,
        metal=obstacle.metal, fixed=obstacle.fixed,
    )  # fmt: skip


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
        return SegmentAt(
            obstacle.wall.start.x, obstacle.wall.start.y, obstacle.wall.end.x, obstacle.wall.end.y
        )
    raise ValueError(f"obstacle {obstacle.name} has no shape")

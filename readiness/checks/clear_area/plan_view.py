"""The bay from above as a picture, in car axes, and how far from the car anything can matter."""

from __future__ import annotations

import math
from collections.abc import Iterable

from readiness.checks.car import car_outline, wheel_places
from readiness.checks.clear_area.things import Thing, zone_shape
from readiness.checks.kind import Scene
from readiness.checks.picture import XY, Circle, Line, Outline, Picture, Role, Spot
from readiness.checks.picture import Shape as Drawn
from readiness.job import Point, Standing, Zone
from readiness.measure.plan import BoxAt, Capsule, PointAt, Shape, moved, signed_clearance

BY_EYE = 0.1
"""m added to the reach, since it is paced off; common practice, no published source."""
FOOT = 0.3048
ROUND_STEPS = 8
"""Corners for each half circle of a drawn corridor."""


def plan_view(
    scene: Scene,
    zones: Iterable[tuple[Zone, Shape]],
    things: Iterable[Thing],
    marked: frozenset[str] = frozenset(),
) -> Picture:
    """Bay, car, wheels, sensors, targets, zones and things; those with id or key in `marked` stand out."""
    mirror = -1.0 if scene.side == "right" else 1.0
    return (
        _bay(scene),
        car_outline(scene.sheet),
        *(Spot("wheel", at) for at in wheel_places(scene.sheet).values()),
        *(drawn("zone", shape, zone.id, zone.id in marked) for zone, shape in zones),
        *(drawn("obstacle", t.shape, t.name, t.key in marked) for t in things),
        *(Spot("sensor", (s.at.x, mirror * s.at.y), s.id) for s in scene.sheet.sensors),
        *(Spot("target", (t.at.x, mirror * t.at.y), t.id) for t in scene.sheet.targets),
    )


def reach(scene: Scene, margin: float) -> str:
    """A distance to pace off: a thing farther than this from car and targets is clear of every zone.

    Zones are convex, so the place in one that is farthest from the car or a target is a corner or end.
    Given in whole feet or half metres, rounded up.
    """
    xs, ys = zip(*car_outline(scene.sheet).points, strict=True)
    anchors: list[Shape] = [BoxAt(min(xs), min(ys), max(xs), max(ys))]
    anchors += [PointAt(t.at.x, t.at.y) for t in scene.sheet.targets]
    shapes = [zone_shape(zone, "left") for zone in scene.sheet.zones]
    farthest = max((min(_farthest(shape, a) for a in anchors) for shape in shapes), default=0.0)
    step = FOOT if scene.shop.units == "us" else 0.5
    return scene.show(math.ceil((farthest + margin + BY_EYE) / step) * step, "m")


def _farthest(zone: Shape, anchor: Shape) -> float:
    return max(signed_clearance(anchor, PointAt(*corner)) for corner in zone.core) + zone.round_by


def bay_outline(outline: tuple[Point, ...], standing: Standing) -> tuple[XY, ...]:
    """The bay's corners in car axes."""
    corners = [PointAt(p.x - standing.x, p.y - standing.y) for p in outline]
    return tuple(moved(c, 0.0, 0.0, -standing.heading).core[0] for c in corners)


def _bay(scene: Scene) -> Outline:
    return Outline("bay", bay_outline(scene.bay.outline, scene.bay.standing), scene.bay.title)


def drawn(role: Role, shape: Shape, label: str = "", marked: bool = False) -> Drawn:
    """A shape of the plan as one of a picture."""
    core = shape.core
    if isinstance(shape, Capsule):
        return Outline(role, _rounded(shape), label, marked)
    if len(core) == 1:
        return (
            Circle(role, core[0], shape.round_by, label, marked)
            if shape.round_by
            else Spot(role, core[0], label, marked)
        )
    return Line(role, core, label, marked) if len(core) == 2 else Outline(role, core, label, marked)


def _rounded(shape: Capsule) -> tuple[XY, ...]:
    """The outline of a corridor, its round ends in steps."""
    heading = math.atan2(shape.y2 - shape.y1, shape.x2 - shape.x1)
    corners = []
    for (x, y), start in (
        ((shape.x2, shape.y2), heading - math.pi / 2),
        ((shape.x1, shape.y1), heading + math.pi / 2),
    ):
        for step in range(ROUND_STEPS + 1):
            turn = start + math.pi * step / ROUND_STEPS
            corners.append((x + shape.half_width * math.cos(turn), y + shape.half_width * math.sin(turn)))
    return tuple(corners)

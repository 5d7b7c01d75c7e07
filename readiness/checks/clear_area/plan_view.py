"""The bay from above as a picture, in car axes, and how far from the car anything can matter."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType

from readiness import units
from readiness.checks.car import car_outline, wheel_places
from readiness.checks.clear_area.things import Thing
from readiness.checks.clear_area.zones import band_of, zone_shape, zones_of
from readiness.checks.kind import Scene
from readiness.checks.picture import FOOT, XY, Circle, Line, Outline, Picture, Role, Spot
from readiness.checks.picture import Shape as Drawn
from readiness.checks.place import in_car
from readiness.job import Bay, Point, Sheet, Standing, System, Zone
from readiness.measure.plan import BoxAt, Capsule, PointAt, SectorAt, Shape, signed_clearance

BY_EYE = 0.1
"""m added to the reach, since it is paced off; common practice, no published source."""

NO_NOTES: Mapping[str, str] = MappingProxyType({})
STEP = 5.0
"""Degrees between the corners of a drawn arc: none lies more than 1/1000 of the radius off it."""


def plan_view(
    sheet: Sheet,
    bay: Bay,
    standing: Standing,
    sides: Sequence[str],
    things: Iterable[Thing],
    marked: frozenset[str] = frozenset(),
    *,
    notes: Mapping[str, str] = NO_NOTES,
    corners: bool = False,
    system: System = "metric",
) -> Picture:
    """Bay with its marks, car, wheels, zones, things, sensors and targets of these sides, in car axes.

    Zones, targets and things whose id or key is in `marked` stand out. `notes` says more of some.
    `corners`: those of the bay have their numbers.
    """
    mirrors = [-1.0 if side == "right" else 1.0 for side in sides]
    zones = [z for side in sides for z in zones_of(sheet.zones, side)]
    return (
        Outline("bay", bay_outline(bay.outline, standing), bay.title),
        *(Spot("mark", in_car(standing, (m.at.x, m.at.y)), m.name) for m in bay.marks),
        *(
            Spot("mark", in_car(standing, (p.x, p.y)), f"corner {n}")
            for n, p in enumerate(bay.outline if corners else (), 1)
        ),
        car_outline(sheet),
        *(Spot("wheel", at) for at in wheel_places(sheet).values()),
        *(zone_drawn(z, shape, z.id in marked, notes.get(z.id, ""), system) for z, shape in zones),
        *(_thing(t, t.key in marked, notes.get(t.key, ""), system) for t in things),
        *(Spot("sensor", (s.at.x, m * s.at.y), s.id) for m in mirrors for s in sheet.sensors),
        *(Spot("target", (t.at.x, m * t.at.y), t.id, t.id in marked) for m in mirrors for t in sheet.targets),
    )


def zone_drawn(zone: Zone, shape: Shape, marked: bool, note: str, system: System) -> Drawn:
    """A zone with its heights and a note in words."""
    made, band = drawn("zone", shape, zone.id, marked), band_of(zone)
    words = _sentences(_heights(band.low, band.high, system) if band else "At any height", note)
    if isinstance(made, Outline | Circle):
        return replace(made, note=words, reason=zone.reason)
    return replace(made, note=words)


def _thing(thing: Thing, marked: bool, note: str, system: System) -> Drawn:
    metal = {"yes": "Metal", "no": "No metal"}.get(thing.metal, "Perhaps metal")
    high = _heights(thing.low, thing.high, system) if math.isfinite(thing.high) else "Of any height"
    people = "People work there or walk through" if thing.people else ""
    return replace(
        drawn("obstacle", thing.shape, thing.name, marked), note=_sentences(metal, high, people, note)
    )


def _heights(low: float, high: float, system: System) -> str:
    return f"{units.show(low, 'm', system)} to {units.show(high, 'm', system, digits=2)} above the floor"


def _sentences(*words: str) -> str:
    return " ".join(f"{w}." for w in words if w)


def bay_outline(outline: Sequence[Point], standing: Standing) -> tuple[XY, ...]:
    """The bay's corners in car axes."""
    return tuple(in_car(standing, (p.x, p.y)) for p in outline)


# --- how far anything can matter -----------------------------------------------------------------


def reach(scene: Scene, margin: float) -> str:
    """A distance to pace off: a thing farther than this from car and targets is clear of every zone.

    Given in whole feet or half metres, rounded up.
    """
    xs, ys = zip(*car_outline(scene.sheet).points, strict=True)
    anchors: list[Shape] = [BoxAt(min(xs), min(ys), max(xs), max(ys))]
    anchors += [PointAt(t.at.x, t.at.y) for t in scene.sheet.targets]
    shapes = [zone_shape(zone, "left") for zone in scene.sheet.zones]
    far = max((min(farthest(shape, a) for a in anchors) for shape in shapes), default=0.0)
    step = FOOT if scene.shop.units == "us" else 0.5
    return scene.show(math.ceil((far + margin + BY_EYE) / step) * step, "m")


def farthest(zone: Shape, anchor: Shape) -> float:
    """No place in a zone is farther from a convex anchor: that distance is largest at a corner of the zone's hull."""
    corners, beyond = (
        (_slice(zone, outside=True), 0.0) if isinstance(zone, SectorAt) else (zone.core, zone.round_by)
    )
    return max(signed_clearance(anchor, PointAt(*corner)) for corner in corners) + beyond


# --- shapes of the plan as shapes of a picture ---------------------------------------------------


def drawn(role: Role, shape: Shape, label: str = "", marked: bool = False) -> Drawn:
    """A shape of the plan as one of a picture."""
    if isinstance(shape, SectorAt):
        return Outline(role, _slice(shape), label, marked)
    core, radius = shape.core, shape.round_by
    if len(core) == 1:
        return Circle(role, core[0], radius, label, marked) if radius else Spot(role, core[0], label, marked)
    if isinstance(shape, Capsule) and radius:
        return Outline(role, _rounded(shape), label, marked)
    return Line(role, core, label, marked) if len(core) == 2 else Outline(role, core, label, marked)


def _rounded(shape: Capsule) -> tuple[XY, ...]:
    """The outline of a corridor, its round ends in steps."""
    heading = math.degrees(math.atan2(shape.y2 - shape.y1, shape.x2 - shape.x1))
    ahead = _arc((shape.x2, shape.y2), shape.half_width, heading - 90.0, heading + 90.0)
    return (*ahead, *_arc((shape.x1, shape.y1), shape.half_width, heading + 90.0, heading + 270.0))


def _slice(shape: SectorAt, outside: bool = False) -> tuple[XY, ...]:
    """The outline of a sector, its arc in steps; `outside`: corners that hold the whole of it."""
    width, at = shape.angle, (shape.x, shape.y)
    if not outside:
        return (at, *_arc(at, shape.radius, shape.start, shape.start + width))
    half = width / max(1, math.ceil(width / STEP)) / 2.0
    around = shape.radius / math.cos(math.radians(half))
    return (at, *_arc(at, around, shape.start - half, shape.start + width + half))


def _arc(at: XY, radius: float, start: float, end: float) -> tuple[XY, ...]:
    """Corners along an arc, degrees counterclockwise, no farther than STEP from one another."""
    steps = max(1, math.ceil((end - start) / STEP - 1e-9))
    turns = (math.radians(start + (end - start) * k / steps) for k in range(steps + 1))
    return tuple((at[0] + radius * math.cos(t), at[1] + radius * math.sin(t)) for t in turns)

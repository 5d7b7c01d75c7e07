"""What has to be clear for a car and its calibration, as shapes that move with the car among a bay's things.

Zones ask of the bay's things what the check of the clear area asks: margin, and a guard for how well it is
known where the thing and the car stand. So where the search says that a car fits, that check passes there.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace

import msgspec

from readiness.bayfit.found import Binding
from readiness.checklist.model import Checklist
from readiness.checks import clear_area
from readiness.checks.car import car_outline
from readiness.checks.clear_area.plan_view import farthest
from readiness.checks.clear_area.things import Doubt, Thing, bay_thing, matters
from readiness.checks.clear_area.zones import zone_shape
from readiness.checks.place import ON_MARKS_U, Where, parked
from readiness.job import Bay, Obstacle, Sheet, Standing, Zone
from readiness.measure.overlap import XY
from readiness.measure.plan import Area, PointAt, SectorAt, Shape, nearest, signed_clearance
from readiness.measure.poses import Apart, Moving

EDGE = "the edge of the bay"
CAR = "the car"
STANDS_OVER, ROOF = 0.05, 2.0
"""m; a car, and a stand with its target, reach no lower and no higher; common practice, no published source."""
FLAT = 0.02
"""m; the foot of a stand may stand on what is no higher; common practice, no published source."""
SURE = 2e-4
"""m asked on top: what the place loses where it is rounded to be kept (checks.place.rounded)."""
BAY_AXES, ORIGIN = Standing(x=0.0, y=0.0), PointAt(0.0, 0.0)


@dataclass(frozen=True, slots=True)
class Needed:
    """A shape that needs room, in car axes; it must stay `inside` m within the place."""

    what: str
    side: str
    shape: Shape
    zone: Zone | None = None
    """None: the car itself, or where a target comes down on the floor."""
    inside: float = 0.0


@dataclass(frozen=True, slots=True)
class Kept:
    """A needed shape (by its number) that must keep a gap in m from a thing of the bay."""

    part: int
    thing: Thing
    gap: float


@dataclass(frozen=True, slots=True)
class Demands:
    """All that must be clear; lengths in m, the place and the things in bay axes."""

    place: Area
    parts: tuple[Needed, ...]
    kept: tuple[Kept, ...]

    @property
    def moving(self) -> tuple[Moving, ...]:
        return tuple(Moving(p.shape, p.inside) for p in self.parts)

    @property
    def apart(self) -> tuple[Apart, ...]:
        return tuple(Apart(k.part, k.thing.shape, k.gap) for k in self.kept)

    def names(self, number: int) -> Binding:
        """Who the pair of that number is (poses.Found.binding); the clearance is still to be filled in."""
        if number < 0:
            part = self.parts[-1 - number]
            return Binding(part.what, EDGE, 0.0, part.inside, side=part.side, zone=part.zone is not None)
        kept = self.kept[number]
        part = self.parts[kept.part]
        movable, zone = not kept.thing.fixed, part.zone is not None
        return Binding(part.what, kept.thing.name, 0.0, kept.gap, movable, part.side, zone)


@dataclass(frozen=True, slots=True)
class Between:
    """A zone of one side against a target of the other, and the places between which they come nearest."""

    pair: Binding
    gap: tuple[XY, XY]


def demands(checklist: Checklist, sheet: Sheet, bay: Bay, sides: Sequence[str]) -> Demands:
    """All that must be clear for these sides without moving the car; things in bay axes."""
    parts = list(_parts(sheet, sides))
    place = Area(tuple((p.x, p.y) for p in bay.outline))
    kept = tuple(_kept(checklist, sheet, bay, parts))
    factor, parking = checklist.decision.factor, parked(sheet, BAY_AXES)
    within = tuple(replace(p, inside=factor * _u(parking, farthest(p.shape, ORIGIN)) + SURE) for p in parts)
    return Demands(place, within, kept)


def _parts(sheet: Sheet, sides: Sequence[str]) -> Iterator[Needed]:
    yield Needed(CAR, "", Area(car_outline(sheet).points))
    for side in sides:
        named = "" if side == "single" else side
        for zone in sheet.zones:
            yield Needed(zone.id, named, zone_shape(zone, side), zone)
        for name, point in target_points(sheet, side):
            yield Needed(name, named, point)


def _kept(checklist: Checklist, sheet: Sheet, bay: Bay, parts: Sequence[Needed]) -> Iterator[Kept]:
    factor, margin, parking = checklist.decision.factor, margin_of(checklist), parked(sheet, BAY_AXES)
    things = things_of(bay)
    for number, part in enumerate(parts):
        for obstacle, thing in things:
            if _counts(part, thing):
                guard = factor * _u(parking, _lever(part.shape), obstacle.u) + SURE
                yield Kept(number, thing, guard + (margin if part.zone else 0.0))


def _counts(part: Needed, thing: Thing) -> bool:
    """Whether a thing must keep clear of a part: of a zone as the check says, of a car or stand where it runs into it."""
    if part.zone is not None:
        return matters(part.zone, thing)
    return thing.high > (STANDS_OVER if part.what == CAR else FLAT) and thing.low < ROOF


def _u(parking: Where, lever: float, of_thing: float = 0.0) -> float:
    """Standard uncertainty in m of a clearance: of the thing's place, the car's, and its heading with this lever."""
    return math.hypot(of_thing, parking.u, math.radians(parking.u_heading) * lever)


def _lever(shape: Shape) -> float:
    """The most by which turning the car about its rear axle shifts what lies nearest to a shape, m a radian.

    Against a round edge the line of the shortest way runs through the middle of its arc, so its radius adds nothing.
    """
    return farthest(shape, ORIGIN) if isinstance(shape, SectorAt) else max(math.hypot(*c) for c in shape.core)


def without(bay: Bay, names: Collection[str]) -> Bay:
    """The bay with these things carried out of it."""
    return msgspec.structs.replace(bay, obstacles=tuple(o for o in bay.obstacles if o.name not in names))


def between_sides(checklist: Checklist, sheet: Sheet) -> tuple[Between, ...]:
    """Zones of one side against the targets of the other while all of them stand, tightest first.

    It does not depend on the place. The left side stands for both: the right is its mirror image.
    """
    asked = margin_of(checklist) + checklist.decision.factor * ON_MARKS_U + SURE
    found = []
    for zone in sheet.zones:
        shape = zone_shape(zone, "left")
        for name, point in target_points(sheet, "right"):
            if matters(zone, _stand(name, point)):
                clear = signed_clearance(shape, point)
                pair = Binding(zone.id, f"{name} of the other side", clear, asked, side="left", zone=True)
                found.append(Between(pair, nearest(shape, point)))
    return tuple(sorted(found, key=lambda b: b.pair.clearance))


def target_points(sheet: Sheet, side: str) -> Iterator[tuple[str, PointAt]]:
    """Where targets come down on the floor: their centres and feet, by the target's id, in car axes."""
    for target in sheet.targets:
        centre = (target.at.x, target.at.y)
        for x, y in dict.fromkeys((centre, *((f.x, f.y) for f in target.feet))):
            yield target.id, PointAt(x, -y if side == "right" else y)


def margin_of(checklist: Checklist) -> float:
    """The clearance that the checklist asks round every zone, m; the largest where several checks ask."""
    limits = (c.limits for c in checklist.checks if c.kind == clear_area.KIND)
    return max((x.margin for x in limits if isinstance(x, clear_area.Limits)), default=0.0)


def things_of(bay: Bay) -> list[tuple[Obstacle, Thing]]:
    """The bay's obstacles, and what they are as things, in bay axes."""
    return [(o, bay_thing(f"bay.{n}", o, BAY_AXES, ON_MARKS_U, 0.0)) for n, o in enumerate(bay.obstacles, 1)]


def _stand(name: str, point: PointAt) -> Thing:
    """A target with its stand, as a thing: of metal, of any height."""
    return Thing(name, name, point, (Doubt(ON_MARKS_U),), metal="yes")

"""The truth about light, single readings and the clear area, and what is read of them.

Distances between shapes are shapely's; discs are polygons of 256 corners there, which is exact to 0.1 mm.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import pairwise
from math import cos, hypot, radians, sin
from typing import Any

import numpy as np
import shapely
from shapely import affinity
from shapely.geometry import LineString, Polygon, box
from shapely.geometry import Point as At
from shapely.geometry.base import BaseGeometry

from readiness.checklist.model import Check, Checklist
from readiness.job import WHEELS, Bay, Disc, Obstacle, Point, Segment, Standing, Zone
from tests.simulation.body import Car
from tests.simulation.tools import Shows
from tests.simulation.topics import ON_STEP, Bound, Topic, sizes, under

XY = tuple[float, float]
SHARED = "shared"
ROUND = 64

# --- light and single readings -------------------------------------------------------------------


def light(checklist: Checklist, chance: np.random.Generator) -> Topic:
    """Illuminances in lx; how even by least over mean."""
    limits = checklist.check("light").limits
    lux = chance.uniform(300, 1400) * chance.uniform(0.5, 1.0, len(limits.places))
    keys = [f"light.{n}" for n in range(1, len(lux) + 1)]
    says: dict[Any, Any] = {
        ("light", "", k): Shows("illuminance", float(v)) for k, v in zip(keys, lux, strict=True)
    }
    says |= {("light", "", "sun"): "no", ("light", "", "flicker"): "no"}
    dark = {k: -float(v) for k, v in zip(keys, lux, strict=True)}
    wide: dict[Any, Any] = {} if limits.most is None else {("light", "most"): 9999.0}
    bounds = [Bound("light", "least", sizes("light", "illuminance, least", dark), -1e9, limit=under)]
    if limits.most is not None and chance.random() < 0.5:
        bounds = [
            Bound("light", "most", sizes("light", "illuminance, most", {k: -v for k, v in dark.items()}))
        ]
        wide = {("light", "least"): 1.0}
    if limits.uniformity is not None:
        even = {"uniformity": -float(lux.min() / lux.mean())}
        bounds.append(
            Bound("light", "uniformity", sizes("light", "evenness of light", even), -1.0, limit=under)
        )
    return Topic(bounds, says, wide)


USUAL = {"V": (12.0, 15.0), "deg": (-2.0, 2.0), "um": (80.0, 350.0)}
"""Where the numbers of cars lie, by unit."""


STEP = {"V": 0.1, "deg": 0.1, "um": 10.0}
"""A round number, which every display can show."""


def singles(check: Check, sides: tuple[str, ...], air: float, chance: np.random.Generator) -> Topic:
    """Readings that are held against limits as they are; either the lower or the upper one is near."""
    topic, on_step = Topic(), chance.random() < 0.3
    for item in check.limits.items:
        low = item.low is not None and (item.high is None or bool(chance.integers(2)))
        parts: dict[Any, Any] = {}
        for side in sides if check.per_side else ("",):
            true = air if item.key == "air" else float(chance.uniform(*USUAL[item.unit]))
            if item.key != "air" and on_step:
                true = round(true / STEP[item.unit]) * STEP[item.unit]
            if item.key != "air":
                topic.says[check.id, side, item.key] = Shows(item.measures, true)
            kind = f"single reading, {item.measures}{ON_STEP if on_step and item.key != 'air' else ''}"
            parts |= sizes(check.id, kind, {item.key: -true if low else true}, side)
        name = f"{item.key}.{'low' if low else 'high'}"
        topic.bounds.append(Bound(check.id, name, parts, -1e9, limit=under if low else float))
    return topic


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


# --- the things in it ----------------------------------------------------------------------------

WAYS = ("car", "tapes", "bay")


@dataclass
class Thing:
    key: str
    kind: str
    shape: BaseGeometry
    """As it really is, in car axes."""


LEAST_MARGIN = 0.05
"""m; how far in a thing is that overlaps a zone is not asked here, so no limit is set there."""


def clear_area(
    car: Car, check: Check, space: Floorspace, clear: tuple[float, float], chance: np.random.Generator
) -> Topic:
    """Each zone's clearance of each thing; a thing that was told of counts by its worst zone as well.

    `clear` is how near and how far from a zone things stand, in m.
    """
    topic, things = Topic(), []
    stand = Stand(car, clear, chance)
    kit = len(check.limits.kit)
    near = int(chance.integers(1, kit + 1)) if kit else 0
    for n, one in enumerate(check.limits.kit, 1):
        topic.says[SHARED, "", f"kit.{n}"] = "near" if n == near else "out"
        if n == near:
            radius = one.radius + chance.uniform(-0.02, 0.02)
            things.append(_told(stand, space, f"kit.{n}", radius, topic, chance))
    others = int(chance.integers(0, 3))
    topic.says[SHARED, "", "other"] = _more(others)
    for n in range(1, others + 1):
        key = f"other.{n}"
        radius = chance.uniform(0.1, 0.4)
        told = max(radius + chance.uniform(-0.02, 0.02), 0.0)
        topic.says |= {
            (SHARED, "", f"{key}.{what}"): said
            for what, said in (("name", f"thing {n}"), ("radius", f"{told:.3f} m"), ("metal", "yes"), ("more", _more(others - n)))
        }  # fmt: skip
        things.append(_told(stand, space, key, radius, topic, chance))
    things += [_of_the_bay(stand, space, n, chance) for n in range(1, int(chance.integers(1, 3)) + 1)]
    topic.bounds.append(
        Bound("clear_area", "margin", _clearances(car, things, check.per_side), -50.0, -LEAST_MARGIN, under)
    )
    return topic


def _more(left: int) -> str:
    return "yes" if left > 0 else "no"


def _clearances(car: Car, things: list[Thing], per_side: bool) -> dict[Any, Any]:
    parts: dict[Any, Any] = {}
    for side in car.sides:
        for thing in things:
            clear = {z.id: float(zone_as_it_is(z, side).distance(thing.shape)) for z in car.sheet.zones}
            much = {f"{zone}/{thing.key}": -c for zone, c in clear.items()}
            much[thing.key] = -min(clear.values())
            parts |= sizes("clear_area", thing.kind, much, side if per_side else "")
    return parts


@dataclass(frozen=True)
class Stand:
    """Where things may stand: so near and so far from the zones, and not under the car."""

    car: Car
    clear: tuple[float, float]
    chance: np.random.Generator

    def place(self, outline: BaseGeometry) -> tuple[XY, BaseGeometry]:
        """Somewhere for a thing of that outline about (0, 0), and the thing there."""
        zones = shapely.union_all([zone_as_it_is(z, s) for z in self.car.sheet.zones for s in self.car.sides])
        low, high = self.clear
        x0, y0, x1, y1 = zones.buffer(high + 0.6).bounds
        d = self.car.sheet.dimensions
        front = d.wheelbase + d.front_overhang
        under_car = box(front - d.length, -d.width / 2, front, d.width / 2)
        while True:
            at = float(self.chance.uniform(x0, x1)), float(self.chance.uniform(y0, y1))
            thing = affinity.translate(outline, *at)
            if low < zones.distance(thing) < high and under_car.distance(thing) > 0.1:
                return at, thing


def _told(
    stand: Stand, space: Floorspace, key: str, radius: float, topic: Topic, chance: np.random.Generator
) -> Thing:
    """A round thing, placed in one of the three ways."""
    way = WAYS[int(chance.integers(len(WAYS)))]
    at, thing = stand.place(At(0, 0).buffer(radius, ROUND))
    found = _by_tapes(stand.car, at, chance) if way == "tapes" else None
    if found is None:
        way = "car" if way == "tapes" else way
        found = _from_car(at, chance) if way == "car" else _from_bay(space, at, chance)
    topic.says |= {(SHARED, "", f"{key}.{what}"): said for what, said in {"way": way, **found}.items()}
    kind = {"car": "from the car", "tapes": "by two tapes", "bay": f"from the bay, {space.how}"}[way]
    return Thing(key, f"clearance, placed {kind}", thing)


def _from_car(at: XY, chance: np.random.Generator) -> dict[str, Any]:
    """Axes laid out by eye (20 mm), the middle found by eye (10 mm)."""
    x, y = np.array(at) + chance.normal(0, 0.02, 2) + chance.normal(0, 0.01, 2)
    return {"x": Shows("distance", float(x)), "y": Shows("distance", float(y))}


def _from_bay(space: Floorspace, at: XY, chance: np.random.Generator) -> dict[str, Any]:
    n = int(np.argmin(np.hypot(*(space.corners - space.in_bay(at)).T)))
    away = (
        np.array(space.in_bay(at)) - space.corners[n] + chance.normal(0, 0.02, 2) + chance.normal(0, 0.01, 2)
    )
    return {
        "from": f"corner {n + 1}", "along": Shows("distance", float(away[0])), "across": Shows("distance", float(away[1])),
    }  # fmt: skip


def _by_tapes(car: Car, at: XY, chance: np.random.Generator) -> dict[str, Any] | None:
    """Tapes from two wheels or marks that meet at no flat angle; the side is that on which the thing is."""
    known = {w: beside_tyre(car, w) for w in WHEELS}
    known |= {"front mark": (car.sheet.marks.front, 0.0), "rear mark": (car.sheet.marks.rear, 0.0)}
    names = [*known]
    chance.shuffle(names)
    middle = np.array(at) + chance.normal(0, 0.01, 2)
    for a, b in pairwise(names):
        to = [np.array(at) - known[n] for n in (a, b)]
        angle = abs(to[0][0] * to[1][1] - to[0][1] * to[1][0]) / (hypot(*to[0]) * hypot(*to[1]))
        line = np.array(known[b]) - known[a]
        off_line = abs(line[0] * to[0][1] - line[1] * to[0][0]) / hypot(*line)
        if angle < 0.35 or off_line < 0.5:
            continue
        tapes = []
        for n in (a, b):
            held = np.array(known[n]) + chance.normal(0, 0.01 if n in WHEELS else 0.005, 2)
            tapes.append(Shows("distance", float(np.hypot(*(middle - held)))))
        side = "left" if line[0] * to[0][1] - line[1] * to[0][0] > 0 else "right"
        return {"from1": a, "tape1": tapes[0], "from2": b, "tape2": tapes[1], "side": side}
    return None


def _of_the_bay(stand: Stand, space: Floorspace, n: int, chance: np.random.Generator) -> Thing:
    """In the bay's file, 20 mm from where it really is: a post, or a straight wall."""
    off = chance.normal(0, 0.02, 2)
    if n == 1:
        radius = float(chance.uniform(0.05, 0.3))
        at, thing = stand.place(At(0, 0).buffer(radius, ROUND))
        post = Disc(at=_point(np.array(space.in_bay(at)) + off), radius=radius)
        space.obstacles.append(Obstacle(name=f"post {n}", disc=post, u=0.02))
        return Thing(f"bay.{n}", f"clearance, post of the plan, {space.how}", thing)
    turn = chance.uniform(0, 2 * np.pi)
    _, thing = stand.place(LineString([(0, 0), (1.5 * cos(turn), 1.5 * sin(turn))]))
    ends = [_point(np.array(space.in_bay(p)) + off) for p in thing.coords]
    space.obstacles.append(Obstacle(name=f"wall {n}", wall=Segment(start=ends[0], end=ends[1]), u=0.02))
    return Thing(f"bay.{n}", f"clearance, wall of the plan, {space.how}", thing)


def _point(at: Any) -> Point:
    return Point(x=float(at[0]), y=float(at[1]))

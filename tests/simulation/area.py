"""The truth about the clear area: how far every thing is from every zone, and what tapes show of where it stands."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import cos, hypot, sin
from typing import Any

import numpy as np
import shapely
from shapely import affinity
from shapely.geometry import LineString, box
from shapely.geometry import Point as At
from shapely.geometry.base import BaseGeometry

from readiness.checklist.model import Check
from readiness.job import WHEELS, Disc, Obstacle, Point, Segment
from tests.simulation.body import Car
from tests.simulation.hall import ROUND, XY, Floorspace, beside_tyre, zone_as_it_is
from tests.simulation.tools import Shows
from tests.simulation.topics import Bound, Topic, sizes, under

SHARED = "shared"
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

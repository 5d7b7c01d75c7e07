"""Whether the places that a sheet names can be on, in and around a car of its dimensions."""

from __future__ import annotations

from collections.abc import Iterator
from math import dist
from typing import NamedTuple

from readiness import job
from readiness.checklist.mistakes import shown
from readiness.checklist.origin import ALONG, placed, tapes
from readiness.checklist.shapes import span
from readiness.checklist.spot import Spot

BESIDE = 0.3
"""What sticks out beyond the stated length and width, such as mirrors and a tow bar, m; common practice."""
TALLEST = 3.5
"""No sensor of a car or van sits higher, m; common practice, no published source."""


UNDER = 0.3
"""A zone no higher than this may mean the floor below the car, m; common practice."""
ASTRAY = 0.5
"""So far beside its sensor and target a corridor is drawn for something else by mistake, m."""
SLIP = "Forward and left are positive: look for a wrong sign, or x and y changed over."


class _Plan(NamedTuple):
    """The car from above in its own axes: from `rear` to `front`, half as wide as `side` says."""

    rear: float
    front: float
    side: float

    def holds(self, x: float, y: float, beside: float = 0.0) -> bool:
        along = self.rear - beside <= x <= self.front + beside
        return along and abs(y) <= self.side + beside

    def along(self) -> str:
        return f"x from {self.rear:.2f} m (rear bumper) to {self.front:.2f} m (front bumper)"


def places(sheet: job.Sheet, spot: Spot) -> None:
    """Note places that cannot be: a sensor off the car, a target where the car stands, a load outside.

    The usual slip is a wrong sign or lengths that count from something else than the sheet says; where the
    document prints distances from the centre marks, these tell.
    """
    if any(m.where.startswith("dimensions") for m in spot.mistakes):
        return
    size = sheet.dimensions
    front = size.wheelbase + size.front_overhang
    car = _Plan(front - size.length, front, size.width / 2)
    for sensor, here in zip(sheet.sensors, spot.at("sensors").items(), strict=True):
        _sensor(sensor.at, here.at("at"), car)
    for target, here in zip(sheet.targets, spot.at("targets").items(), strict=True):
        _target(sheet, target, here, car)
    for zone, here in zip(sheet.zones, spot.at("zones").items(), strict=True):
        _zone(sheet, zone, here, car)
    for x, here in _inside(sheet, spot):
        if not car.rear - BESIDE <= x <= car.front + BESIDE:
            here.wrong(f"{shown(here.text)}, which is off the car", car.along())


def _sensor(at: job.Place, spot: Spot, car: _Plan) -> None:
    if not car.holds(at.x, at.y, BESIDE):
        found = f"a sensor at {at.x:.2f} m, {at.y:.2f} m, which is off the car"
        spot.wrong(found, f"{car.along()}, y within {car.side:.2f} m")
    if at.z > TALLEST:
        here = spot.at("z")
        here.wrong(shown(here.text), f"a height above the floor of at most {TALLEST:g} m")


def _target(sheet: job.Sheet, target: job.Target, spot: Spot, car: _Plan) -> None:
    origin = target.origin or job.Origin()
    at = placed(sheet, origin, target.at)
    if car.holds(at.x, at.y):
        found = f"a target at {at.x:.2f} m, {at.y:.2f} m, where the car stands"
        expected = f"a place outside {car.along()} and y within {car.side:.2f} m"
        spot.at("at").wrong(
            found, expected, f"Lengths count from {ALONG[origin.along]}, forward is positive."
        )
    if sheet.marks.front > sheet.marks.rear:
        tapes(sheet, target, spot)


def _zone(sheet: job.Sheet, zone: job.Zone, spot: Spot, car: _Plan) -> None:
    """Metal in a zone wholly inside the car is the car's own, unless the floor below it is meant."""
    wrong_already = any(m.where.startswith(spot.where) for m in spot.mistakes)
    if wrong_already or zone.reason not in ("metal-free", "nothing between"):
        return
    corners = span(zone)
    above = zone.height is None or zone.height.high > UNDER
    if above and corners and zone.reason == "metal-free" and all(car.holds(x, y) for x, y in corners):
        expected = f"one that reaches out of {car.along()} and y within {car.side:.2f} m"
        spot.wrong("a metal-free zone wholly inside the car", expected, SLIP)
    elif zone.corridor is not None:
        _corridor(sheet, zone.corridor, spot.at("corridor"))


def _corridor(sheet: job.Sheet, corridor: job.Corridor, spot: Spot) -> None:
    """What must stay clear between things begins or ends near a sensor or a target."""
    marked = [(s.at.x, s.at.y) for s in sheet.sensors]
    for target in sheet.targets:
        at = placed(sheet, target.origin or job.Origin(), target.at)
        marked.append((at.x, at.y))
    ends = [(p.x, p.y) for p in (corridor.start, corridor.end)]
    nearest = min((dist(end, place) for end in ends for place in marked), default=0.0)
    if nearest > ASTRAY + corridor.half_width:
        found = f"a corridor whose ends are {nearest:.2f} m and more from every sensor and target"
        spot.wrong(found, "one that begins at a sensor or ends at a target", SLIP)


def _inside(sheet: job.Sheet, spot: Spot) -> Iterator[tuple[float, Spot]]:
    """What lies on or in the car, with its x."""
    marks = spot.at("marks")
    if sheet.marks.front > sheet.marks.rear:
        yield from ((sheet.marks.front, marks.at("front")), (sheet.marks.rear, marks.at("rear")))
    if sheet.fuel.kind != "none":
        yield sheet.fuel.tank_at, spot.at("fuel", "tank_at")
    load = spot.at("load")
    for thing, here in zip(sheet.load.carried, load.at("carried").items(), strict=True):
        yield thing.x, here.at("x")
    for station, here in zip(sheet.load.stations, load.at("stations").items(), strict=True):
        yield station.x, here.at("x")

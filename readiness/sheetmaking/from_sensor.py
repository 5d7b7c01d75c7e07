"""A target whose lengths the document counts from the sensor, turned into car axes: the engine knows no such origin."""

from __future__ import annotations

from collections.abc import Iterable
from copy import deepcopy

from readiness import units
from readiness.sheetmaking.draft import Tree, at

SENSOR = "sensor"
"""What a target's lengths may count from while it is asked; the file has them from the rear axle."""
OPEN = "#open"
"""Key of an entry that is not whole yet."""


def in_car_axes(target: Tree, sensors: Iterable[Tree]) -> Tree:
    """The target and its feet from the rear axle and the centre line; what the document says becomes the line above it.

    One that counts from something else is as it was; one that lacks a length, or its sensor one, is marked OPEN.
    """
    if at(target, "from.along") != SENSOR:
        return target
    target, name = deepcopy(target), target.get("id", "")
    sensor = next((s for s in sensors if not s.get("sees") or name in s["sees"]), {})
    own = target.get("at", {})
    places = [own, *target.get("feet", ())]
    if not all(axis in place for place in (*places, sensor.get("at", {})) for axis in "xy"):
        return {**target, OPEN: "yes"}
    told = f"Document: from the sensor {sensor.get('id', '')}, along {own['x']}, across {own['y']}."
    target["#why"] = " ".join(filter(None, (target.get("#why", ""), told)))
    del target["from"]
    for place in places:
        for axis in "xy":
            place[axis] = _sum(sensor["at"][axis], place[axis])
    return target


def _sum(one: str, other: str) -> str:
    """The sum of two lengths, in m to a tenth of a millimetre; texts that are no lengths stay as they are."""
    try:
        total = units.parse_written(one, "m") + units.parse_written(other, "m")
    except units.UnitsError:
        return other
    return units.show(total, "m", digits=4)

"""Words for what differs between two sheets: names of fields, quantities told apart, which way something moved."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import isclose

from readiness import units
from readiness.checks.words import capital
from readiness.job import Place, Point, System

SAME = 1e-9
"""Lengths in m, and quantities relative to themselves, that differ by no more are rounding of one number."""
MIDDLE = 0.05
"""m; nearer to the centre line there is no outward."""
NAMES = {
    "sheet": "Id", "title": "Title", "car": "Car", "powertrain": "Powertrain", "checklist": "Checklist", "note": "Note",
    "document.reference": "Document", "document.issued": "Document issued", "document.checked": "Compared with the document",
    "placard.size.front": "Front tyre size", "placard.size.rear": "Rear tyre size",
    "placard.pressure.front": "Front tyre pressure", "placard.pressure.rear": "Rear tyre pressure",
    "dimensions.wheelbase": "Wheelbase", "dimensions.track_front": "Front track", "dimensions.track_rear": "Rear track",
    "dimensions.length": "Length", "dimensions.width": "Width", "dimensions.front_overhang": "Front overhang",
    "fuel.kind": "Fuel", "fuel.tank": "Tank", "fuel.tank_at": "Middle of the tank, from the rear axle",
    "fuel.level": "Fuel asked for",
    "ride_heights": "Ride heights", "ride_heights.kind": "Ride heights are measured",
    "ride_heights.front": "Front ride height", "ride_heights.rear": "Rear ride height",
    "axle_loads": "Axle loads", "axle_loads.front": "Front axle load", "axle_loads.rear": "Rear axle load",
    "springs": "Spring rates", "springs.front": "Front spring rate", "springs.rear": "Rear spring rate",
    "self_levelling": "Self-levelling", "marks.front": "Front centre mark, from the rear axle",
    "marks.rear": "Rear centre mark, from the rear axle", "refers_to": "Directions count from",
}  # fmt: skip
KINDS = {
    "sensors": "Sensor", "targets": "Target", "zones": "Zone", "results": "Result", "load.carried": "Carried",
    "load.stations": "Place",
}  # fmt: skip
"""Lists whose entries have a name."""
NOTHING = "not given"


@dataclass(frozen=True, slots=True)
class Told:
    """One difference: which field, in words, and both sides of it as texts."""

    key: str
    words: str
    was: str
    now: str


def name_of(key: str) -> str:
    """What a field is called in a sentence: 'Front tyre pressure', 'Target reflector, tape, front mark'."""
    if key in NAMES:
        return NAMES[key]
    for start, word in KINDS.items():
        if key.startswith(f"{start}."):
            rest = key.removeprefix(f"{start}.").split(".")
            return ", ".join([f"{word} {rest[0]}", *(_word(r) for r in rest[1:])])
    return capital(", ".join(map(_word, key.removeprefix("limits.").split("."))))


def _word(step: str) -> str:
    return step.replace("_", " ")


def changed(key: str, was: str, now: str) -> Told:
    return Told(key, f"{name_of(key)}: {now}, was {was}", was, now)


def same_number(a: float, b: float) -> bool:
    return isclose(a, b, rel_tol=SAME, abs_tol=SAME)


def apart(a: float, b: float, unit: str, system: System) -> tuple[str, str]:
    """Two quantities that differ, as the shop reads them, with as many digits as it takes to see it."""
    shown = [tuple(units.show(v, unit, system, digits=d) for v in (a, b)) for d in (None, *range(1, 13))]
    found = next((pair for pair in shown if pair[0] != pair[1]), shown[-1])
    return found[0], found[1]


def amount(length: float, system: System) -> str:
    """A length that is more than zero, with as many digits as it takes to see it."""
    return apart(abs(length), 0.0, "m", system)[0]


# --- which way something moved -------------------------------------------------------------------

Vector = tuple[float, float, float]


def vector(a: Point | Place, b: Point | Place) -> Vector:
    """From a to b; what is no more than rounding is zero."""
    deltas = (b.x - a.x, b.y - a.y, getattr(b, "z", 0.0) - getattr(a, "z", 0.0))
    x, y, z = (0.0 if abs(d) <= SAME else d for d in deltas)
    return x, y, z


def move(a: Point | Place, b: Point | Place, system: System) -> str:
    """'0.12 m forward and 0.05 m outward'; empty for the same place."""
    x, y, z = vector(a, b)
    words = [
        f"{amount(d, system)} {way[d < 0]}"
        for d, way in ((x, ("forward", "back")), (y, ("left", "right")), (z, ("up", "down")))
        if d
    ]
    beside = min(abs(a.y), abs(b.y)) > MIDDLE and a.y * b.y > 0
    if y and beside:
        out = abs(b.y) > abs(a.y)
        words[1 if x else 0] = f"{amount(y, system)} {'outward' if out else 'inward'}"
    return listed(words)


def listed(words: Sequence[str]) -> str:
    return " and ".join(filter(None, [", ".join(words[:-1]), *words[-1:]]))


def place_words(at: Point | Place, system: System) -> str:
    values = [at.x, at.y, *([at.z] if isinstance(at, Place) else ())]
    return ", ".join(units.show(v, "m", system) for v in values)


def moved(key: str, a: Point | Place, b: Point | Place, system: System, more: str = "") -> list[Told]:
    how = move(a, b, system)
    if not how:
        return []
    return [Told(key, f"{name_of(key)} moved {how}{more}", place_words(a, system), place_words(b, system))]

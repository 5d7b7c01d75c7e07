"""The car in plan, in its own axes: where the wheels stand, its outline, the feet of the targets."""

from __future__ import annotations

from collections.abc import Sequence

from readiness.checks.kind import Part, Scene
from readiness.checks.picture import XY, Outline, Picture, Spot
from readiness.job import WHEELS, Place, Point, Sheet

LYING = 0
"""The number of a target that lies on the floor and has no feet."""


def wheel_places(sheet: Sheet) -> dict[str, XY]:
    """x and y in m of the four wheel contacts, in walking order."""
    d = sheet.dimensions
    x = {"f": d.wheelbase, "r": 0.0}
    half = {"f": d.track_front / 2, "r": d.track_rear / 2}
    return {w: (x[w[1]], half[w[1]] if w[0] == "l" else -half[w[1]]) for w in WHEELS}


def foot_places(sheet: Sheet, sides: tuple[str, ...]) -> dict[str, XY]:
    """x and y in m of every target foot, named '<target>.<n>'; those of the right 'right.<target>.<n>'.

    A sheet draws the left side (or the only one); the right is its mirror image. A target without
    feet, such as a mat, lies at its own place and has the number LYING.
    """
    feet: dict[str, XY] = {}
    for side in sides:
        prefix, mirror = ("right.", -1.0) if side == "right" else ("", 1.0)
        for target in sheet.targets:
            standing: dict[int, Point | Place] = dict(enumerate(target.feet, 1)) or {LYING: target.at}
            for n, foot in standing.items():
                feet[f"{prefix}{target.id}.{n}"] = (foot.x, mirror * foot.y)
    return feet


def wheel_numbers(scene: Scene, parts: Sequence[Part], what: str, unit: str) -> Picture:
    """The car from above with the number of the part '<what>.<wheel>' at each wheel; one that fails is marked."""
    by_key = {p.key: p for p in parts}
    spots = []
    for wheel, at in wheel_places(scene.sheet).items():
        part = by_key[f"{what}.{wheel}"]
        label = scene.show(part.value, unit) if isinstance(part.value, float) else "?"
        spots.append(Spot("wheel", at, label, part.outcome == "fail"))
    return (car_outline(scene.sheet), *spots)


def car_outline(sheet: Sheet) -> Outline:
    """The body from above; the corners of the nose are cut off, so that one sees which end is which."""
    d = sheet.dimensions
    front, side = d.wheelbase + d.front_overhang, d.width / 2
    rear = front - d.length
    cut = min(0.25 * d.width, 0.5 * d.front_overhang)
    nose = ((front, side - cut), (front - cut, side))
    right = tuple((x, -y) for x, y in reversed(nose))
    return Outline("car", (*nose, (rear, side), (rear, -side), *right))

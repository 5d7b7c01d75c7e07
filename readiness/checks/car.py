"""The car in plan, in its own axes: where the wheels stand, its outline, the feet of the targets."""

from __future__ import annotations

from readiness.checks.picture import XY, Outline
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


def car_outline(sheet: Sheet) -> Outline:
    """The body from above; the corners of the nose are cut off, so that one sees which end is which."""
    d = sheet.dimensions
    front, side = d.wheelbase + d.front_overhang, d.width / 2
    rear = front - d.length
    cut = min(0.25 * d.width, 0.5 * d.front_overhang)
    nose = ((front, side - cut), (front - cut, side))
    right = tuple((x, -y) for x, y in reversed(nose))
    return Outline("car", (*nose, (rear, side), (rear, -side), *right))

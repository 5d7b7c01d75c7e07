"""Where a car stands in a bay, and how far from another place, in words."""

from __future__ import annotations

import math

from readiness import units
from readiness.checklist.measured import marks_of
from readiness.checks.kind import Scene
from readiness.checks.picture import XY
from readiness.checks.place import Where, in_car
from readiness.job import Bay, Standing, System

TELLS = 2.0
"""Standard uncertainties by which two places differ before one says so."""
ROUND = 150.0
"""Degrees; turned by more, a car stands the other way round."""


def stands(bay: Bay, standing: Standing, system: System) -> str:
    """'middle of the rear axle 2.3 m from corner 1 and 3.1 m from corner 4, nose towards corners 2 and 3'."""
    places = marks_of(bay)
    if len(bay.marks) > 1:
        places = {m.name: places[m.name] for m in bay.marks}
    at = (standing.x, standing.y)
    near = sorted(places, key=lambda name: math.dist(places[name], at))[:2]
    tapes = " and ".join(
        f"{units.show(round(math.dist(places[n], at), 2), 'm', system)} from {n}" for n in near
    )
    return f"middle of the rear axle {tapes}, nose {_towards(bay, standing)}"


def _towards(bay: Bay, standing: Standing) -> str:
    """What the nose points to: the side of the outline that one meets first straight ahead."""
    corners = [in_car(standing, (p.x, p.y)) for p in bay.outline]
    ahead = []
    for k, (a, b) in enumerate(zip(corners, [*corners[1:], corners[0]], strict=True), 1):
        x = _crosses(a, b)
        if x is not None and x > 0:
            ahead.append((x, k, k % len(corners) + 1))
    if not ahead:
        return f"{standing.heading:g}° round from the x of the bay's plan"
    _, one, other = min(ahead)
    return f"towards the side from corner {one} to corner {other}"


def _crosses(a: XY, b: XY) -> float | None:
    """Where the line from a to b crosses the car's centre line, in m ahead of the rear axle."""
    if (a[1] > 0) == (b[1] > 0):
        return None
    return a[0] + (b[0] - a[0]) * a[1] / (a[1] - b[1])


def deviation(scene: Scene, found: Where, other: Standing, what: str) -> str:
    """How far the car is off another place, and how it is turned against it; empty where that cannot be told."""
    x, y = in_car(other, (found.standing.x, found.standing.y))
    turn = (found.standing.heading - other.heading + 180.0) % 360.0 - 180.0
    moves = [
        f"{scene.show(round(abs(by), 2), 'm')} {words[by < 0]}"
        for by, words in ((x, ("forward", "backward")), (y, ("to the left", "to the right")))
        if abs(by) > TELLS * found.u and round(abs(by), 2)
    ]
    turned = ""
    if abs(turn) > ROUND:
        turned = "turned the other way round"
    elif abs(turn) > TELLS * found.u_heading and round(abs(turn), 1):
        turned = (
            f"nose turned {scene.show(round(abs(turn), 1), 'deg')} to the {'left' if turn > 0 else 'right'}"
        )
    if not moves and not turned:
        return ""
    return f"From {what}: {', '.join([*moves, *([turned] if turned else [])])}."

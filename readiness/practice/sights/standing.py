"""Where the car stands: on the bay's marks, or wherever four tapes put it."""

from __future__ import annotations

import math
from itertools import combinations

from readiness.checklist.measured import marks_of
from readiness.checks.place import in_bay
from readiness.checks.taped_place import WHEELS_OF, foot_of, mark_keys
from readiness.job import Standing
from readiness.practice.sights.spot import Found, Quantity, Spot, State
from readiness.practice.world import XY, World

PLAN = {"plan.x": ("x", "m"), "plan.y": ("y", "m"), "plan.heading": ("heading", "deg")}


def see(spot: Spot) -> Found:
    key, *rest = spot.parts
    if key == "where":
        return _where(spot)
    if key == "plan":
        field, unit = PLAN[spot.key]
        return Quantity(
            getattr(spot.world.bay.standing, field), unit, eye=0.001, step=0.001, words="The chalk says {}."
        )
    if key == "tape":
        mark = marks_of(spot.world.bay)[mark_keys(spot.world.bay)[rest[0]]]
        return Quantity(math.dist(mark, wheel_in_bay(spot.world, rest[1])), "m", "distance")
    return _ways(spot)


def _where(spot: Spot) -> State:
    """Chalk is drawn only where a place was worked out, and here none was."""
    by = spot.world.standing, spot.world.bay.standing
    if spot.world.on_marks:
        return State("You go round and look: all four tyres stand on the bay's own marks.", "marks")
    off = math.dist((by[0].x, by[0].y), (by[1].x, by[1].y))
    return State(f"You go round and look: the tyres stand about {off:.1f} m from the bay's marks.", "tape")


def _ways(spot: Spot) -> State:
    one, other, wheels = best_marks(spot.world)
    line = {"mark.1": one, "mark.2": other, "wheels": wheels, "line": side_of(spot)}
    words = {
        "mark.1": f"A tape can be hooked on here: {one}.",
        "mark.2": f"A second tape can be hooked on here: {other}.",
        "wheels": f"From there one reaches the {wheels}{'-hand' if wheels in ('left', 'right') else ''} wheels.",
        "line": f"Looking from {one} to {other} the wheels lie on the {side_of(spot)}.",
    }
    return State(words[spot.key], line[spot.key])


def wheel_in_bay(world: World, wheel: str) -> XY:
    """The floor beside a tyre under its hub, in bay axes."""
    return in_bay(world.standing, foot_of(world.sheet, wheel))


def best_marks(world: World) -> tuple[str, str, str]:
    """Two marks and two wheels between which the tapes cross most squarely, as one would choose by eye."""
    marks = marks_of(world.bay)
    ways = [(a, b, w) for a, b in combinations(marks, 2) for w in WHEELS_OF]
    return max(ways, key=lambda way: _squareness(world, way))


def _squareness(world: World, way: tuple[str, str, str]) -> float:
    """The sine of the flattest angle at which two tapes meet."""
    marks = marks_of(world.bay)
    a, b = marks[way[0]], marks[way[1]]
    return round(min(sine(a, b, wheel_in_bay(world, w)) for w in WHEELS_OF[way[2]]), 6)


def sine(a: XY, b: XY, at: XY) -> float:
    """Of the angle under which two places are seen from a third; 0 where it is one of them."""
    (ax, ay), (bx, by) = ((p[0] - at[0], p[1] - at[1]) for p in (a, b))
    size = math.hypot(ax, ay) * math.hypot(bx, by)
    return abs(ax * by - ay * bx) / size if size else 0.0


def side_of(spot: Spot) -> str:
    """Where the wheels lie, looking from the first mark to the second."""
    world = spot.world
    one, other, wheels = best_marks(world)
    marks = marks_of(world.bay)
    a, b = marks[spot.word("mark.1", one)], marks[spot.word("mark.2", other)]
    two = [wheel_in_bay(world, w) for w in WHEELS_OF[spot.word("wheels", wheels)]]
    at = (sum(p[0] for p in two) / 2, sum(p[1] for p in two) / 2)
    return "left" if (b[0] - a[0]) * (at[1] - a[1]) - (b[1] - a[1]) * (at[0] - a[0]) > 0 else "right"


def moved(standing: Standing, ahead: float, left: float) -> Standing:
    """A car that stands so many m farther ahead and to its left."""
    x, y = in_bay(standing, (ahead, left))
    return Standing(x=x, y=y, heading=standing.heading)

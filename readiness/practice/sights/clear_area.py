"""About the car: own kit, other things, and who can walk in."""

from __future__ import annotations

import math
from itertools import combinations

from readiness.checklist.measured import marks_of
from readiness.checks.place import in_bay, in_car
from readiness.checks.taped_place import foot_of
from readiness.job import WHEELS
from readiness.practice.sights.spot import Found, Quantity, Spot, State
from readiness.practice.sights.standing import sine
from readiness.practice.world import XY, Thing, World

WAYS = {
    "car": "You reach it best by tape from the car: along it and across it.",
    "tapes": "Two tapes from two wheels reach its middle straight along the floor.",
    "bay": "It stands square to the walls: a tape from a corner of the bay tells most.",
}


AWAY = (
    "behind the office door", "in the store room", "at the wall of the next bay", "out in the yard", "under the stairs",
)  # fmt: skip


def see(spot: Spot) -> Found:
    key, *rest = spot.parts
    if key == "nobody":
        return spot.state("A chain hangs across, and your colleague keeps an eye on it.")
    if key == "moved":
        return State("It stands where the bay's plan has it.", "no")
    if key == "kit":
        n = int(rest[0])
        thing = spot.world.kit.get(n)
        return _is_near(spot, n, thing) if len(rest) == 1 else _detail(spot, thing, rest[1:])
    if not rest:
        return _another(spot, 0)
    n = int(rest[0])
    if rest[1] == "more":
        return _another(spot, n)
    return _detail(spot, spot.world.others[n - 1] if n <= len(spot.world.others) else None, rest[1:])


def _is_near(spot: Spot, n: int, thing: Thing | None) -> State:
    name = next(c for c in spot.world.checklist.walk() if c.kind == "clear_area").limits.kit[n - 1].name
    if thing is None and "battery" in name:  # it has to run, so it is in no store room
        return State(f"The {name} stands well away, its long leads along the wall.", "out")
    if thing is None:
        return State(f"The {name} is out of the way, {spot.world.chance(spot.key).choice(AWAY)}.", "out")
    return State(f"The {name} is near: {roughly(spot.world, thing.at)}.", "near")


def _another(spot: Spot, seen: int) -> State:
    left = spot.world.others[seen:]
    if left:
        return State(f"Walking round you find: {left[0].name}, {roughly(spot.world, left[0].at)}.", "yes")
    return State(
        f"Walking round you find nothing {'else ' if seen else ''}that the bay's plan does not have.", "no"
    )


def _detail(spot: Spot, thing: Thing | None, rest: list[str]) -> Found:
    """A length of a thing's place, or what else is asked of it."""
    if thing is None:
        return State("There is no such thing here.", "")
    what = rest[-1]
    if what == "name":
        return State(f"It is: {thing.name}.", thing.name, thing.name)
    if what == "metal":
        known = {
            "yes": "A magnet sticks to it.",
            "no": "It is plastic through and through.",
            "unknown": "Nobody can say.",
        }
        return State(known[thing.metal], thing.metal)
    if what in ("radius", "height"):
        return Quantity(
            getattr(thing, what), "m", eye=0.01, step=0.05, words="By eye and hand it is about {}."
        )
    if what == "way":
        return State(WAYS[thing.way], thing.way)
    return _place(spot, thing, what)


def _place(spot: Spot, thing: Thing, what: str) -> Found:
    stem = spot.key.removesuffix(f".{what}")
    if what in ("x", "y"):
        return Quantity(thing.at["xy".index(what)], "m", "distance")
    if what in ("along", "across", "from"):
        nearest = min(marks_of(spot.world.bay), key=lambda m: math.dist(known(spot.world)[m], thing.at))
        start = spot.word(f"{stem}.from", nearest)
        if what == "from":
            return State(f"The nearest corner or mark is {nearest}.", nearest)
        at, mark = in_bay(spot.world.standing, thing.at), marks_of(spot.world.bay)[start]
        k = ("along", "across").index(what)
        return Quantity(at[k] - mark[k], "m", "distance")
    one, other = two_wheels(spot.world, thing.at)
    ends = spot.word(f"{stem}.from1", one), spot.word(f"{stem}.from2", other)
    if what == "side":
        side = _side(known(spot.world)[ends[0]], known(spot.world)[ends[1]], thing.at)
        return State(f"Looking from the one place to the other it stands on the {side}.", side)
    n = int(what[-1]) - 1
    if what.startswith("from"):
        return State(f"The floor beside this tyre is in sight of it: {ends[n].upper()}.", ends[n])
    return Quantity(math.dist(known(spot.world)[ends[n]], thing.at), "m", "distance")


def known(world: World) -> dict[str, XY]:
    """Everything that a tape can be held to, in car axes, m, as it really is."""
    marks = world.sheet.marks
    return {
        **{w: foot_of(world.sheet, w) for w in WHEELS},
        "front mark": (marks.front, world.marks[0] / 1000.0),
        "rear mark": (marks.rear, world.marks[1] / 1000.0),
        **{name: in_car(world.standing, at) for name, at in marks_of(world.bay).items()},
    }


def two_wheels(world: World, at: XY) -> tuple[str, str]:
    """From which two wheels the tapes meet most squarely there."""
    feet = {w: foot_of(world.sheet, w) for w in WHEELS}
    return max(combinations(WHEELS, 2), key=lambda pair: round(sine(feet[pair[0]], feet[pair[1]], at), 6))


def roughly(world: World, at: XY) -> str:
    """Where a thing stands as one paces it off: 'about 2 m behind the car, on the left'."""
    d = world.sheet.dimensions
    front = d.wheelbase + d.front_overhang
    side = "left" if at[1] > 0 else "right"
    if at[0] < front - d.length:
        return f"about {max(front - d.length - at[0], 0.5):.0f} m behind the car, on its {side}"
    if at[0] > front:
        return f"about {max(at[0] - front, 0.5):.0f} m ahead of the car, on its {side}"
    return f"beside the car, on its {side}"


def _side(a: XY, b: XY, at: XY) -> str:
    return "left" if (b[0] - a[0]) * (at[1] - a[1]) - (b[1] - a[1]) * (at[0] - a[0]) > 0 else "right"

"""In the car: the fuel gauge, what the procedure counts as carried, and what else lies there."""

from __future__ import annotations

from readiness.checks.load import GAUGE_A, GUESSED_A
from readiness.practice.sights.spot import Found, Quantity, Spot, State

SIXTEENTH = 1 / 16


def see(spot: Spot) -> Found:
    key, *rest = spot.parts
    if key == "fuel":
        return Quantity(
            spot.world.fuel, "fraction", eye=GAUGE_A / 2, step=SIXTEENTH, words="The fuel gauge shows {}."
        )
    if key == "carried":
        return _carried(spot, int(rest[0]) - 1)
    if not rest:
        return _anything(spot, 0)
    n = int(rest[0]) - 1
    return _anything(spot, n + 1) if rest[1] == "more" else _extra(spot, n, rest[1])


def _carried(spot: Spot, n: int) -> State:
    thing = spot.world.sheet.load.carried[n]
    if spot.world.carried[n]:
        return State(f"The {thing.name}: in its place, strapped down.", "yes")
    return State(f"Where the {thing.name} belongs there is an empty place with dust in it.", "no")


def _anything(spot: Spot, seen: int) -> State:
    left = spot.world.extras[seen:]
    if left:
        return State(
            f"Looking into the boot, under the seats and on the roof you find: {left[0].name}.", "yes"
        )
    more = "else " if seen else ""
    return State(f"Boot, seats, glove box and roof: you find nothing {more}that does not belong there.", "no")


def _extra(spot: Spot, n: int, what: str) -> Found:
    if n >= len(spot.world.extras):
        return State("There is no such thing in the car.", "")
    extra = spot.world.extras[n]
    if what == "mass":
        return Quantity(
            extra.mass, "kg", "mass", eye=GUESSED_A * 0.6, step=1.0, words="By hand it weighs about {}."
        )
    if what == "station":
        return State(f"It lies here: {extra.station}.", extra.station)
    return State(f"It is: {extra.name}.", extra.name, extra.name)

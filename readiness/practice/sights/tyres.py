"""At the tyres: how the car came here, sizes, temperatures, pressures, tread."""

from __future__ import annotations

from readiness.job import WHEEL_NAMES, WHEELS
from readiness.practice.sights.spot import Found, Quantity, Spot, State

CAME = {
    "stood": "The keys have hung on the board since last night, and the tyres feel as cold as the floor.",
    "road": "The owner drove in a few minutes ago; the tyres are warm to the hand.",
}


def see(spot: Spot) -> Found:
    key, *rest = spot.parts
    if key == "parked":
        return State(CAME[spot.world.parked], spot.world.parked)
    if key == "sizes":
        return _sizes(spot)
    tyre = spot.world.tyres[rest[0]]
    if key == "size":
        return State(f"On the side wall it says {tyre.size}.", tyre.size, tyre.size)
    if key == "temperature":
        return Quantity(tyre.temperature, "degC", "temperature")
    if key == "pressure":
        return Quantity(spot.world.gauge(rest[0]), "kPa", "pressure")
    return Quantity(tyre.tread, "mm", "depth")


def _sizes(spot: Spot) -> State:
    """What stands on all four, and on the placard: comparing them is the person's part."""
    size = spot.world.sheet.placard.size
    asked = {w: size.front if w.endswith("f") else size.rear for w in WHEELS}
    fitted = {w: spot.world.tyres[w].size for w in WHEELS}
    by_wheel = ", ".join(f"{WHEEL_NAMES[w]} {fitted[w]}" for w in WHEELS)
    words = (
        f"On the side walls: {by_wheel}."
        if len(set(fitted.values())) > 1
        else f"All four say {fitted['lf']}."
    )
    return State(words, "yes" if fitted == asked else "no")

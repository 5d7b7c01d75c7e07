"""Single readings, light, and what belongs to the whole visit: air and barometer."""

from __future__ import annotations

from readiness import units
from readiness.practice.sights.spot import Found, Quantity, Spot

STATION_A = 0.1
"""kPa; how far the station on the wall may be off."""


def readings(spot: Spot) -> Found:
    item = next(i for i in spot.world.check(spot.check).limits.items if i.key == spot.key)
    return Quantity(spot.world.numbers[spot.place], units.MEASURES[item.measures], item.measures)


def light(spot: Spot) -> Found:
    if spot.key == "sun":
        return spot.state(
            "Blinds are down and the door is shut; on the floor and round the target there is lamp light only.",
            "no",
            "yes",
        )
    if spot.key == "flicker":
        return spot.state("On the phone's screen the picture of the lamps stands still.", "no", "yes")
    return Quantity(spot.world.light[spot.place], "lx", "illuminance")


def air(spot: Spot) -> Found:
    return Quantity(spot.world.air, "degC", "temperature")


def barometer(spot: Spot) -> Found:
    return Quantity(
        spot.world.atmosphere,
        "kPa",
        eye=STATION_A,
        step=0.1,
        words="The barometer on the office wall shows {} for here.",
    )


def aim(spot: Spot) -> Found:
    """The thrust angle of the alignment print, for a sheet that asks for it."""
    return Quantity(0.0, "deg", "angle")

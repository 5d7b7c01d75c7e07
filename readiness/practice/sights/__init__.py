"""What there is to see at every question that the checklists ask, one function a kind of check."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from readiness.checks.kind import SHARED, Place
from readiness.practice.sights import (
    clear_area,
    floor,
    load,
    readings,
    round_the_car,
    standing,
    states,
    tyres,
)
from readiness.practice.sights.spot import Found, Quantity, Said, Spot, State
from readiness.practice.world import World

__all__ = ["Found", "Quantity", "Said", "Spot", "State", "found"]

BY_KIND: Mapping[str, Callable[[Spot], Found]] = {
    "procedure": states.procedure,
    "standing": standing.see,
    "tyres": tyres.see,
    "load": load.see,
    "stance": round_the_car.stance,
    "centre_marks": round_the_car.centre_marks,
    "floor": floor.see,
    "light": readings.light,
    "readings": readings.readings,
    "states": states.states,
    "clear_area": clear_area.see,
}
SHARED_BY_KEY: Mapping[str, Callable[[Spot], Found]] = {
    "air": readings.air,
    "barometer": readings.barometer,
    "thrust": readings.aim,
}
"""Answers that every check may use; what is not named here is asked by the clear area."""


def found(world: World, place: Place, said: Said | None = None) -> Found:
    """What there is to see at a question. Raises KeyError for one that nothing of this car asks."""
    check, side, key = place
    spot = Spot(world, check, side, key, said or {})
    if check == SHARED:
        return SHARED_BY_KEY.get(key, clear_area.see)(spot)
    return BY_KIND[world.check(check).kind](spot)

"""On the floor: whether the survey still holds, staff readings, and a level laid from place to place."""

from __future__ import annotations

import math

from readiness.checks.car import foot_places, wheel_places
from readiness.practice.sights.spot import Found, Quantity, Spot, State

BEAM = 1400.0
"""mm over the floor's middle height at which the laser turns: the staff reads so much less what the floor rises."""
UNALTERED = "You walk the bay: the chalk of the survey is still there, and no drain, crack or coating is newer than it."


def see(spot: Spot) -> Found:
    key, _, rest = spot.key.partition(".")
    if key == "source":
        return _source(spot)
    if key == "survey_holds":
        return spot.state(UNALTERED)
    if key == "staff":
        return Quantity(BEAM - spot.world.floor[rest], "mm", "height")
    if key == "packed":
        return Quantity(0.0, "mm", eye=0.1, step=0.5, words="Nothing lies under this foot: {}.")
    return Quantity(slope(spot, *rest.rpartition(".")[::2]), "mm/m", "slope")


def _source(spot: Spot) -> State:
    """A survey that holds serves; without one the level, which tells slopes finest; else whatever hangs nearer."""
    survey, tools = spot.world.bay.survey, "Laser with staff and the levels hang on the wall."
    if survey is None:
        return State(f"This bay was never surveyed. {tools}", "level")
    measured = spot.world.chance("floor source").choice(("laser", "level"))
    words = f"The bay's file has a survey of its floor. {tools}"
    return State(words, measured if (spot.check, "", "survey_holds") in spot.world.wrong else "survey")


def slope(spot: Spot, run: str, way: str) -> float:
    """mm/m from the first place up to the second; turned end for end a level that is right shows it with the other sign."""
    a, b = run.split("-", 1)
    at = {**wheel_places(spot.world.sheet), **foot_places(spot.world.sheet, spot.world.sides)}
    rise = (spot.world.floor[b] - spot.world.floor[a]) / math.dist(at[a], at[b])
    return rise if way == "1" else -rise

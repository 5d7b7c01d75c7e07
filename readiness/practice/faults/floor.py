"""On the floor."""

from __future__ import annotations

import random
from dataclasses import replace

from msgspec.structs import replace as changed

from readiness.checks.car import foot_places, wheel_places
from readiness.checks.floor.heights import place_name
from readiness.job import WHEEL_NAMES
from readiness.practice.faults.fault import Fault, Planted, seen_wrong
from readiness.practice.world import World

HOLDS = ("floor", "", "survey_holds")
TILT, ZERO = 8.8, -1.65
"""mm/m: how much the floor falls to one side, and what the level shows on a surface that is level."""

ONE_WAY_OUT = ("dunlin-surround", "godwit-camera", "pipit-front")
"""Where no foot of a target stands so far aside that a level read one way gives itself away there."""


def _drain(world: World, chance: random.Random, side: str) -> Planted:
    feet = list(foot_places(world.sheet, world.sides))
    foot = chance.choice(feet)
    floor = {**world.floor, foot: world.floor[foot] - chance.uniform(20.0, 26.0)}
    name = place_name(foot)
    sees = f"You walk the bay: where this stands, {name}, a drain was cut since, and its grate lies a finger's width low."
    return Planted(seen_wrong(replace(world, floor=floor), HOLDS, sees), ("survey_holds",), {"foot": name})


def _slab(world: World, chance: random.Random, side: str) -> Planted:
    wheel = chance.choice(("rr", "rf", "lr"))
    floor = {**world.floor, wheel: world.floor[wheel] - chance.uniform(15.0, 19.0)}
    sees = f"You walk the bay: under the {WHEEL_NAMES[wheel]} wheel the concrete has broken since, and the tyre sits in it."
    return Planted(
        seen_wrong(replace(world, floor=floor), HOLDS, sees), ("survey_holds",), {"wheel": WHEEL_NAMES[wheel]}
    )


def _zero(world: World, chance: random.Random, side: str) -> Planted:
    """A floor just too steep, and a level whose error hides it unless it is turned."""
    places = {**wheel_places(world.sheet), **foot_places(world.sheet, world.sides)}
    d = world.sheet.dimensions
    rise = world.floor["lf"] - world.floor["rf"] + world.floor["lr"] - world.floor["rr"]
    across = rise / (d.track_front + d.track_rear)
    floor = {p: h + (TILT - across) * places[p][1] for p, h in world.floor.items()}
    tools = {
        id: replace(t, off=ZERO / 0.5) if t.instrument.measures == "slope" else t
        for id, t in world.tools.items()
    }
    bay = changed(world.bay, survey=None)
    return Planted(
        replace(world, floor=floor, tools=tools, bay=bay), ("source", "run.rf-lf.1", "run.rr-lr.1")
    )


FAULTS = (
    Fault(
        "drain-under-foot", "Drain under the target's foot", "floor",
        "A new drain lay where the stand goes ({foot}), lower than the floor by more than is allowed.",
        "A foot that stands low tips the target or sets it too low, while the car stands as before.",
        _drain, "not_looked", 2, also=("aim",),
    ),
    Fault(
        "broken-slab", "Slab broken under a wheel", "floor",
        "The floor under the {wheel} wheel had broken away since the survey.",
        "A wheel in a hollow twists the car, and the survey knows nothing of it.",
        _slab, "not_looked", 2, also=("aim",),
    ),
    Fault(
        "level-zero", "Level with a zero error", "floor",
        "The floor fell to one side by more than allowed, and the level's zero error hid it.",
        "Read both ways round, a level gives away its own error; read one way, it keeps it.",
        _zero, "one_way", 3, ONE_WAY_OUT,
    ),
)  # fmt: skip

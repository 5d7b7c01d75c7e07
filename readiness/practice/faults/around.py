"""About the car: what stands in the way, and where the car stands."""

from __future__ import annotations

import random
from dataclasses import replace

from readiness.checks.clear_area.zones import keeps_out, zones_of
from readiness.checks.kind import SHARED
from readiness.measure.plan import BoxAt, DiscAt, signed_clearance
from readiness.practice.faults.fault import Fault, Plant, Planted, at, seen_wrong
from readiness.practice.ground import ground
from readiness.practice.sights.standing import moved
from readiness.practice.sound import floor_under
from readiness.practice.world import XY, Thing, World

OFF = {"dunlin-surround": 0.7, "godwit-camera": 1.05, "pipit-front": 1.05, "tern-rear-corner": -1.05}
"""m ahead of the marks at which a zone of the sheet reaches what the bay has."""
DEEP = 0.35
"""m; a thing so far in a zone is in it, however it is measured."""


def _kit(n: int) -> Plant:
    """Plants a piece of own kit in a zone that keeps it out."""

    def plant(world: World, chance: random.Random, side: str) -> Planted:
        piece = next(c for c in world.checklist.walk() if c.kind == "clear_area").limits.kit[n - 1]
        there = in_a_zone(world, piece.metal, piece.people, piece.radius, piece.height, chance, side)
        thing = Thing(
            piece.name, there, piece.radius, piece.height, piece.metal, chance.choice(("car", "tapes", "bay"))
        )
        return Planted(replace(world, kit={**world.kit, n: thing}), (f"kit.{n}",))

    return plant


def _jack(world: World, chance: random.Random, side: str) -> Planted:
    there = in_a_zone(world, "yes", False, 0.2, 0.2, chance, side)
    return Planted(replace(world, others=(Thing("a trolley jack", there, 0.2, 0.2, "yes"),)), ("other",))


def in_a_zone(
    world: World, metal: str, people: bool, radius: float, height: float, chance: random.Random, side: str
) -> XY:
    """A place well inside a zone that keeps such a thing out, not under the car."""
    zones = [
        shape
        for zone, shape in zones_of(world.sheet.zones, side)
        if keeps_out(zone, metal, people) and (zone.height is None or zone.height.low < height)
    ]
    d = world.sheet.dimensions
    front = d.wheelbase + d.front_overhang
    body = BoxAt(front - d.length, -d.width / 2, front, d.width / 2)
    for _ in range(4000):
        there = round(chance.uniform(-4.0, 8.0), 2), round(chance.uniform(-3.5, 3.5), 2)
        thing = DiscAt(*there, radius)
        if min(signed_clearance(z, thing) for z in zones) < -DEEP and signed_clearance(body, thing) > 0.3:
            return there
    raise ValueError("no zone of this sheet has room for such a thing")


def _open(world: World, chance: random.Random, side: str) -> Planted:
    zone = next(z for z in world.sheet.zones if z.reason == "people-free")
    sees = "Nothing hangs across, and the way to the wash room leads right through."
    return Planted(seen_wrong(world, (SHARED, "", f"nobody.{zone.id}"), sees), (f"nobody.{zone.id}",))


def _off_marks(world: World, chance: random.Random, side: str) -> Planted:
    on = ground(world.sheet.sheet)
    standing = moved(world.bay.standing, OFF[world.sheet.sheet], chance.uniform(-0.05, 0.05))
    floor = floor_under(on, on.bay, world.sides, standing, chance)
    bare = replace(world, standing=standing, on_marks=False, floor=floor, kit={}, others=())
    return Planted(bare, ("where",))


FAULTS = (
    Fault(
        "trolley-in-zone", "Own tool trolley in the area", "clear_area",
        "Your own tool trolley stood in an area that has to be clear.",
        "A sensor cannot tell a steel trolley from its target, and you no longer see what is always there.",
        _kit(1), "own_kit", 1,
    ),
    Fault(
        "laptop-stand-in-zone", "Own laptop stand in the area", "clear_area",
        "Your own laptop stand stood in an area that has to be clear.",
        "It echoes or hides the target like anything else, and it brings you into the area too.",
        _kit(2), "own_kit", 1,
    ),
    Fault(
        "forgotten-jack", "Jack left in the area", "clear_area",
        "A trolley jack that the bay's plan does not know lay in an area that has to be clear.",
        "Flat steel echoes too, and nobody looks down for it.",
        _jack, "not_looked", 1,
    ),
    Fault(
        "open-view", "View not roped off", "clear_area",
        "Nothing kept people out of the camera's view.",
        "Whoever walks through the picture spoils it, and may stumble over the stand.",
        _open, "not_looked", 1, ("godwit-camera",),
    ),
    Fault(
        "off-the-marks", "Car not on its marks", "clear_area",
        "The car stood a good step off its marks, and an area reached what the bay's plan has there.",
        "What is clear from the marks need not be clear from anywhere else.",
        _off_marks, "not_looked", 3,
    ),
    Fault(
        "door-ajar", "Door ajar", "closed",
        "A rear door hung on its first catch.",
        "A door that is not shut can stop the routine, and wakes what should be asleep.",
        at("closed", "doors", "The left rear door stands out by the width of a pencil: it hangs on its first catch."),
        "not_looked", 1,
    ),
    Fault(
        "helper-inside", "Somebody in the car", "closed",
        "A colleague sat in the car with the tester.",
        "A person on a seat presses that corner down by a finger's width.",
        at("closed", "empty", "On the back seat sits the apprentice with the tester on his knees."),
        "not_looked", 1,
    ),
    Fault(
        "steering-turned", "Steering not straight", "closed",
        "The steering wheel stood a little to the left.",
        "Turned wheels move the body sideways, and some systems take the steering angle into account.",
        at("closed", "steering", "The rim of the steering wheel stands a hand's width off level, and the front wheels point left."),
        "not_looked", 1,
    ),
)  # fmt: skip

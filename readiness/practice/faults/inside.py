"""In the car: fuel and load."""

from __future__ import annotations

import random
from dataclasses import replace

from readiness.practice.faults.fault import Fault, Plant, Planted
from readiness.practice.world import Extra, World


def _empty(world: World, chance: random.Random, side: str) -> Planted:
    return Planted(replace(world, fuel=chance.uniform(0.14, 0.24)), ("fuel",))


def _spare(world: World, chance: random.Random, side: str) -> Planted:
    n = next(n for n, thing in enumerate(world.sheet.load.carried) if "spare" in thing.name)
    carried = tuple(there and k != n for k, there in enumerate(world.carried))
    fuel = world.sheet.fuel.level - chance.uniform(0.04, 0.07)
    return Planted(replace(world, carried=carried, fuel=fuel, extras=()), (f"carried.{n + 1}",))


def _thing(name: str, least: float, most: float, *, at_front: bool) -> Plant:
    """Plants a heavy thing at the foremost or the rearmost station."""

    def plant(world: World, chance: random.Random, side: str) -> Planted:
        stations = sorted(world.sheet.load.stations, key=lambda s: s.x)
        station = stations[-1] if at_front else stations[0]
        extra = Extra(name, round(chance.uniform(least, most), 1), station.name, station.x)
        return Planted(replace(world, extras=(extra,)), ("extra",))

    return plant


FAULTS = (
    Fault(
        "half-tank", "Tank far from full", "load",
        "The tank was not even a quarter full, and the procedure asks for a full one.",
        "Fuel is weight at the rear: without it the tail rides higher than the maker's figures say.",
        _empty, "told", 1, ("tern-rear-corner",),
    ),
    Fault(
        "spare-missing", "Spare wheel missing", "load",
        "The spare wheel that the procedure counts as carried was not in the car.",
        "The maker's figures hold with that weight in its place, so the tail rode too high.",
        _spare, "told", 1, ("tern-rear-corner", "godwit-camera"),
    ),
    Fault(
        "tool-box", "Tool box in the boot", "load",
        "A tool box of some thirty kilograms lay in the back of the car.",
        "It presses the tail down and lifts the nose, and drives away again after the calibration.",
        _thing("a tool box full of sockets", 28.0, 34.0, at_front=False), "told", 1,
    ),
    Fault(
        "batteries-on-seats", "Batteries on the seats", "load",
        "Two batteries for another job stood on the front seats.",
        "Their weight is no part of the maker's load state and tips the body.",
        _thing("two batteries for another job", 58.0, 64.0, at_front=True), "told", 1,
    ),
)  # fmt: skip

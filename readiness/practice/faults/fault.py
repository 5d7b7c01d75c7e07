"""What a fault of the catalogue is: words, where it can be, and a small function that plants it in a sound car."""

from __future__ import annotations

import random
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from typing import NamedTuple

from readiness.checks.kind import Place
from readiness.practice.world import World


class Planted(NamedTuple):
    """A car with the fault in it, and the questions that show it."""

    world: World
    shown_by: tuple[str, ...]
    told: Mapping[str, str] = {}
    """What the words of the fault say of this car: which wheel it is."""


Plant = Callable[[World, random.Random, str], Planted]
"""(car, chance, side of the check or '') -> the car with the fault."""


@dataclass(frozen=True)
class Fault:
    """One way in which a car or a bay is not ready. It is planted alone in what is otherwise sound."""

    id: str
    title: str
    check: str
    """The check that finds it."""
    was: str
    """What was true, one sentence; `{wheel}` and so on are filled in."""
    why: str
    """Why it matters, one sentence."""
    plant: Plant = field(compare=False)
    habit: str = ""
    """The careless habit that misses it, a key of `habits.HABITS`; empty: whoever answers the question finds it."""
    level: int = 1
    """From which level of practice on it occurs: how hard it is to find."""
    sheets: tuple[str, ...] = ()
    """Of the practice shop, on which it can be; empty: all that have the check."""
    also: tuple[str, ...] = ()
    """Other checks that it may spoil: what raises the body changes its ride heights."""

    def applies(self, world: World) -> bool:
        return world.has(self.check) and (not self.sheets or world.sheet.sheet in self.sheets)


def at(check: str, key: str, sees: str) -> Plant:
    """Plants a state that is not as it has to be; `sees` is what one finds there."""

    def plant(world: World, chance: random.Random, side: str) -> Planted:
        return Planted(seen_wrong(world, (check, side, key), sees), (key,))

    return plant


def seen_wrong(world: World, place: Place, sees: str) -> World:
    return replace(world, wrong={**world.wrong, place: sees})


def number(key: str, value: Callable[[World, random.Random], float]) -> Plant:
    """Plants another number into a single reading of the fault's check."""

    def plant(world: World, chance: random.Random, side: str) -> Planted:
        place = next(p for p in world.numbers if p[2] == key and p[1] == side)
        return Planted(replace(world, numbers={**world.numbers, place: value(world, chance)}), (key,))

    return plant

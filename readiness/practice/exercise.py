"""Exercises: which car, which of its checks are to be called, what is wrong with it."""

from __future__ import annotations

import random
from collections.abc import Sequence

from readiness.checks.finding import ask
from readiness.practice import nearness
from readiness.practice.car import Car
from readiness.practice.faults import CATALOGUE, Fault
from readiness.practice.filling import blank
from readiness.practice.folder import folder_for
from readiness.practice.given import given
from readiness.practice.ground import ground, moment, sheets
from readiness.practice.model import LEVELS, Topic
from readiness.practice.sound import sound
from readiness.practice.truth import Placed, bad_of, topics_of
from readiness.practice.world import World

__all__ = ["LEVELS", "Car", "exercise", "folder_for", "given", "sheets", "with_fault"]

MOST_FAULTS = {1: 1, 2: 1, 3: 2, 4: 2, 5: 3}
SOUND = 1 / 3
"""Share of cars with no fault at all."""
NEAR = 0.3
"""Share of cars with a value near its limit."""
TRIES = 60
HALF_WAY = "stance"
"""The check with which the first half of the car ends, together with what stands in its step."""


def exercise(seed: int, level: int, sheet: str | None = None) -> Car:
    """The car of this seed at this level, of one sheet of the practice shop or of any.

    The same for everybody. Raises ValueError for a level or a sheet that is not there.
    """
    if level not in LEVELS:
        raise ValueError(f"There is no level {level}: practice has levels 1 to {max(LEVELS)}.")
    if sheet is not None and sheet not in sheets():
        raise ValueError(f"The practice shop has no sheet '{sheet}'; it has {', '.join(sheets())}.")
    for attempt in range(TRIES):
        car = _drawn(seed, level, sheet, random.Random(f"exercise {seed} {level} {sheet or ''} {attempt}"))
        if car is not None:
            return car
    raise ValueError(f"No car came out of seed {seed} at level {level}: take another seed.")


def _drawn(seed: int, level: int, sheet: str | None, chance: random.Random) -> Car | None:
    """A car, or None where what was drawn does not go together."""
    name = sheet or chance.choice(list(sheets()))
    believed = sound(f"{seed} {level} {chance.random():.9f}", name, _sides(name, level, chance))
    topics = _topics(believed, level, chance)
    count = 0 if chance.random() < SOUND else chance.randint(1, MOST_FAULTS[level])
    faults = _faults(believed, topics, level, count, chance)
    if count and not faults:
        return None
    world, planted = planted_in(believed, faults, chance)
    taken = {p.topic for p in planted}
    if chance.random() < NEAR:
        world = nearness.near(world, [t for t in topics if t not in taken], chance)
    car = Car(seed, level, topics, world, believed, planted)
    return car if _fits(car) else None


def _fits(car: Car) -> bool:
    """Every fault shows in its own check, what is given is clearly good, and nothing is bad that nobody can call."""
    bad, own = bad_of(car.truths), {p.topic for p in car.planted}
    given_too = [t for t in car.truths if t not in car.topics and not _is_aim(car, t)]
    if any(t in bad or car.truths[t].near for t in given_too):
        return False
    called = {t for t in bad if not _is_aim(car, t)}
    if bad and not called:  # nobody sees the aim without the program
        return False
    return own <= bad and (bool(own) or all(car.truths[t].near for t in called))


def _is_aim(car: Car, topic: Topic) -> bool:
    return car.world.check(topic[0]).kind == "aim"


def _sides(sheet: str, level: int, chance: random.Random) -> tuple[str, ...]:
    sides = tuple(ground(sheet).checklist.sides)
    return sides if level == 5 or len(sides) == 1 else (chance.choice(sides),)


# --- what is to be called ------------------------------------------------------------------------


def _topics(world: World, level: int, chance: random.Random) -> tuple[Topic, ...]:
    every = topics_of(world)
    if level >= 4:
        return every
    if level == 3:
        return _half(world, every, chance.random() < 0.5)
    if level == 2:
        return chance.choice(_steps(world, every))
    return (chance.choice([t for t in every if _practised(world, t)]),)


def _half(world: World, every: Sequence[Topic], first: bool) -> tuple[Topic, ...]:
    """Up to the step with the stance, or what comes after it."""
    steps = world.checklist.steps
    middle = next(n for n, s in enumerate(steps) if HALF_WAY in s.checks) + 1
    mine = {c for s in (steps[:middle] if first else steps[middle:]) for c in s.checks}
    return tuple(t for t in every if t[0] in mine)


def _steps(world: World, every: Sequence[Topic]) -> list[tuple[Topic, ...]]:
    """The checks of each step in which something can be wrong."""
    steps = [tuple(t for t in every if t[0] in step.checks) for step in world.checklist.steps]
    return [s for s in steps if any(_practised(world, t) for t in s)]


def _practised(world: World, topic: Topic) -> bool:
    """Whether something is asked there, and something can be wrong."""
    check = world.check(topic[0])
    asks = bool(ask(blank(world, moment()), check, topic[1], moment()))
    return asks and any(f.check == topic[0] and f.applies(world) for f in CATALOGUE.values())


# --- what is wrong -------------------------------------------------------------------------------


def _faults(
    world: World, topics: Sequence[Topic], level: int, count: int, chance: random.Random
) -> list[tuple[Fault, Topic]]:
    """So many faults of the catalogue, one a check, drawn so that every check comes up alike."""
    drawn: list[tuple[Fault, Topic]] = []
    free = list(topics)
    while free and len(drawn) < count:
        topic = free.pop(chance.randrange(len(free)))
        fit = [
            f for f in CATALOGUE.values()
            if f.check == topic[0] and f.applies(world) and f.level <= level + 1
        ]  # fmt: skip
        if fit:
            drawn.append((chance.choice(fit), topic))
            free = [t for t in free if t[0] != topic[0]]
    return drawn


def planted_in(
    world: World, faults: Sequence[tuple[Fault, Topic]], chance: random.Random
) -> tuple[World, tuple[Placed, ...]]:
    """The car with these faults in it, and what is to be told of each."""
    placed = []
    for fault, topic in faults:
        done = fault.plant(world, chance, topic[1])
        world = done.world
        placed.append(
            Placed(fault.id, topic, fault.was.format(**done.told), fault.why, done.shown_by, fault.also)
        )
    return world, tuple(placed)


def with_fault(seed: str, fault: Fault, sheet: str, sides: tuple[str, ...]) -> Car:
    """A car with just this fault, everything to be called; for trying the catalogue out."""
    believed, chance = sound(seed, sheet, sides), random.Random(f"fault {seed} {fault.id}")
    side = chance.choice(sides) if believed.check(fault.check).per_side else ""
    world, planted = planted_in(believed, [(fault, (fault.check, side))], chance)
    return Car(0, 5, topics_of(believed), world, believed, planted)

"""Values near a limit, so that 'too close to call' is the right call."""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import replace

from readiness import units
from readiness.practice.model import Topic
from readiness.practice.world import World


def near(world: World, topics: Sequence[Topic], chance: random.Random) -> World:
    """The car with one value near its limit, in one of these checks; as it is where none of them has such a value."""
    ways = {
        "tyres": _pressure,
        "light": _light,
        "readings": _reading,
        "stance": _height,
        "centre_marks": _mark,
    }
    fit = [t for t in topics if world.check(t[0]).kind in ways and t[0] != "air"]
    if not fit:
        return world
    topic = chance.choice(fit)
    return ways[world.check(topic[0]).kind](world, topic, chance)


def _pressure(world: World, topic: Topic, chance: random.Random) -> World:
    """One tyre at the least that counts, its neighbour not far from it."""
    limits, axle = world.check(topic[0]).limits, chance.choice(("front", "rear"))
    least = getattr(world.sheet.placard.pressure, axle) - limits.pressure_below
    low, other = chance.sample([f"l{axle[0]}", f"r{axle[0]}"], 2)
    tyres = {
        **world.tyres,
        low: replace(world.tyres[low], cold=least + chance.uniform(-0.8, 1.2)),
        other: replace(world.tyres[other], cold=least + 4.0),
    }
    return replace(world, tyres=tyres)


def _light(world: World, topic: Topic, chance: random.Random) -> World:
    place = chance.choice(sorted(world.light))
    least = world.check(topic[0]).limits.least
    return replace(world, light={**world.light, place: least * chance.uniform(0.985, 1.025)})


def _reading(world: World, topic: Topic, chance: random.Random) -> World:
    items = [i for i in world.check(topic[0]).limits.items if not i.shared]
    item = chance.choice(items)
    unit = units.MEASURES[item.measures]
    text = item.high if item.low is None or (item.high is not None and chance.random() < 0.5) else item.low
    limit = units.parse_written(text, unit)
    width = units.accuracy(world.instruments[_tool(world, item.measures)].accuracy, unit, limit)
    value = limit + chance.uniform(-0.4, 0.4) * width
    return replace(world, numbers={**world.numbers, (*topic, item.key): value})


def _tool(world: World, measures: str) -> str:
    from readiness.practice.looking import best

    return best(world.instruments, measures)


def _height(world: World, topic: Topic, chance: random.Random) -> World:
    """All four corners low or high alike, so that neither roll nor warp has a say."""
    from readiness.practice.body import height

    limit, heights = world.check(topic[0]).limits.height, world.sheet.ride_heights
    assert heights is not None
    wheel, way = chance.choice(("lf", "lr", "rr", "rf")), chance.choice((-1.0, 1.0))
    wanted = heights.front if wheel.endswith("f") else heights.rear
    by = wanted + way * (limit + chance.uniform(-0.6, 0.4)) - height(world, wheel)
    return replace(world, springs={w: s + by for w, s in world.springs.items()})


def _mark(world: World, topic: Topic, chance: random.Random) -> World:
    """The mark that moves the line most at a target, so far off that it just does or does not count."""
    from readiness.measure.attitude import shift_at

    marks, limit = world.sheet.marks, world.check(topic[0]).limits.shift
    xs = [t.at.x for t in world.sheet.targets]
    front = [abs(shift_at(x, 1.0, 0.0, marks.front, marks.rear)) for x in xs]
    rear = [abs(shift_at(x, 0.0, 1.0, marks.front, marks.rear)) for x in xs]
    off = chance.choice((-1.0, 1.0)) * limit * chance.uniform(0.93, 1.04) / max(*front, *rear)
    return replace(world, marks=(off, 0.0) if max(front) >= max(rear) else (0.0, off))

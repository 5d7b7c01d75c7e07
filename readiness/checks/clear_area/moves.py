"""What to move, which way, and how far at least: the least move after which a thing is clear of every zone.

Straight ways are tried: out along the gap to each zone that it is in, forward, backward, left and right. On each,
places are judged as they would be after the move. No step can pass over one that would do: a clearance
changes by no more than the way moved.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from functools import lru_cache

from readiness.checks.clear_area.clearances import Pair, judged, way_between
from readiness.checks.clear_area.things import Thing, matters
from readiness.job import Zone
from readiness.measure.overlap import TOUCH, XY
from readiness.measure.plan import Area, Shape, moved, reach_beyond, signed_clearance

FARTHEST = 3.0
"""m; who has to carry a thing farther takes it away."""
TWO_STEPS = 1.1
"""A move along and across has to be shorter than one of a single step by this, to be worth telling."""
ASIDE: tuple[XY, ...] = ((1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0))


@dataclass(frozen=True, slots=True)
class Asked:
    """What a place has to fulfil."""

    zones: tuple[tuple[Zone, Shape], ...]
    margin: float
    factor: float
    car: Area
    bay: Area
    still: tuple[Shape, ...]
    """What nobody can move; a thing is not moved into it."""
    grain: float
    """m; lengths of moves are whole multiples of it, so that they are told exactly."""


@lru_cache(maxsize=128)  # things stay where they are from answer to answer
def least_move(thing: Thing, asked: Asked) -> XY | None:
    """How far to move a thing forward and to the left, m; None where no move of up to FARTHEST does."""
    pairs = sorted(_near(thing, asked), key=lambda p: p.clear)
    zones = [(p.zone, p.shape) for p in pairs]
    barred = _Barred(thing, asked)
    best, cost = None, FARTHEST
    for way in (*ASIDE, *_out(thing, pairs)):
        weight = 1.0 if way in ASIDE else TWO_STEPS
        found = _along(thing, zones, asked, barred, way, cost / weight)
        if found is not None and math.hypot(*found) * weight < cost:
            best, cost = found, math.hypot(*found) * weight
    return best


def _near(thing: Thing, asked: Asked) -> Iterator[Pair]:
    """The zones that matter to a thing and that it can come near to."""
    for zone, shape in asked.zones:
        if matters(zone, thing):
            pair = judged(zone, shape, thing, asked.margin, asked.factor)
            if pair.clear < asked.margin + 2.0 * FARTHEST + asked.factor * pair.u:
                yield pair


def _out(thing: Thing, pairs: Iterable[Pair]) -> Iterator[XY]:
    """Straight out of each zone that it is in, where that is neither along nor across."""
    for pair in pairs:
        way, _ = way_between(pair.shape, thing.shape, pair.clear)
        if pair.call != "pass" and way is not None and 0.0 not in way:
            yield way


def _along(
    thing: Thing, zones: list[tuple[Zone, Shape]], asked: Asked, barred: _Barred, way: XY, farthest: float
) -> XY | None:
    """The least move in a direction that does, both ways in whole grains.

    `zones` is put in another order: the one that a thing leaves last is looked at first.
    """
    grains = 1
    while grains * asked.grain <= farthest:
        move = _whole(way, grains, asked.grain)
        there = replace(thing, shape=moved(thing.shape, *move))
        short = _short(there, zones, asked) or barred.by(there.shape)
        if short <= 0.0:
            return move
        grains += max(1, math.floor(short / asked.grain) - 2)  # as much as `_whole` may lead by
    return None


def _whole(way: XY, grains: int, grain: float) -> XY:
    dx, dy = (math.copysign(math.ceil(grains * abs(part) - 1e-9) * grain, part) for part in way)
    return dx, dy


def _short(thing: Thing, zones: list[tuple[Zone, Shape]], asked: Asked) -> float:
    """A way that is too short in any case, m; 0 where the thing passes every zone."""
    least = asked.margin + asked.factor * min(d.u for d in thing.doubts)
    for k, (zone, shape) in enumerate(zones):
        pair = judged(zone, shape, thing, asked.margin, asked.factor)
        if pair.call != "pass":
            zones.insert(0, zones.pop(k))
            return max(least - pair.clear, asked.grain)
    return 0.0


class _Barred:
    """Where a thing cannot be put: into the car, through the edge of the bay, into what nobody can move.

    What it is in already (a creeper under the car, a reel on a wall) does not bar it.
    """

    def __init__(self, thing: Thing, asked: Asked) -> None:
        self.bay = asked.bay
        self.out = max(0.0, reach_beyond(thing.shape, asked.bay))
        self.bars = [
            b for b in (asked.car, *asked.still) if 0.0 < signed_clearance(b, thing.shape) < 2.0 * FARTHEST
        ]

    def by(self, shape: Shape) -> float:
        """How far in it is, m, and more than nothing where it touches; 0: it can stand there."""
        into = (-signed_clearance(b, shape) for b in self.bars)
        return max(
            (max(i, TOUCH) for i in into if i >= 0.0),
            default=max(0.0, reach_beyond(shape, self.bay) - self.out),
        )


def still_of(things: Iterable[Thing], but: Thing) -> tuple[Shape, ...]:
    """The shapes of the fixed things of the bay that stand at the heights of this one."""
    return tuple(
        t.shape for t in things if t.fixed and t.key != but.key and t.low <= but.high and but.low <= t.high
    )

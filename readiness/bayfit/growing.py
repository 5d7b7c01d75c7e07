"""How much longer or wider a place would have to be.

The place is cut across its middle and one half moved out, with its walls and with what stands against a wall
that moves. All other things stay where they are. So a bench at the far wall goes with it, and a column stays.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from itertools import product

from msgspec.structs import replace

from readiness.bayfit.found import Direction, Need
from readiness.checklist.measured import mapped
from readiness.checks.clear_area.things import obstacle_shape
from readiness.job import Bay, Obstacle, Point
from readiness.measure.overlap import XY
from readiness.measure.plan import SegmentAt, signed_clearance

MOST = 10.0
"""m; a place that had to grow by more is another place."""
AGAINST = 0.2
"""m; what is no farther from a wall stands against it."""
ENDS: tuple[Direction, ...] = ("ahead", "behind")
HANDS: tuple[Direction, ...] = ("left", "right")
_TURNS = {"ahead": 0.0, "left": 90.0, "behind": 180.0, "right": 270.0}
_CM = 0.01
_BESIDE = 1e-3
"""m; so far beside a corner a place is cut."""


@dataclass(frozen=True, slots=True)
class _Cut:
    """A line across the place; what lies beyond it in the direction `out` (a unit vector) moves by that much."""

    out: XY
    at: float

    def beyond(self, p: Point) -> bool:
        return self.out[0] * p.x + self.out[1] * p.y > self.at

    def shifted(self, p: Point, by: float) -> Point:
        return Point(x=p.x + by * self.out[0], y=p.y + by * self.out[1])

    def moved(self, p: Point, by: float) -> Point:
        return self.shifted(p, by) if self.beyond(p) else p

    def pulled(self, ring: Sequence[Point], by: float) -> tuple[Point, ...]:
        """A polygon with what lies beyond moved; across the gap its sides run straight in the direction `out`."""
        corners = []
        for p, q in zip(ring, (*ring[1:], ring[0]), strict=True):
            corners.append(self.moved(p, by))
            if self.beyond(p) != self.beyond(q):
                c = self._crossing(p, q)
                ends = (c, self.shifted(c, by))
                corners += ends[::-1] if self.beyond(p) else ends
        return tuple(corners)

    def _crossing(self, p: Point, q: Point) -> Point:
        a, b = (self.out[0] * r.x + self.out[1] * r.y - self.at for r in (p, q))
        t = a / (a - b)
        return Point(x=p.x + t * (q.x - p.x), y=p.y + t * (q.y - p.y))


def grown(bay: Bay, way: Direction, by: float) -> Bay:
    """The bay with its half ahead, behind, left or right moved out, seen along its own standing."""
    cut = _middle(bay, way)
    corners = bay.outline
    sides = zip(corners, corners[1:] + corners[:1], strict=True)
    walls = [SegmentAt(p.x, p.y, q.x, q.y) for p, q in sides if cut.beyond(p) and cut.beyond(q)]
    things = tuple(_taken_along(o, cut, by) if _against(o, walls) else o for o in bay.obstacles)
    return replace(bay, outline=cut.pulled(corners, by), obstacles=things)


def needed(bay: Bay, fits: Callable[[Bay], bool], guess: float) -> Need:
    """The least growth with which it fits, at either end and at either side; `guess` in m is tried first."""
    longer, end = _least_of(ENDS, lambda way, by: fits(grown(bay, way, by)), guess)
    wider, hand = _least_of(HANDS, lambda way, by: fits(grown(bay, way, by)), guess)
    if longer is None and wider is None:
        return _both(bay, fits, guess)
    return Need(longer, wider, None, end, hand)


def _both(bay: Bay, fits: Callable[[Bay], bool], guess: float) -> Need:
    """The narrowest place that would do, and how long it must then be; of several the least of both together."""
    corners = [(_narrowest(bay, fits, guess, end, hand), end, hand) for end, hand in product(ENDS, HANDS)]
    found = [(size, end, hand) for size, end, hand in corners if size is not None]
    if not found:
        return Need(None, None)
    size, end, hand = min(found, key=lambda f: sum(f[0]))
    return Need(None, None, size, end, hand)


def _narrowest(
    bay: Bay, fits: Callable[[Bay], bool], guess: float, end: Direction, hand: Direction
) -> tuple[float, float] | None:
    """How much longer and wider at these two walls: no wider than any length needs, and no longer than that needs."""
    long = grown(bay, end, MOST)
    wider = _least(lambda by: fits(grown(long, hand, by)), guess)
    if wider is None:
        return None
    wide = grown(bay, hand, wider)
    longer = _least(lambda by: fits(grown(wide, end, by)), guess)
    return None if longer is None else (longer, wider)


def _least_of(
    ways: Sequence[Direction], fits: Callable[[Direction, float], bool], guess: float
) -> tuple[float | None, Direction | None]:
    """The least growth of these ways, and which way; a later one only where it needs less."""
    best: tuple[float | None, Direction | None] = (None, None)
    for way in ways:
        most = MOST if best[0] is None else best[0] - _CM
        found = _least(partial(fits, way), guess, most)
        if found is not None:
            best = found, way
    return best


def _least(fits: Callable[[float], bool], guess: float, most: float = MOST) -> float | None:
    """The least whole cm up to `most` that fits while one less does not; None where `most` does not fit.

    From `guess` on in steps that double, then by halving.
    """
    low, high = 0, round(most / _CM)
    if high < 1 or not fits(high * _CM):
        return None
    trial, step, answers = math.ceil(guess / _CM - 1e-6), 1, set()
    while high - low > 1:
        trial = min(max(trial, low + 1), high - 1)
        fit = fits(trial * _CM)
        answers.add(fit)
        low, high = (low, trial) if fit else (trial, high)
        trial = (low + high) // 2 if len(answers) > 1 else trial - step if fit else trial + step
        step *= 2
    return round(high * _CM, 2)


# --- moving one half out -------------------------------------------------------------------------


def _middle(bay: Bay, way: Direction) -> _Cut:
    """Across the middle of the place, or as near it as no corner lies: there a cut would leave sides of no length."""
    turn = math.radians(bay.standing.heading + _TURNS[way])
    out = (math.cos(turn), math.sin(turn))
    reach = [out[0] * p.x + out[1] * p.y for p in bay.outline]
    corners = [*reach, *(out[0] * p.x + out[1] * p.y for o in bay.obstacles for p in o.polygon or ())]
    middle = (min(reach) + max(reach)) / 2.0
    steps = [middle + sign * k * _BESIDE for k in range(len(corners) + 1) for sign in (1.0, -1.0)]
    clear = (at for at in steps if all(abs(at - c) > _BESIDE / 4 for c in corners))
    return _Cut(out, next(clear, middle))


def _against(thing: Obstacle, walls: Sequence[SegmentAt]) -> bool:
    shape = obstacle_shape(thing)
    return any(signed_clearance(wall, shape) <= AGAINST for wall in walls)


def _taken_along(thing: Obstacle, cut: _Cut, by: float) -> Obstacle:
    """The thing with those of its places moved that lie beyond the cut: a pipe along the place grows with it."""
    if thing.polygon is not None:
        return replace(thing, polygon=cut.pulled(thing.polygon, by))
    return mapped(thing, lambda p: cut.moved(p, by))

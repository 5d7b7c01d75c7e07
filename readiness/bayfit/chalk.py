"""Where to chalk the place: two wheels, each by two tapes from two marks of the bay.

Of all pairs of marks and wheels, those by which the car's place comes out best: tapes that meet at a wheel
nearly square, wheels far apart, tapes that are short, run little under the car, and have nothing in their way.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import combinations
from typing import Literal

from readiness.bayfit.demands import FLAT, things_of
from readiness.bayfit.found import Chalk, Tape
from readiness.checklist.measured import marks_of
from readiness.checks.car import wheel_places
from readiness.checks.place import in_bay, in_car
from readiness.job import Bay, Sheet, Standing
from readiness.measure.overlap import XY
from readiness.measure.plan import Area, PointAt, SegmentAt, Shape, reach_beyond, signed_clearance
from readiness.measure.polygon import turn

LONG = 10.0
"""m; the tape of an ordinary shop."""
MOST_MARKS = 12
"""So many of the nearest are tried."""
_HANGS = 0.1
"""m; a tape on the floor passes under what hangs higher."""
_HOOK = 0.05
"""m; so near a mark the tape may touch what stands there: a mark often is the corner of something."""
_SQUARE, _APART = 10.0, 10.0
"""What 1 / sin of the angle between the tapes of a wheel counts against a pair, and wheels one wheelbase apart;
tapes count by the metre, once more where they run under the car."""
_POOR = math.sin(math.radians(20.0))
_IN_THE_WAY, _TOO_LONG, _TWO_PLACES = 30.0, 10.0, 20.0
_STEPS = 16

Side = Literal["left", "right", ""]


@dataclass(frozen=True, slots=True)
class _Span:
    """The tape from a mark to a wheel: its length in m, its unit vector, and what counts against it."""

    length: float
    way: XY
    cost: float


@dataclass(frozen=True, slots=True)
class _Floor:
    """Where tapes can run."""

    sheet: Sheet
    standing: Standing
    place: Area
    things: tuple[Shape, ...]
    wheels: dict[str, XY]


def chalk(sheet: Sheet, bay: Bay, standing: Standing) -> Chalk:
    """Four tapes from two marks to two wheels; lengths in whole mm."""
    floor = _floor(sheet, bay, standing)
    places = marks_of(bay)
    named = {m.name: places.pop(m.name) for m in bay.marks}
    poor, found = _best(floor, named) if len(named) > 1 else (True, None)
    if poor:
        _, found = _best(floor, {**places, **named})
    assert found is not None, "an outline has three corners"
    return found


def _floor(sheet: Sheet, bay: Bay, standing: Standing) -> _Floor:
    things = tuple(t.shape for _, t in things_of(bay) if t.high > FLAT and t.low < _HANGS)
    wheels = {w: in_bay(standing, at) for w, at in wheel_places(sheet).items()}
    return _Floor(sheet, standing, Area(tuple((p.x, p.y) for p in bay.outline)), things, wheels)


def _best(floor: _Floor, marks: dict[str, XY]) -> tuple[bool, Chalk]:
    """The best pick of these marks, and whether it is a poor one."""
    middle = in_bay(floor.standing, (floor.sheet.dimensions.wheelbase / 2.0, 0.0))
    near = sorted(marks, key=lambda m: math.dist(marks[m], middle))[:MOST_MARKS]
    spans = {(m, w): _span(floor, marks[m], at) for m in near for w, at in floor.wheels.items()}
    picks = []
    for m, n in combinations(sorted(near, key=list(marks).index), 2):
        for v, w in combinations(floor.wheels, 2):
            sides = {_side(marks[m], marks[n], floor.wheels[x]) for x in (v, w)}
            if len(sides) == 1:
                side = sides.pop() if _two_places(floor, marks[m], marks[n], (v, w)) else ""
                square = min(_sine(spans[m, x], spans[n, x]) for x in (v, w))
                cost = _cost(floor, [spans[k, x] for k in (m, n) for x in (v, w)], (v, w))
                picks.append((cost + (_TWO_PLACES if side else 0.0), square, (m, n), (v, w), side))
    _, square, (m, n), pair, side = min(picks, key=lambda p: p[0])
    return square < _POOR, Chalk(
        tuple(Tape(k, w, round(spans[k, w].length, 3)) for w in pair for k in (m, n)), side
    )


def _cost(floor: _Floor, spans: list[_Span], pair: tuple[str, str]) -> float:
    """`spans`: first mark to both wheels, second mark to both."""
    apart = math.dist(floor.wheels[pair[0]], floor.wheels[pair[1]])
    angles = sum(1.0 / max(_sine(spans[k], spans[k + 2]), 1e-3) for k in (0, 1))
    spread = floor.sheet.dimensions.wheelbase / apart
    return _SQUARE * angles + _APART * spread + sum(s.cost for s in spans)


def _span(floor: _Floor, mark: XY, wheel: XY) -> _Span:
    length = math.dist(mark, wheel)
    way = ((wheel[0] - mark[0]) / max(length, 1e-9), (wheel[1] - mark[1]) / max(length, 1e-9))
    cost = length * (1.0 + _under_car(floor, mark, wheel)) + (_TOO_LONG if length > LONG else 0.0)
    hook = min(_HOOK, length / 2.0)
    run = SegmentAt(mark[0] + hook * way[0], mark[1] + hook * way[1], *wheel)
    leaves = reach_beyond(run, floor.place) > _HOOK
    if leaves or any(signed_clearance(run, thing) <= 0.0 for thing in floor.things):
        cost += _IN_THE_WAY
    return _Span(length, way, cost)


def _under_car(floor: _Floor, mark: XY, wheel: XY) -> float:
    """The share of a tape that runs under the car."""
    d = floor.sheet.dimensions
    front, half = d.wheelbase + d.front_overhang, d.width / 2.0
    (x1, y1), (x2, y2) = in_car(floor.standing, mark), in_car(floor.standing, wheel)
    places = [(x1 + (x2 - x1) * t, y1 + (y2 - y1) * t) for t in ((k + 0.5) / _STEPS for k in range(_STEPS))]
    return sum(front - d.length < x < front and abs(y) < half for x, y in places) / _STEPS


def _sine(a: _Span, b: _Span) -> float:
    return abs(a.way[0] * b.way[1] - a.way[1] * b.way[0])


def _side(m: XY, n: XY, p: XY) -> Side:
    """Where p lies, looking from m to n."""
    return "left" if turn(m, n, p) > 0 else "right"


def _two_places(floor: _Floor, m: XY, n: XY, pair: tuple[str, str]) -> bool:
    """Whether the tapes meet a second time within the place, beyond the line of the marks."""
    dx, dy = n[0] - m[0], n[1] - m[1]
    for w in pair:
        x, y = floor.wheels[w][0] - m[0], floor.wheels[w][1] - m[1]
        off = 2.0 * (dx * y - dy * x) / (dx * dx + dy * dy)
        if signed_clearance(floor.place, PointAt(m[0] + x + off * dy, m[1] + y - off * dx)) <= 0.0:
            return True
    return False

"""Places between places, so that a straightedge of a given length gets everywhere, by two ways where it can."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from itertools import combinations

from readiness.checks.picture import XY
from readiness.survey.room import Room

Edge = tuple[int, int]

SLACK = 0.02
"""m by which a planned run stays shorter than the straightedge: how well one chalks a place."""
MOST_LINKS = 40
"""Stretches bridged at most; a bay that needs more wants a longer straightedge."""
APART = 0.3
"""m; a second way keeps so far from the places that are there: it is to be another way."""
ONE = 0.05
"""m; places nearer than this are one for all that a tape can tell."""
GRID = 0.6
"""Of the straightedge: how far apart places lie that are tried where the straight way is barred."""


def linked(places: Sequence[XY], straightedge: float, room: Room) -> list[XY]:
    """The places and those between them that level runs need.

    First whatever lies apart is joined, then whatever hangs on a single run gets a second way, so that a
    walk round comes back to its start and tells a reading that is wrong.
    """
    found = list(places)
    for _ in range(MOST_LINKS):
        more = _join(found, straightedge, room)
        if not more:
            break
        found += more
    given_up: set[Edge] = set()
    for _ in range(MOST_LINKS):
        bridge = next(
            (e for e in bridges(len(found), edges(found, straightedge, room)) if e not in given_up), None
        )
        if bridge is None:
            break
        more = _second_way(found, bridge, straightedge, room)
        found += more
        if not more:
            given_up.add(bridge)
    return found


def edges(places: Sequence[XY], longest: float, room: Room | None = None) -> list[Edge]:
    """Pairs of places that a straightedge reaches across, the shortest first; in a room, where nothing bars it."""
    found = [
        (d, i, j)
        for i, j in combinations(range(len(places)), 2)
        if 0.0 < (d := math.dist(places[i], places[j])) <= longest
        and (room is None or room.clear(places[i], places[j]))
    ]
    return [(i, j) for _, i, j in sorted(found)]


def pieces(count: int, joined: Iterable[Edge]) -> list[int]:
    """For each of so many places the number of the piece that it belongs to: that of its first place."""
    piece = list(range(count))

    def root(k: int) -> int:
        while piece[k] != k:
            piece[k] = piece[piece[k]]
            k = piece[k]
        return k

    for i, j in joined:
        a, b = sorted((root(i), root(j)))
        piece[b] = a
    return [root(k) for k in range(count)]


def bridges(count: int, joined: Sequence[Edge]) -> list[Edge]:
    """Edges without which the places they join would fall apart."""
    whole = len(set(pieces(count, joined)))
    return [e for e in joined if len(set(pieces(count, [f for f in joined if f != e]))) > whole]


def _join(places: Sequence[XY], straightedge: float, room: Room) -> list[XY]:
    """Places that join the piece of the first place to the nearest other one; none if all is one or cannot be."""
    piece = pieces(len(places), edges(places, straightedge, room))
    here = [k for k in range(len(places)) if piece[k] == piece[0]]
    there = [k for k in range(len(places)) if piece[k] != piece[0]]
    between = sorted((math.dist(places[i], places[j]), i, j) for i in here for j in there)
    for _, i, j in between:
        steps = _divided(places[i], places[j], straightedge, room)
        if steps and _new(steps, places, ONE):
            return steps
    return _round_about([places[k] for k in here], [places[k] for k in there], straightedge, room)


def _second_way(places: Sequence[XY], bridge: Edge, straightedge: float, room: Room) -> list[XY]:
    """Places of a way beside a run on which a piece of the net hangs."""
    rest = [e for e in edges(places, straightedge, room) if e != bridge]
    piece = pieces(len(places), rest)
    one = [k for k in range(len(places)) if piece[k] == piece[bridge[0]]]
    other = [k for k in range(len(places)) if piece[k] == piece[bridge[1]]]
    ways = sorted(
        (len({i, j} & set(bridge)), math.dist(places[i], places[j]), i, j)
        for i in one for j in other if {i, j} != set(bridge)
    )  # fmt: skip
    for _, _, i, j in ways:
        steps = _divided(places[i], places[j], straightedge, room)
        if steps and _new(steps, places, APART):
            return steps
    return []


def _new(steps: Sequence[XY], places: Sequence[XY], apart: float) -> bool:
    """Whether every step keeps so far from the places that are there."""
    return all(math.dist(s, p) >= apart for s in steps for p in places)


def _divided(a: XY, b: XY, straightedge: float, room: Room) -> list[XY]:
    """Places that divide the line from a to b into equal runs; none if one would not be free."""
    if not room.clear(a, b):
        return []
    count = math.ceil(math.dist(a, b) / (straightedge - SLACK))
    steps = [
        (round(a[0] + (b[0] - a[0]) * k / count, 2), round(a[1] + (b[1] - a[1]) * k / count, 2))
        for k in range(1, count)
    ]
    return steps if all(room.free(s) for s in steps) else []


def _round_about(here: Sequence[XY], there: Sequence[XY], straightedge: float, room: Room) -> list[XY]:
    """The way with the fewest runs over a grid of free places, where the straight ones are barred."""
    grid = [*here, *there]
    grid += [at for at in _grid(room, GRID * straightedge) if _new([at], grid, ONE)]
    near: dict[int, list[int]] = {k: [] for k in range(len(grid))}
    for i, j in edges(grid, straightedge - SLACK, room):
        near[i].append(j)
        near[j].append(i)
    before: dict[int, int] = {k: k for k in range(len(here))}
    queue = list(before)
    for k in queue:
        for n in near[k]:
            if n not in before:
                before[n] = k
                queue.append(n)
    ends = range(len(here), len(here) + len(there))
    end = next((k for k in queue if k in ends), None)
    way: list[XY] = []
    while end is not None and before[end] >= len(here):
        end = before[end]
        way.append(grid[end])
    return way


def _grid(room: Room, step: float) -> list[XY]:
    xs, ys = zip(*room.outline, strict=True)
    columns, rows = (int((max(v) - min(v)) / step) + 1 for v in (xs, ys))
    corners = [
        (round(min(xs) + (i + 0.5) * step, 2), round(min(ys) + (j + 0.5) * step, 2))
        for i in range(columns) for j in range(rows)
    ]  # fmt: skip
    return [at for at in corners if room.free(at)]

"""Boxes of places for an interval of headings, and what is the best that each may hold.

Turned by R(heading) a corner runs on an arc that leaves its chord by no more than reach (1 - cos(half the interval)).
But for that, with the arcs of directions of either end of the interval the signed distances (see `arcs`) are convex
in place and heading together. So over a box they lie below the mixture of their values at its eight corners, and
`game` bounds the smallest of them: second order in the size of the box. What is the smallest nowhere in a box is
left out in it and in its parts.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from readiness.measure.poses.arcs import Arcs, arcs, distances
from readiness.measure.poses.game import most_telling, value_of
from readiness.measure.poses.hulls import Hulls
from readiness.measure.poses.nearby import circles, point_of

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from readiness.measure.poses.nearby import Place

    Array = NDArray[np.float64]
    Numbers = NDArray[np.intp]
    Rows = Numbers | NDArray[np.bool_] | slice

_CORNERS = ((-1.0, -1.0), (1.0, -1.0), (-1.0, 1.0), (1.0, 1.0))
_NONE = -1
_FAR = 1e6
"""m; what stands for no pair is so far away."""


@dataclass(frozen=True, slots=True)
class Boxes:
    """A row a box."""

    at: Array
    """Its middle: x, y."""
    half: Array
    """Half its sides along x, y."""
    bound: Array
    """No pose in it has more spare room."""
    pairs: Numbers
    """The pairs that count in it, from the left; filled up with -1."""

    def __len__(self) -> int:
        return len(self.at)

    @property
    def radius(self) -> Array:
        import numpy as np

        radius: Array = np.hypot(self.half[:, 0], self.half[:, 1])
        return radius

    def some(self, rows: Rows) -> Boxes:
        return Boxes(self.at[rows], self.half[rows], self.bound[rows], self.pairs[rows])

    def batches(self, most: int) -> Iterator[Boxes]:
        """In turn a few that have about as many pairs, no more than `most` in all where it is several boxes."""
        import numpy as np

        counts = (self.pairs != _NONE).sum(axis=1)
        order = np.argsort(-counts)
        at = 0
        while at < len(order):
            wide = max(1, int(counts[order[at]]))
            some = self.some(order[at : at + max(1, most // wide)])
            at += len(some)
            yield replace(some, pairs=some.pairs[:, :wide])

    def quarters(self) -> Boxes:
        import numpy as np

        at = np.concatenate([self.at + 0.5 * corner * self.half for corner in np.array(_CORNERS)])
        half = np.tile(self.half / 2, (4, 1))
        return Boxes(at, half, np.tile(self.bound, 4), np.tile(self.pairs, (4, 1)))

    def counting(self, pairs: Numbers, counts: NDArray[np.bool_]) -> Boxes:
        """With only those of these pairs that count."""
        import numpy as np

        order = _counting_first(counts)
        packed = np.where(np.take_along_axis(counts, order, 1), np.take_along_axis(pairs, order, 1), _NONE)
        return replace(self, pairs=packed)

    def corners(self) -> tuple[Array, Array]:
        """x and y, each (boxes, corners)."""
        import numpy as np

        at = self.at[:, None] + np.array(_CORNERS) * self.half[:, None]
        return at[..., 0], at[..., 1]


def joined(many: Sequence[Boxes]) -> Boxes:
    """All of them as one; their pairs must be numbered alike."""
    import numpy as np

    wide = max(b.pairs.shape[1] for b in many)
    pairs = [np.pad(b.pairs, ((0, 0), (0, wide - b.pairs.shape[1])), constant_values=_NONE) for b in many]
    at, half = np.concatenate([b.at for b in many]), np.concatenate([b.half for b in many])
    return Boxes(at, half, np.concatenate([b.bound for b in many]), np.concatenate(pairs))


def _counting_first(counts: NDArray[np.bool_]) -> Numbers:
    """Per row the columns that count, from the left; as many as the row with most of them has."""
    import numpy as np

    return np.argsort(~counts, axis=1, kind="stable")[:, : max(1, int(counts.sum(axis=1).max(initial=1)))]


@dataclass(frozen=True, slots=True)
class Turn:
    """An interval of headings, radians, and the rings of the pairs that count in it at both its ends."""

    low: float
    high: float
    which: Numbers
    """Numbers of these pairs; boxes number them by their place in it."""
    rings: tuple[Arcs, Arcs]

    @property
    def half(self) -> float:
        return (self.high - self.low) / 2


def turn(h: Hulls, low: float, high: float, boxes: Boxes) -> tuple[Turn, Boxes]:
    """For boxes whose pairs are numbered among all; they come back with them numbered anew."""
    import numpy as np

    which = np.unique(boxes.pairs)
    which = which[which != _NONE]
    pairs = np.where(boxes.pairs == _NONE, _NONE, np.searchsorted(which, boxes.pairs))
    return Turn(low, high, which, (arcs(h, low, which), arcs(h, high, which))), replace(boxes, pairs=pairs)


def among_all(turn: Turn, boxes: Boxes) -> Boxes:
    """The same boxes, their pairs numbered among all."""
    import numpy as np

    return replace(boxes, pairs=np.where(boxes.pairs == _NONE, _NONE, turn.which[boxes.pairs]))


def with_things(h: Hulls, turn: Turn, boxes: Boxes, most: int | None) -> Boxes:
    """With the still things that may count in each box beside the edge, or the nearest `most` of them.

    Pairs are numbered among all.
    """
    import numpy as np

    far, near = (v[:, h.edge :] for v in circles(h, turn.low + turn.half, *boxes.at.T))
    size = boxes.radius[:, None] + h.reach[h.edge :] * turn.half
    bound = np.minimum(boxes.bound, (far + size).min(axis=1, initial=np.inf))
    counts = near - size <= bound[:, None]
    if most is not None and counts.shape[1] > most:
        nearest = np.argpartition(near - size, most, axis=1)[:, :most]
        few = np.zeros_like(counts)
        np.put_along_axis(few, nearest, True, axis=1)
        counts &= few
    edge = among_all(turn, boxes).pairs
    edge = edge[:, : max(1, int((edge < h.edge).sum(axis=1).max(initial=1)))]
    edge = np.where(edge < h.edge, edge, _NONE)
    things = np.broadcast_to(np.arange(h.edge, len(h.a)), counts.shape)
    both = np.concatenate([edge, things], axis=1), np.concatenate([edge != _NONE, counts], axis=1)
    return replace(boxes, bound=bound).counting(*both)


@dataclass(frozen=True, slots=True)
class Bounds:
    """Boxes with their bounds and what counts in them; the best corner of any, and the best guess inside the best."""

    boxes: Boxes
    corner: tuple[float, Place]
    guess: Place | None


def bounds(h: Hulls, turn: Turn, boxes: Boxes, target: float) -> Bounds:
    """What each box may hold at most; for those that cannot hold more than the target, roughly."""
    import numpy as np

    turns = turn.low, turn.high
    px, py = boxes.corners()
    own = [distances(r, t, boxes.pairs, px, py) for r, t in zip(turn.rings, turns, strict=True)]
    rooms = np.concatenate(own, axis=1) - h.off[turn.which[boxes.pairs]][:, None]
    rooms = np.where((boxes.pairs == _NONE)[:, None], _FAR, rooms)
    corner = _best_corner(rooms.min(axis=2), px, py, turns)
    boxes, rooms = _without_the_far(h, turn, boxes, rooms)
    live = np.flatnonzero(boxes.bound > target)
    if not len(live):
        return Bounds(boxes, corner, None)
    table = _table(h, turn, boxes.some(live), rooms[live], px[live], py[live])
    found, mixtures = value_of(most_telling(table))
    bound = boxes.bound.copy()
    bound[live] = np.minimum(bound[live], found)
    k = int(bound[live].argmax())
    return Bounds(replace(boxes, bound=bound), corner, point_of(mixtures[k], px[live[k]], py[live[k]], turns))


def _best_corner(
    rooms: Array, px: Array, py: Array, turns: tuple[float, float]
) -> tuple[float, tuple[float, float, float]]:
    box, corner = divmod(int(rooms.argmax()), rooms.shape[1])
    at = float(px[box, corner % 4]), float(py[box, corner % 4]), turns[corner // 4]
    return float(rooms[box, corner]), at


def _without_the_far(h: Hulls, turn: Turn, boxes: Boxes, rooms: Array) -> tuple[Boxes, Array]:
    """Boxes without the pairs that are the smallest nowhere in them, with rough bounds, and the rooms of the rest.

    A room changes by no more than the way of the body, and the way that turning takes the farthest place.
    """
    import numpy as np

    number = turn.which[boxes.pairs]
    away = h.reach[number] * turn.half
    size = boxes.radius[:, None]
    bound = np.minimum(boxes.bound, (rooms.max(axis=1) + away).min(axis=1))
    counts = (rooms.min(axis=1) - size - away <= bound[:, None]) & (boxes.pairs != _NONE)
    order = _counting_first(counts)
    left = replace(boxes, bound=bound).counting(boxes.pairs, counts)
    rooms = np.take_along_axis(rooms, order[:, None], axis=2)
    return left, np.where((left.pairs == _NONE)[:, None], _FAR, rooms)


def _table(h: Hulls, turn: Turn, boxes: Boxes, rooms: Array, px: Array, py: Array) -> Array:
    """For each box the functions (last axis) at its corners: those of the arcs of the first and of the last heading."""
    import numpy as np

    number = turn.which[boxes.pairs]
    above = np.where(boxes.pairs == _NONE, 0.0, h.reach[number] * (1 - math.cos(turn.half)))
    if turn.half == 0.0:
        return rooms + above[:, None]
    turns = turn.high, turn.low
    other = [
        np.where(
            (boxes.pairs == _NONE)[:, None],
            _FAR,
            distances(r, t, boxes.pairs, px, py) - h.off[number][:, None],
        )
        for r, t in zip(turn.rings, turns, strict=True)
    ]
    first = np.concatenate([rooms[:, :4], other[0]], axis=1)
    last = np.concatenate([other[1], rooms[:, 4:]], axis=1)
    table: Array = np.concatenate([first, last], axis=2) + np.tile(above, 2)[:, None]
    return table

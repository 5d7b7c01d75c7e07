"""All that blocks the body, as arrays: pairs of a convex piece that moves and one that stands still.

The edge of the place counts as still pieces too: half-planes and pockets (see `cover.outside`). Lengths in m,
angles in radians.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from readiness.measure.overlap import XY
from readiness.measure.plan import Area
from readiness.measure.poses.cover import outside
from readiness.measure.poses.model import Apart, Moving
from readiness.measure.poses.parts import Arc, Part, normal_of, parts

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]
    Numbers = NDArray[np.intp]

_OFTEN = 16
"""Still shapes cut up between two calls of `heard`."""


@dataclass(frozen=True, slots=True)
class Round:
    """The arcs of many pieces, a column each; radius 0 where there is none."""

    x: Array
    y: Array
    radius: Array
    toward_x: Array
    """Unit vector to its middle."""
    toward_y: Array
    least: Array
    """Cosine of half its angle."""


@dataclass(frozen=True, slots=True)
class Polygons:
    """Many convex pieces, a column each; the last corner and the last normal of each repeated to fill up."""

    x: Array
    y: Array
    angles: Array
    """At which the farthest place changes."""
    middle_x: Array
    """A place inside."""
    middle_y: Array
    reach: Array
    """Radius of a circle about the middle that holds it."""
    round: Round | None
    """None where no piece has an arc."""


@dataclass(frozen=True, slots=True)
class Hulls:
    """All pairs of pieces. The body turns about its origin here."""

    moving: Polygons
    still: Polygons
    a: Numbers
    """The moving piece of each pair."""
    b: Numbers
    """Its still piece."""
    off: Array
    """m; how far both have to stay apart: radii and gap."""
    plane: NDArray[np.bool_]
    """Whether the still piece is a half-plane."""
    edge: int
    """So many pairs, the first, are with the edge of the place."""
    middle: XY
    """What is the origin here, in the body's axes."""
    reach: Array
    """m; how far from it the moving piece of each pair reaches."""


def hulls(place: Area, moving: Sequence[Moving], apart: Sequence[Apart], heard: Callable[[], None]) -> Hulls:
    """`heard` is called now and then."""
    import numpy as np

    bodies = [(k, part) for k, m in enumerate(moving) for part in parts(m.shape)]
    own = [[n for n, (k, _) in enumerate(bodies) if k == mover] for mover in range(len(moving))]
    planes, pockets = outside(place.core)
    edges = [*(Part(line, (normal_of(*line),)) for line in planes), *(parts(Area(p))[0] for p in pockets)]
    numbers = {part: n for n, part in enumerate(dict.fromkeys(edges))}
    off = {(n, b): p.radius + moving[k].inside for n, (k, p) in enumerate(bodies) for b in numbers.values()}
    edge = len(off)
    for count, pair in enumerate(apart):
        if count % _OFTEN == 0:
            heard()
        for piece in parts(pair.still):
            b = numbers.setdefault(piece, len(numbers))
            for n in own[pair.moving]:
                asked = bodies[n][1].radius + piece.radius + pair.gap
                off[n, b] = max(asked, off.get((n, b), asked))
    middle = _middle([c for _, part in bodies for c in part.corners])
    shifted = [_shifted(part, middle) for _, part in bodies]
    first, second = np.array(list(off)).T
    reach = np.array([part.reach(0.0, 0.0) for part in shifted])[first]
    return Hulls(
        _polygons(shifted), _polygons(list(numbers)), first, second, np.array(list(off.values())),
        second < len(planes), edge, middle, reach,
    )  # fmt: skip


def _middle(corners: list[XY]) -> XY:
    """Near the middle of the smallest circle round all, and in their hull (Badoiu and Clarkson 2003)."""
    x = sum(c[0] for c in corners) / len(corners)
    y = sum(c[1] for c in corners) / len(corners)
    for k in range(1, 60):
        far = max(corners, key=lambda c: (c[0] - x) ** 2 + (c[1] - y) ** 2)
        x += (far[0] - x) / (k + 1)
        y += (far[1] - y) / (k + 1)
    return x, y


def _shifted(part: Part, middle: XY) -> Part:
    dx, dy = middle
    arc = part.arc and Arc(part.arc.x - dx, part.arc.y - dy, part.arc.radius, part.arc.start, part.arc.end)
    return Part(tuple((x - dx, y - dy) for x, y in part.corners), part.normals, part.radius, arc)


def _polygons(pieces: Sequence[Part]) -> Polygons:
    import numpy as np

    x, y = (_filled([[c[i] for c in part.corners] for part in pieces]) for i in (0, 1))
    middle_x, middle_y = x.mean(axis=0), y.mean(axis=0)
    reach = np.array(
        [p.reach(mx, my) for p, mx, my in zip(pieces, middle_x.tolist(), middle_y.tolist(), strict=True)]
    )
    return Polygons(x, y, _filled([p.normals for p in pieces]), middle_x, middle_y, reach, _round(pieces))


def _round(pieces: Sequence[Part]) -> Round | None:
    import numpy as np

    if not any(part.arc for part in pieces):
        return None
    none = Arc(0.0, 0.0, 0.0, 0.0, 0.0)
    rows = []
    for arc in (part.arc or none for part in pieces):
        middle, half = (arc.start + arc.end) / 2, (arc.end - arc.start) / 2
        rows.append((arc.x, arc.y, arc.radius, math.cos(middle), math.sin(middle), math.cos(half)))
    return Round(*(np.array(column) for column in zip(*rows, strict=True)))


def _filled(rows: Sequence[Sequence[float]]) -> Array:
    """As columns of one length, the last value of each repeated."""
    import numpy as np

    most = max(len(row) for row in rows)
    return np.array([[*row, *[row[-1]] * (most - len(row))] for row in rows]).T.copy()

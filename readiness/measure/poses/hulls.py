"""Blocked positions as arrays: for a heading, the body must stay off convex sets, grown by radius and gap.

A still piece B and a moving piece A, turned by R, touch where the body's middle p lies on the edge of B - R A. With
h the support functions, the signed distance of p from that set is the largest of u p + min over a of u R a - h_B(u)
over all directions u. Between two neighbouring normals of B and of A the same corner b and the same a are the
farthest. A set is therefore a ring of arcs of directions, each with its a and b; arcs with nothing between
their ends do no harm and fill the arrays.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from readiness.measure.plan import XY, Area
from readiness.measure.poses.cover import outside
from readiness.measure.poses.exact import excess, parts
from readiness.measure.poses.model import Apart, Moving

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]
    Numbers = NDArray[np.intp]

_ROUND = (0.0, math.pi)
"""A point has no sides; two directions are named, so that no arc is wider than half a turn."""


@dataclass(frozen=True, slots=True)
class Polygons:
    """Corners and angles of outward normals of many convex polygons, the last of each repeated to fill up."""

    corners: Array
    angles: Array
    middle: Array
    reach: Array
    """Radius of a circle about `middle` that holds it."""


@dataclass(frozen=True, slots=True)
class Hulls:
    """All pairs of pieces. The place's edge is among the still ones: half-planes and pockets."""

    moving: Polygons
    still: Polygons
    a: Numbers
    b: Numbers
    off: Array
    """m; how far the cores have to stay apart: radii and gap."""
    slack: Array
    """m; how much less might do, as pieces of sectors reach beyond them."""
    plane: NDArray[np.bool_]
    edge: int
    """So many pairs, the first, are with the edge of the place."""
    middle: XY
    """The place of the body that is turned about, in its axes."""
    reach: Array
    """m; how far from it the moving piece of each pair reaches."""


def hulls(place: Area, moving: Sequence[Moving], apart: Sequence[Apart]) -> Hulls:
    import numpy as np

    still_numbers: dict[tuple[XY, ...], int] = {}
    bodies = [(k, part) for k, m in enumerate(moving) for part in parts(m.shape)]
    of_moving: list[list[int]] = [[] for _ in moving]
    for n, (k, _) in enumerate(bodies):
        of_moving[k].append(n)
    planes, pockets = outside(place.core)
    rows: list[tuple[int, int, float, float]] = []
    for n, (k, part) in enumerate(bodies):
        off, slack = part.radius + moving[k].inside, excess(moving[k].shape)
        rows += [
            (n, still_numbers.setdefault(c, len(still_numbers)), off, slack) for c in (*planes, *pockets)
        ]
    edge = len(rows)
    for pair in apart:
        slack = excess(pair.still) + excess(moving[pair.moving].shape)
        for piece in parts(pair.still):
            number = still_numbers.setdefault(piece.corners, len(still_numbers))
            off = piece.radius + pair.gap
            rows += [(n, number, off + bodies[n][1].radius, slack) for n in of_moving[pair.moving]]
    a, b, off_, slack_ = (np.array(column) for column in zip(*rows, strict=True))
    middle = _middle([c for _, part in bodies for c in part.corners])
    shifted = [tuple((x - middle[0], y - middle[1]) for x, y in part.corners) for _, part in bodies]
    about = np.array([max(math.hypot(*c) for c in corners) for corners in shifted])
    plane = b < len(planes)
    still = _polygons(list(still_numbers), len(planes))
    return Hulls(_polygons(shifted, 0), still, a, b, off_, slack_, plane, edge, middle, about[a])


def _middle(corners: list[XY]) -> XY:
    """Near the middle of the smallest circle round all, and in their hull (Badoiu and Clarkson 2003)."""
    x = sum(c[0] for c in corners) / len(corners)
    y = sum(c[1] for c in corners) / len(corners)
    for k in range(1, 200):
        far = max(corners, key=lambda c: (c[0] - x) ** 2 + (c[1] - y) ** 2)
        x += (far[0] - x) / (k + 1)
        y += (far[1] - y) / (k + 1)
    return x, y


def _polygons(shapes: Sequence[tuple[XY, ...]], planes: int) -> Polygons:
    """As arrays; the first `planes` are half-planes to the left of a line, with one normal only."""
    import numpy as np

    most = max(len(s) for s in shapes)
    corners = np.array([s + (s[-1],) * (most - len(s)) for s in shapes])
    angles = [(_normals(s)[:1] if k < planes else _normals(s)) for k, s in enumerate(shapes)]
    most = max(len(s) for s in angles)
    low, high = corners.min(axis=1), corners.max(axis=1)
    middle = (low + high) / 2
    reach = np.hypot(*np.moveaxis(corners - middle[:, None], -1, 0)).max(axis=1)
    return Polygons(corners, np.array([s + (s[-1],) * (most - len(s)) for s in angles]), middle, reach)


def _normals(corners: tuple[XY, ...]) -> tuple[float, ...]:
    """Angles of the outward normals of a convex polygon, of both sides of a segment."""
    if len(corners) == 1:
        return _ROUND
    sides = zip(corners, corners[1:] + corners[:1], strict=True)
    return tuple(math.atan2(p[0] - q[0], q[1] - p[1]) for p, q in sides)


@dataclass(frozen=True, slots=True)
class Arcs:
    """The rings of some pairs at one heading: normals at both ends of each arc, and its corners a (turned) and b."""

    heading: float
    nx: Array
    ny: Array
    mx: Array
    my: Array
    ax: Array
    ay: Array
    bx: Array
    by: Array

    def centres(self, heading: float) -> tuple[Array, Array]:
        """b - R a of each arc, R for any heading."""
        c, s = math.cos(heading), math.sin(heading)
        return self.bx - c * self.ax + s * self.ay, self.by - s * self.ax - c * self.ay


def arcs(h: Hulls, heading: float, which: Numbers) -> Arcs:
    """Of the pairs of these numbers; heading in radians."""
    import numpy as np

    a, b, plane = h.a[which], h.b[which], h.plane[which]
    still = h.still.angles[b]
    turned = np.where(plane[:, None], still[:, :1], h.moving.angles[a] + (heading + math.pi))
    angles = np.concatenate([turned, still], axis=1) % (2 * math.pi)
    angles.sort(axis=1)
    after = np.roll(angles, -1, axis=1)
    after[:, -1] = np.where(plane, after[:, -1], after[:, -1] + 2 * math.pi)
    middle = (angles + after) / 2
    ux, uy = np.cos(middle), np.sin(middle)
    c, s = math.cos(heading), math.sin(heading)
    bx, by = _farthest(h.still.corners[b], ux, uy)
    ax, ay = _farthest(h.moving.corners[a], -(c * ux + s * uy), s * ux - c * uy)
    nx, ny = np.cos(angles), np.sin(angles)
    mx, my = np.roll(nx, -1, axis=1), np.roll(ny, -1, axis=1)
    return Arcs(heading, nx, ny, mx, my, ax, ay, bx, by)


def _farthest(corners: Array, ux: Array, uy: Array) -> tuple[Array, Array]:
    """The corner of each polygon farthest in each of its directions."""
    import numpy as np

    x, y = corners[..., 0], corners[..., 1]
    along = ux[:, :, None] * x[:, None, :] + uy[:, :, None] * y[:, None, :]
    far = along.argmax(axis=2)
    return np.take_along_axis(x, far, axis=1), np.take_along_axis(y, far, axis=1)


def distances(ring: Arcs, heading: float, which: Numbers, px: Array, py: Array) -> Array:
    """Signed distances of places from sets: exact at the ring's own heading, at others never less than that.

    `which` (cells, pairs) says which rings count in which cell, px and py (cells, places) where; the result
    is (cells, places, pairs).
    """
    import numpy as np

    cx, cy = ring.centres(heading)
    nx, ny, mx, my = (x[which][:, None] for x in (ring.nx, ring.ny, ring.mx, ring.my))
    wx = px[:, :, None, None] - cx[which][:, None]
    wy = py[:, :, None, None] - cy[which][:, None]
    first = wx * nx + wy * ny
    last = wx * mx + wy * my
    beside = (nx * wy >= ny * wx) & (wx * my >= wy * mx) & ((first >= 0) | (last >= 0))
    flat = np.maximum(first, last)
    found: Array = np.where(beside, np.sqrt(wx * wx + wy * wy), flat).max(axis=3)
    return found

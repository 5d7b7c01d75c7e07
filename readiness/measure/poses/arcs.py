"""Signed distances of the body's places from the places that are blocked, at one heading and near it.

A still piece B and a moving piece A, turned by R, touch where the body's middle p lies on the edge of B - R A. With h
the support function, the signed distance of p from that set is the largest of u p + min over a of u R a - h_B(u) over
all directions u. Between two neighbouring normals of B and of -R A the same corners b and a are the farthest. So a
set is a ring of arcs of directions, each with its b and a; an arc of no width does no harm and fills the arrays.
On the arc of a sector the farthest place is radius times u from its middle, which then counts as the corner.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from readiness.measure.poses.hulls import Hulls, Polygons

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]
    Numbers = NDArray[np.intp]

_BEHIND = -1e-9
"""m; a place so far behind both ends of an arc of no width is not within it."""


@dataclass(frozen=True, slots=True)
class Arcs:
    """The rings of some pairs at one heading. Arrays have a row an arc, a column a pair."""

    nx: Array
    """Unit normals at the start of each arc: x, y."""
    ny: Array
    mx: Array
    """At its end."""
    my: Array
    ax: Array
    """The corner a of each arc, in the body's axes."""
    ay: Array
    bx: Array
    """The corner b."""
    by: Array
    heading: float
    round_a: Array | None
    """Radius about the corner a, None where there is none; and about b."""
    round_b: Array | None

    def rounds(self, heading: float) -> Array | None:
        """How much nearer than the centres the sets reach; a place on an arc turns with the body."""
        if self.round_a is None:
            return self.round_b
        a = self.round_a * math.cos(heading - self.heading)
        return a if self.round_b is None else a + self.round_b

    def centres(self, heading: float) -> tuple[Array, Array]:
        """b - R a of each arc, R for any heading."""
        c, s = math.cos(heading), math.sin(heading)
        return self.bx - c * self.ax + s * self.ay, self.by - s * self.ax - c * self.ay


def arcs(h: Hulls, heading: float, which: Numbers) -> Arcs:
    """Of the pairs of these numbers."""
    import numpy as np

    a, b, plane = h.a[which], h.b[which], h.plane[which]
    still = h.still.angles[:, b]
    turned = np.where(plane, still[:1], h.moving.angles[:, a] + (heading + math.pi))
    angles = np.concatenate([turned, still]) % (2 * math.pi)
    angles.sort(axis=0)
    after = np.concatenate([angles[1:], np.where(plane, angles[:1], angles[:1] + 2 * math.pi)])
    middle = (angles + after) / 2
    ux, uy = np.cos(middle), np.sin(middle)
    nx, ny = np.cos(angles), np.sin(angles)
    c, s = math.cos(heading), math.sin(heading)
    ax, ay, round_a = _farthest(h.moving, a, -c * ux - s * uy, s * ux - c * uy)
    bx, by, round_b = _farthest(h.still, b, ux, uy)
    mx, my = np.concatenate([nx[1:], nx[:1]]), np.concatenate([ny[1:], ny[:1]])
    return Arcs(nx, ny, mx, my, ax, ay, bx, by, heading, round_a, round_b)


def _farthest(p: Polygons, which: Numbers, ux: Array, uy: Array) -> tuple[Array, Array, Array | None]:
    """The corner, or middle of an arc and its radius, of these pieces farthest in each of their directions (rows)."""
    import numpy as np

    cx, cy = p.x[:, which], p.y[:, which]
    far = (ux * cx[:, None] + uy * cy[:, None]).argmax(axis=0)
    x, y = p.x[far, which], p.y[far, which]
    if p.round is None:
        return x, y, None
    of = p.round
    radius = np.where(
        ux * of.toward_x[which] + uy * of.toward_y[which] >= of.least[which], of.radius[which], 0.0
    )
    on = radius > 0.0
    return np.where(on, of.x[which], x), np.where(on, of.y[which], y), radius


def distances(ring: Arcs, heading: float, which: Numbers, px: Array, py: Array) -> Array:
    """Signed distances of places from sets: exact at the ring's own heading, at others never less than that.

    `which` (boxes, pairs) says which columns of the ring count for which box, px and py (boxes, places) where
    its places are; the result has the shape (boxes, places, pairs).
    """
    import numpy as np

    cx, cy = ring.centres(heading)
    nx, ny, mx, my = (v[:, which][:, :, None] for v in (ring.nx, ring.ny, ring.mx, ring.my))
    wx = px[:, :, None] - cx[:, which][:, :, None]
    wy = py[:, :, None] - cy[:, which][:, :, None]
    flat = wx * nx + wy * ny
    np.maximum(flat, wx * mx + wy * my, out=flat)
    beside = (nx * wy >= ny * wx) & (wx * my >= wy * mx) & (flat >= _BEHIND)
    np.sqrt(wx * wx + wy * wy, out=flat, where=beside)
    round_by = ring.rounds(heading)
    if round_by is not None:
        flat -= round_by[:, which][:, :, None]
    found: Array = flat.max(axis=0)
    return found

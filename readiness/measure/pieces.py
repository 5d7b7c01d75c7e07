"""The convex pieces of a shape as polygons with a radius about them."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from readiness.measure.convex import XY, Core
from readiness.measure.plan import SectorAt, Shape
from readiness.measure.polygon import convex_pieces


@dataclass(frozen=True, slots=True)
class Convex:
    """Everything within `radius` m of a point, a segment or a convex polygon without straight corners."""

    corners: Core
    """Counterclockwise."""
    radius: float = 0.0


@lru_cache(maxsize=1024)
def pieces(shape: Shape, within: float = 0.0005) -> tuple[Convex, ...]:
    """Convex pieces whose union holds the shape and nothing farther than `within` m from it.

    Exact for all shapes but sectors, whose arcs are drawn by tangents round them. Raises ValueError unless
    `within` is more than 0.
    """
    if not within > 0.0:
        raise ValueError(f"pieces within {within} m cannot be: expected more than 0")
    if isinstance(shape, SectorAt) and shape.angle < 360.0 and shape.radius > 0.0:
        return _slices(shape, within)
    round_by = shape.radius if isinstance(shape, SectorAt) else shape.round_by
    core = ((shape.x, shape.y),) if isinstance(shape, SectorAt) else shape.core
    return tuple(Convex(part, round_by) for part in convex_pieces(core))


def _slices(sector: SectorAt, within: float) -> tuple[Convex, ...]:
    parts = 1 if sector.angle <= 180.0 else 2
    width = sector.angle / parts
    return tuple(
        Convex(_tangent_slice(sector, sector.start + k * width, width, within)) for k in range(parts)
    )


def _tangent_slice(sector: SectorAt, start: float, width: float, within: float) -> Core:
    """Apex, both ends of the arc, and between them the corners of tangents to it."""
    widest = 2 * math.acos(sector.radius / (sector.radius + within))
    n = max(1, math.ceil(math.radians(width) / widest), math.ceil(width / 120))
    step = math.radians(width) / n
    far = sector.radius / math.cos(step / 2)
    first = math.radians(start)

    def at(radius: float, angle: float) -> XY:
        return sector.x + radius * math.cos(angle), sector.y + radius * math.sin(angle)

    tangents = [at(far, first + (k + 0.5) * step) for k in range(n)]
    ends = at(sector.radius, first), at(sector.radius, first + n * step)
    corners = (ends[0], *tangents, ends[1])
    (slice_,) = convex_pieces(((sector.x, sector.y), *corners))  # half a disc: its apex is no corner
    return slice_

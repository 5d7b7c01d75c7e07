"""Where the things of a bay stand, from the marks and tapes they were measured by to bay axes.

A thing's lengths may count from a mark or a corner of the outline (`from`), or from the place where two tapes
meet (`taped`), always along the bay's own axes.
"""

from __future__ import annotations

from collections.abc import Mapping
from math import dist, hypot, inf, sqrt
from typing import NamedTuple

from msgspec.structs import replace

from readiness import job
from readiness.checklist.outline import XY

TAPE_U = 0.005
"""m; standard uncertainty of a tape read on a shop's floor; common practice, no published source."""
MARK_U = 0.01
"""m; standard uncertainty of where a mark is said to be; common practice, no published source."""


def in_bay_axes(bay: job.Bay) -> job.Bay:
    """The bay as read, its things turned into bay axes; what they were measured by stays told.

    The uncertainty of a taped thing is at least that of the place where its tapes meet.
    """
    marks = marks_of(bay)
    return replace(bay, obstacles=tuple(placed(o, marks) for o in bay.obstacles))


def marks_of(bay: job.Bay) -> dict[str, XY]:
    """What one can measure from: the bay's marks by name and the corners of its outline, in bay axes."""
    corners = {f"corner {k}": (p.x, p.y) for k, p in enumerate(bay.outline, start=1)}
    return {m.name: (m.at.x, m.at.y) for m in bay.marks} | corners


def placed(thing: job.Obstacle, marks: Mapping[str, XY]) -> job.Obstacle:
    """A thing in bay axes from what its file says. KeyError for an unknown mark, ValueError for tapes that fail."""
    if thing.taped is not None:
        fix = taped(thing.taped, marks)
        return replace(shifted(thing, fix.x, fix.y), u=max(thing.u, fix.u))
    return shifted(thing, *marks[thing.origin]) if thing.origin else thing


class Met(NamedTuple):
    """Where two tapes meet, m in bay axes, and the standard uncertainty of that place in its worst direction."""

    x: float
    y: float
    u: float


def taped(by: job.Taped, marks: Mapping[str, XY]) -> Met:
    """Where two tapes meet on the side that was said. ValueError where they do not meet."""
    a, b = (marks[name] for name in by.marks)
    return _meeting(a, b, by.tapes, 1.0 if by.side == "left" else -1.0)


def _meeting(a: XY, b: XY, tapes: tuple[float, float], side: float) -> Met:
    """Two circles cut; errors of tapes and marks to first order, along the tapes.

    With the same s for both and an angle g between the tapes, the worst direction has s / sqrt(1 - |cos g|).
    """
    (first, second), between = tapes, dist(a, b)
    along = (first**2 - second**2 + between**2) / (2 * between)
    off2 = first**2 - along**2
    if off2 < 0:
        raise ValueError("the tapes do not meet")
    off, (ex, ey) = side * sqrt(off2), ((b[0] - a[0]) / between, (b[1] - a[1]) / between)
    x, y = a[0] + along * ex - off * ey, a[1] + along * ey + off * ex
    cosine = ((x - a[0]) * (x - b[0]) + (y - a[1]) * (y - b[1])) / (first * second)
    sharp = 1 - min(abs(cosine), 1.0)
    return Met(x, y, hypot(TAPE_U, MARK_U) / sqrt(sharp) if sharp else inf)


def shifted(thing: job.Obstacle, dx: float, dy: float) -> job.Obstacle:
    """A thing moved along the axes."""

    def at(p: job.Point) -> job.Point:
        return job.Point(x=p.x + dx, y=p.y + dy)

    if thing.point is not None:
        return replace(thing, point=at(thing.point))
    if thing.disc is not None:
        return replace(thing, disc=replace(thing.disc, at=at(thing.disc.at)))
    if thing.rectangle is not None:
        box = thing.rectangle
        return replace(thing, rectangle=job.Rectangle(corner=at(box.corner), opposite=at(box.opposite)))
    if thing.wall is not None:
        return replace(thing, wall=job.Segment(start=at(thing.wall.start), end=at(thing.wall.end)))
    return replace(thing, polygon=tuple(at(p) for p in thing.polygon or ()))

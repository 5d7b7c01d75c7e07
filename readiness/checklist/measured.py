"""Where the things of a bay stand, from the marks and tapes they were measured by to bay axes.

A thing's lengths may count from a mark or a corner of the outline (`from`), or from the place where two tapes
meet (`taped`), always along the bay's own axes.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from msgspec.structs import replace

from readiness import job
from readiness.measure.trilateration import XY, Met, two_tapes

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
        met = taped(thing.taped, marks)
        return replace(shifted(thing, *met.at), u=max(thing.u, met.u))
    return shifted(thing, *marks[thing.origin]) if thing.origin else thing


def taped(by: job.Taped, marks: Mapping[str, XY]) -> Met:
    """Where two tapes meet on the side that was said. KeyError for an unknown mark, ValueError where they do not meet."""
    a, b = (marks[name] for name in by.marks)
    left, right = two_tapes(a, b, *by.tapes, u_tape=TAPE_U, u_mark=MARK_U)
    return left if by.side == "left" else right


def shifted(thing: job.Obstacle, dx: float, dy: float) -> job.Obstacle:
    """A thing moved along the axes."""
    return mapped(thing, lambda p: job.Point(x=p.x + dx, y=p.y + dy))


def mapped(thing: job.Obstacle, at: Callable[[job.Point], job.Point]) -> job.Obstacle:
    """A thing with each of its places, corners and ends where `at` puts it."""
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

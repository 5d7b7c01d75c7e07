"""Whether the shapes of zones and obstacles enclose something that can be measured against."""

from __future__ import annotations

from collections.abc import Sequence
from math import cos, dist, hypot, radians, sin
from typing import Any

from readiness import job
from readiness.checklist import outline
from readiness.checklist.mistakes import listed, shown
from readiness.checklist.numbers import more_than_zero, not_negative
from readiness.checklist.spot import Spot
from readiness.checklist.walk import Rules

SHORTEST = 0.001
"""A wall, a width or a side less long than this is none, m; sides nearer to one another touch."""
FEWEST_CORNERS, MOST_CORNERS = 3, 200
FAR = 30.0
"""A thing farther from its bay, or a zone farther from the middle of the rear axle, is a slip, m."""

ZONE_SHAPES = ("disc", "sector", "rectangle", "corridor", "polygon")
OBSTACLE_SHAPES = ("point", "disc", "rectangle", "wall", "polygon")


def closed(points: Sequence[job.Point], spot: Spot, round_what: str) -> bool:
    """Whether corners enclose an area; the first thing against it is noted here."""
    corners = [(p.x, p.y) for p in points]
    if not FEWEST_CORNERS <= len(corners) <= MOST_CORNERS:
        count = f"{len(corners)} corner{'' if len(corners) == 1 else 's'}"
        spot.wrong(count, f"{FEWEST_CORNERS} to {MOST_CORNERS}")
        return False
    for k, corner in enumerate(corners):
        if dist(corners[k - 1], corner) < SHORTEST:
            one, other = sorted((k or len(corners), k + 1))
            hint = "The last corner is joined to the first by itself." if k == 0 else ""
            spot.wrong(f"corners {one} and {other} at the same place", "each corner once", hint)
            return False
    if outline.spread_across(corners) < SHORTEST:
        spot.wrong("corners in one line, with no area between them", f"corners in order round {round_what}")
        return False
    crossed = outline.crossing(corners, SHORTEST)
    if crossed:
        i, j = (k + 1 for k in crossed)
        spot.wrong(f"sides {i} and {j} that cross or touch", f"corners in order round {round_what}")
    return not crossed


def corners_of(thing: job.Zone | job.Obstacle) -> list[outline.XY]:
    """Places that span the shape of a zone or an obstacle, round shapes by their box; in its axes."""
    round_shape = thing.disc or getattr(thing, "sector", None)
    if round_shape is not None:
        x, y, r = round_shape.at.x, round_shape.at.y, round_shape.radius
        return [(x - r, y - r), (x + r, y - r), (x + r, y + r), (x - r, y + r)]
    if thing.rectangle is not None:
        a, b = thing.rectangle.corner, thing.rectangle.opposite
        return [(a.x, a.y), (b.x, a.y), (b.x, b.y), (a.x, b.y)]
    if thing.polygon is not None:
        return [(p.x, p.y) for p in thing.polygon]
    line = getattr(thing, "corridor", None) or getattr(thing, "wall", None)
    if line is not None:
        return [(p.x, p.y) for p in (line.start, line.end)]
    point = getattr(thing, "point", None)
    return [] if point is None else [(point.x, point.y)]


def span(zone: job.Zone) -> list[outline.XY]:
    """Places within which a zone lies, with its whole width: a slice only as far as it goes round."""
    if zone.sector is not None:
        return _round(zone.sector)
    corners = corners_of(zone)
    wide = zone.corridor.half_width if zone.corridor is not None else 0.0
    return [(x + dx, y + dy) for x, y in corners for dx in {-wide, wide} for dy in {-wide, wide}]


def _round(slice_: job.Sector) -> list[outline.XY]:
    """The tip of a slice and places along its arc, no more than 5° apart."""
    turn = slice_.end - slice_.start
    angle = 360.0 if abs(turn) == 360 else turn % 360
    steps = 1 + int(angle / 5)
    at = [radians(slice_.start + angle * k / steps) for k in range(steps + 1)]
    x, y, r = slice_.at.x, slice_.at.y, slice_.radius
    return [(x, y), *((x + r * cos(a), y + r * sin(a)) for a in at)]


def _disc(value: job.Disc, spot: Spot) -> None:
    more_than_zero(value, spot, "radius")


def _sector(value: job.Sector, spot: Spot) -> None:
    more_than_zero(value, spot, "radius")
    turn, here = value.end - value.start, spot.at("to")
    if abs(turn) > 360:
        found = f"{shown(here.text)}, {abs(turn):g}° from 'from': more than once round"
        here.wrong(found, "360° at most", "A slice goes counterclockwise from 'from' to 'to'.")
    elif value.radius > 0 and radians(360 if turn == 360 else turn % 360) * value.radius < SHORTEST:
        found = f"{shown(here.text)}, the same direction as 'from': a slice of nothing"
        here.wrong(found, "a direction counterclockwise from 'from'", "All round is a disc.")
    elif turn < 0 and turn % 360 > 180:  # a large slice is meant less often than the two confused
        found = f"{shown(here.text)}, counterclockwise from 'from' a slice of {turn % 360:g}°"
        way = f"Change the two over; a slice as large as that is written with to: {value.end + 360:g} °."
        here.wrong(found, "a slice of 180° at most, or 'to' above 'from'", way)


def _corridor(value: job.Corridor, spot: Spot) -> None:
    more_than_zero(value, spot, "half_width")
    _long(value.start, value.end, spot.at("end"))


def _segment(value: job.Segment, spot: Spot) -> None:
    _long(value.start, value.end, spot.at("end"), "A thin thing, such as a post, is a point.")


def _long(start: job.Point, end: job.Point, spot: Spot, hint: str = "") -> None:
    length = dist((start.x, start.y), (end.x, end.y))
    if length < SHORTEST:
        found = (
            "the same point as the start" if length == 0 else f"an end {1000 * length:.2g} mm from the start"
        )
        spot.wrong(found, "a length of at least 1 mm", hint)


def _rectangle(value: job.Rectangle, spot: Spot) -> None:
    for axis in ("x", "y"):
        width = abs(getattr(value.corner, axis) - getattr(value.opposite, axis))
        if width < SHORTEST:
            here = spot.at("opposite", axis)
            near = (
                f"the same {axis} as the corner's"
                if width == 0
                else f"{1000 * width:.2g} mm from the corner's"
            )
            here.wrong(f"{shown(here.text)}, {near}", "a rectangle that is not flat")


def _place(value: job.Place, spot: Spot) -> None:
    not_negative(value, spot, "z")


def _height_band(value: job.HeightBand, spot: Spot) -> None:
    if value.low >= value.high:
        here = spot.at("high")
        flush = "What lies flush with the floor has a high of 0.01 m." if value.high == value.low == 0 else ""
        here.wrong(f"{shown(here.text)}, not above low ({value.low:g} m)", "high above low", flush)


def _zone(value: job.Zone, spot: Spot) -> None:
    if not _one_shape(value, spot, ZONE_SHAPES):
        return
    wide = value.corridor.half_width if value.corridor is not None else 0.0
    far = max((hypot(*corner) for corner in corners_of(value)), default=0.0) + wide
    if far > FAR:
        found = f"a zone that reaches {far:.0f} m from the middle of the rear axle"
        spot.wrong(found, f"{FAR:g} m at most, in car axes")
    elif value.polygon is not None:
        closed(value.polygon, spot.at("polygon"), "it")


def _obstacle(value: job.Obstacle, spot: Spot) -> None:
    not_negative(value, spot, "u")
    if value.origin and value.taped is not None:
        spot.wrong(
            "from and taped", "one of them", "The lengths of a taped thing count from where the tapes meet."
        )
    if _one_shape(value, spot, OBSTACLE_SHAPES) and value.polygon is not None:
        closed(value.polygon, spot.at("polygon"), "it")


def _one_shape(value: Any, spot: Spot, shapes: tuple[str, ...]) -> bool:
    given = [s for s in shapes if getattr(value, s) is not None]
    if len(given) != 1:
        spot.wrong(listed(given) if given else "no shape", f"exactly one of {listed(shapes)}")
    return len(given) == 1


SHAPE_RULES: Rules = {
    job.Disc: _disc,
    job.Sector: _sector,
    job.Corridor: _corridor,
    job.Place: _place,
    job.Segment: _segment,
    job.Rectangle: _rectangle,
    job.HeightBand: _height_band,
    job.Zone: _zone,
    job.Obstacle: _obstacle,
}

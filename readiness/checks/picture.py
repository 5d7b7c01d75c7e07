"""Plain shapes in metres that a finding may carry; the terminal and the report draw the same ones.

Car axes, or a bay's: x forward, y left. Roles say what a shape is; how a role looks is each face's business.
What every face has to know of the shapes to draw them stands here too: how far they reach, where a car's
front is, how long a scale is.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Literal

from readiness.job import Reason, System

Role = Literal[
    "bay", "car", "wheel", "sensor", "target", "zone", "obstacle", "mark", "clearance", "height", "here"
]
XY = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Outline:
    """A closed polygon. A car's begins and ends at its front, so that a face can tell which end that is."""

    role: Role
    points: tuple[XY, ...]
    label: str = ""
    marked: bool = False
    """Drawn with emphasis: this is the shape that fails or binds."""
    note: str = ""
    """One sentence for who asks about this shape: its height, what it is made of, its clearance."""
    reason: Reason | Literal[""] = ""
    """Of a zone: what it keeps out; each reason is hatched in its own way."""


@dataclass(frozen=True, slots=True)
class Line:
    role: Role
    points: tuple[XY, ...]
    label: str = ""
    marked: bool = False
    note: str = ""


@dataclass(frozen=True, slots=True)
class Circle:
    role: Role
    at: XY
    radius: float
    label: str = ""
    marked: bool = False
    note: str = ""
    reason: Reason | Literal[""] = ""


@dataclass(frozen=True, slots=True)
class Spot:
    """A point with a word or a number beside it."""

    role: Role
    at: XY
    label: str = ""
    marked: bool = False
    hollow: bool = False
    """A place that is known and not looked at yet."""
    note: str = ""


Shape = Outline | Line | Circle | Spot
Picture = tuple[Shape, ...]

# --- what every face has to know -----------------------------------------------------------------

BEHIND: tuple[Role, ...] = (
    "bay", "zone", "car", "obstacle", "wheel", "height", "mark", "sensor", "target", "clearance", "here",
)  # fmt: skip
"""What is drawn first, so that the rest comes over it."""
WORDS_FIRST: tuple[Role, ...] = (
    "here", "clearance", "wheel", "target", "sensor", "height", "mark", "obstacle", "zone", "car", "bay",
)  # fmt: skip
"""Whose words get a place first where there is not room for all."""
KEEPS_OUT: dict[Reason, str] = {
    "metal-free": "no metal",
    "nothing between": "nothing at all",
    "people-free": "no people",
    "walking room": "nothing to bump into",
}
TYRE = (0.65, 0.2)
"""m; length and breadth of a wheel as it is drawn."""
FARTHEST = 1e9
"""m; what lies farther is drawn there, so that no sum of lengths comes out infinite."""
FOOT = 0.3048


def extent(shape: Shape) -> tuple[XY, ...]:
    """Points whose bounding box is the shape's."""
    if isinstance(shape, Spot):
        return (shape.at,)
    if isinstance(shape, Circle):
        (x, y), r = shape.at, shape.radius
        return ((x - r, y - r), (x + r, y + r))
    return shape.points


def bounds(picture: Picture) -> tuple[float, float, float, float]:
    """Least x and y, greatest x and y; all zero where there is nothing."""
    points = [p for s in picture for p in extent(s)] or [(0.0, 0.0)]
    xs, ys = zip(*points, strict=True)
    return min(xs), min(ys), max(xs), max(ys)


def middle_of(shape: Shape) -> XY:
    x1, y1, x2, y2 = bounds((shape,))
    return (x1 + x2) / 2, (y1 + y2) / 2


def sound(picture: Picture) -> Picture:
    """The shapes that can be drawn: with points, all of them finite, none beyond FARTHEST."""
    finite = (s for s in picture if extent(s) and all(map(math.isfinite, (v for p in extent(s) for v in p))))
    return tuple(s if all(abs(v) <= FARTHEST for p in extent(s) for v in p) else _held(s) for s in finite)


def _held(shape: Shape) -> Shape:
    def held(v: float) -> float:
        return min(FARTHEST, max(-FARTHEST, v))

    if isinstance(shape, Spot):
        return replace(shape, at=(held(shape.at[0]), held(shape.at[1])))
    if isinstance(shape, Circle):
        return replace(shape, at=(held(shape.at[0]), held(shape.at[1])), radius=min(FARTHEST, shape.radius))
    return replace(shape, points=tuple((held(x), held(y)) for x, y in shape.points))


def turned(picture: Picture) -> Picture:
    """The same laid on its side: what went up goes to the right, what went left goes up."""
    return tuple(
        replace(s, at=_aside(s.at))
        if isinstance(s, Spot | Circle)
        else replace(s, points=tuple(_aside(p) for p in s.points))
        for s in picture
    )


def _aside(at: XY) -> XY:
    return at[1], -at[0]


def front_of(car: Outline) -> tuple[XY, XY]:
    """The middle of a car's front, and the direction in which it points, of length 1."""
    (x1, y1), (x2, y2) = car.points[0], car.points[-1]
    front = (x1 + x2) / 2, (y1 + y2) / 2
    n = len(car.points)
    dx = front[0] - sum(x for x, _ in car.points) / n
    dy = front[1] - sum(y for _, y in car.points) / n
    long = math.hypot(dx, dy)
    return front, (dx / long, dy / long) if long else (1.0, 0.0)


def car_of(picture: Picture) -> Outline | None:
    return next((s for s in picture if isinstance(s, Outline) and s.role == "car" and s.points), None)


def tyres(picture: Picture) -> Iterator[tuple[Spot, Outline]]:
    """Every wheel with the rectangle that stands for it, turned as the car is."""
    car = car_of(picture)
    fx, fy = front_of(car)[1] if car is not None else (1.0, 0.0)
    along, across = TYRE[0] / 2, TYRE[1] / 2
    for spot in picture:
        if isinstance(spot, Spot) and spot.role == "wheel":
            (x, y) = spot.at
            corners = tuple(
                (x + a * along * fx - b * across * fy, y + a * along * fy + b * across * fx)
                for a, b in ((1, 1), (-1, 1), (-1, -1), (1, -1))
            )
            yield spot, Outline("wheel", corners, marked=spot.marked)


def across_to_middle(spot: Spot, car: Outline) -> XY:
    """From a wheel across the car towards its middle, of length 1; to the left where it stands in the middle."""
    (fx, fy), (dx, dy) = front_of(car)
    to_left = (fx - spot.at[0]) * -dy + (fy - spot.at[1]) * dx
    return (-dy, dx) if to_left >= 0 else (dy, -dx)


def is_plan(picture: Picture) -> bool:
    """Whether lengths in it mean something beyond the car: it wants a scale."""
    return any(s.role in ("bay", "zone", "obstacle", "height") for s in picture)


def scale_of(longest: float, system: System) -> tuple[float, str]:
    """The longest round length in m that is not over `longest`, and how the shop writes it: '1 m', '3 ft'."""
    unit, steps = (FOOT, (1, 3, 5)) if system == "us" else (1.0, (1, 2, 5))
    if system == "us" and longest < FOOT:
        inches = max((n for n in (1, 2, 3, 6) if n * FOOT / 12 <= longest), default=1)
        return inches * FOOT / 12, f"{inches} in"
    power = 10.0 ** math.floor(math.log10(max(longest / unit, 1e-3)))
    size = max((n * power for n in steps if n * power <= longest / unit * (1 + 1e-9)), default=power)
    return size * unit, f"{size:.10g} {'ft' if system == 'us' else 'm'}"

"""Where things come on the sheet of an SVG picture, and where its words find a place."""

from __future__ import annotations

import math
import unicodedata
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Literal, TypeGuard
from xml.sax.saxutils import escape

from readiness.checks.picture import (
    WORDS_FIRST,
    XY,
    Circle,
    Outline,
    Picture,
    Shape,
    Spot,
    across_to_middle,
    bounds,
    car_of,
    front_of,
    middle_of,
    tyres,
)
from readiness.report.text import clean

LETTER, STRONG, LINE = 7.4, 8.4, 16.0
"""Breadth of a letter, of a bold one, and height of a line, in pixels, as wide as they may come out."""
MARGIN = 28.0
DEEPEST = 1.4
"""Height of the drawing over its width, at most."""
LONGEST = 34
"""Letters of a name; the rest is cut off."""
GRAIN = 6.0
"""Pixels; how finely it is known where lines run."""

Box = tuple[float, float, float, float]
"""Left, top, right, bottom."""
Spoken = tuple[float, float, Literal["start", "middle", "end"]]
"""Where words stand: beginning, middle or end of them, and the middle of their height."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """Metres to pixels: x forward goes up, y left goes left."""

    width: float
    bottom: float
    scale: float
    top_x: float
    left_y: float
    left: float

    @classmethod
    def of(cls, picture: Picture, width: float) -> Sheet:
        x1, y1, x2, y2 = bounds(picture)
        deep, broad = max(x2 - x1, 0.1), max(y2 - y1, 0.1)
        scale = min((width - 2 * MARGIN) / broad, DEEPEST * width / deep)
        return cls(width, 2 * MARGIN + scale * (x2 - x1), scale, x2, y2, (width - scale * (y2 - y1)) / 2)

    def at(self, p: XY) -> XY:
        return self.left + (self.left_y - p[1]) * self.scale, MARGIN + (self.top_x - p[0]) * self.scale

    def path(self, points: Iterable[XY], *, closed: bool) -> str:
        corners = " L".join(f"{n(c)},{n(r)}" for c, r in map(self.at, points))
        return f"M{corners}{'Z' * closed}"


def words(picture: Picture, sheet: Sheet) -> Iterator[str]:
    """Names beside or in their shapes, never over one another; what finds no place is told in the description only."""
    there = _There(sheet, [_about(sheet.at(s.at)) for s in picture if _pointed(s)], _ink(picture, sheet))
    car = car_of(picture)
    if car is not None:
        yield from _placed("front", _at_front(car, sheet), there, "quiet")
    named = [s for s in picture if s.label and s.role != "bay"]
    for shape in sorted(named, key=lambda s: (not s.marked, WORDS_FIRST.index(s.role))):
        strong = "strong" if shape.marked or shape.role in ("clearance", "here") else ""
        yield from _placed(_cut(clean(shape.label)), _places(shape, sheet, car), there, strong)


@dataclass(frozen=True, slots=True)
class _There:
    """What stands on the sheet already."""

    sheet: Sheet
    taken: list[Box]
    ink: frozenset[tuple[int, int]] = field(repr=False)

    def free(self, box: Box) -> bool:
        inside = (
            box[0] >= 2 and box[2] <= self.sheet.width - 2 and box[1] >= 0 and box[3] <= self.sheet.bottom
        )
        return inside and not any(_overlap(box, other) for other in self.taken)

    def covers(self, box: Box) -> int:
        """How much of lines words in that box would cover."""
        columns = range(int(box[0] / GRAIN), int(box[2] / GRAIN) + 1)
        rows = range(int((box[1] + 2) / GRAIN), int((box[3] - 2) / GRAIN) + 1)
        return sum((c, r) in self.ink for c in columns for r in rows)


def _placed(text: str, places: Sequence[Spoken], there: _There, kind: str) -> Iterator[str]:
    """The words where they cover least of the lines, at the first of such places."""
    wide = (STRONG if kind == "strong" else LETTER) * sum(map(_letters, text))
    boxes = [(_box(place, wide), place) for place in places]
    best = min(((there.covers(b), k) for k, (b, _) in enumerate(boxes) if there.free(b)), default=None)
    if best is None or not text:
        return
    box, (c, r, anchor) = boxes[best[1]]
    there.taken.append(box)
    yield f'<text class="{kind}" x="{n(c)}" y="{n(r + 4.5)}" text-anchor="{anchor}">{escaped(text)}</text>'


def _box(place: Spoken, wide: float) -> Box:
    c, r, anchor = place
    left = c - wide * {"start": 0.0, "middle": 0.5, "end": 1.0}[anchor]
    return left, r - LINE / 2, left + wide, r + LINE / 2


def _at_front(car: Outline, sheet: Sheet) -> Sequence[Spoken]:
    """Inside the car at its front, on a line behind it, and as a last resort before it."""
    (x, y), (dx, dy) = front_of(car)
    c, r = sheet.at((x, y))
    back = LINE / 2 + 4
    if abs(dy) > abs(dx):
        anchor: Literal["start", "end"] = "end" if dy < 0 else "start"
        return [(c + 6 * dy * k, r + dx * back * k, anchor) for k in (1, 3)] + [
            (c - 6 * dy, r, "start" if dy < 0 else "end")
        ]
    return [(c + back * dy * k, r + back * dx * k, "middle") for k in (1, 1.8, -1)]


def _places(shape: Shape, sheet: Sheet, car: Outline | None) -> Sequence[Spoken]:
    """Where the name of a shape may stand, best first."""
    c, r = sheet.at(middle_of(shape))
    over: list[Spoken] = [(c, r + k * LINE, "middle") for k in (-1, 1, -2, 2)]
    beside: list[Spoken] = [(c + 9, r + k * LINE / 2, "start") for k in (0, -1, 1)]
    beside += [(c - 9, r + k * LINE / 2, "end") for k in (0, -1, 1)]
    if shape.role == "wheel" and isinstance(shape, Spot) and car is not None:
        dx, dy = across_to_middle(shape, car)
        off = 0.14 * sheet.scale + 4 + (LINE / 2 if abs(dx) > abs(dy) else 0)
        anchor: Literal["start", "middle", "end"] = (
            "middle" if abs(dx) > abs(dy) else "end" if dy > 0 else "start"
        )
        return [(c - dy * off, r - dx * off, anchor), *over]
    if _pointed(shape):
        return [*beside, *over]
    if shape.role == "clearance":
        return [*beside, *over, (c, r, "middle")]
    return [(c, r, "middle"), *over, *beside]


def _ink(picture: Picture, sheet: Sheet) -> frozenset[tuple[int, int]]:
    """Grains of the sheet through which a line runs; hatching does not count, words stand well on it."""
    shapes = [*(s for s in picture if not isinstance(s, Spot)), *(bar for _, bar in tyres(picture))]
    return frozenset(
        (int(c / GRAIN), int(r / GRAIN))
        for s in shapes
        for p, q in pairwise(_round(s))
        for c, r in _along(p, q, sheet)
    )


def _along(p: XY, q: XY, sheet: Sheet) -> Iterator[XY]:
    (a, b), (c, d) = sheet.at(p), sheet.at(q)
    steps = 1 + int(max(abs(c - a), abs(d - b)) / GRAIN)
    for k in range(steps + 1):
        yield a + k / steps * (c - a), b + k / steps * (d - b)


def _round(shape: Shape) -> Sequence[XY]:
    """The line that a shape is drawn with, closed where it is."""
    if isinstance(shape, Circle):
        (x, y), r = shape.at, shape.radius
        turns = [k * math.tau / 48 for k in range(49)]
        return [(x + r * math.cos(t), y + r * math.sin(t)) for t in turns]
    if isinstance(shape, Spot):
        return ()
    return (*shape.points, shape.points[0]) if isinstance(shape, Outline) else shape.points


def _pointed(shape: Shape) -> TypeGuard[Spot]:
    return isinstance(shape, Spot) and shape.role != "wheel"


def _about(at: XY) -> Box:
    return at[0] - 7, at[1] - 7, at[0] + 7, at[1] + 7


def _overlap(a: Box, b: Box) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def _cut(text: str) -> str:
    return text if len(text) <= LONGEST else f"{text[: LONGEST - 1].rstrip()}…"


def _letters(char: str) -> int:
    """How many letters wide a character is: 2 for those of East Asian writing, 0 for an accent."""
    return 0 if unicodedata.combining(char) else 1 + (unicodedata.east_asian_width(char) in "WF")


def escaped(text: str) -> str:
    return escape(clean(text))


def n(value: float) -> str:
    """A length in pixels to a thousandth, without needless zeros."""
    return f"{round(value, 3) + 0.0:.10g}"

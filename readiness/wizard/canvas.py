"""Shapes in metres -> rows of characters: braille dots for outlines, words on top. Pure.

A braille cell holds 2 x 4 dots, and a terminal's cell is about twice as high as wide, so dots are
nearly square and circles look round. The nose of the car points up.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Literal

from rich.cells import cell_len

from readiness.checks.picture import XY, Circle, Line, Outline, Picture, Role, Shape, Spot

Cell = tuple[str, Role | Literal[""], bool]
"""Character, role of what is drawn there, whether it is marked."""

DOTS = ((0x01, 0x08), (0x02, 0x10), (0x04, 0x20), (0x40, 0x80))
"""Bit of each dot of a braille cell, by row and column."""
BLANK: Cell = (" ", "", False)


@dataclass(frozen=True, slots=True)
class View:
    """Car axes to dots: x forward goes up, y left goes left."""

    middle: XY
    dots_per_metre: float
    width: int
    height: int

    def dot(self, at: XY) -> tuple[float, float]:
        column = self.width - (at[1] - self.middle[1]) * self.dots_per_metre
        row = 2 * self.height - (at[0] - self.middle[0]) * self.dots_per_metre
        return column, row


def fitting(picture: Picture, width: int, height: int) -> View:
    """The view that shows all of a picture in width x height cells, with room for words."""
    xs, ys = zip(*(p for s in picture for p in _extent(s)), strict=True)
    deep, broad = max(max(xs) - min(xs), 0.1), max(max(ys) - min(ys), 0.1)
    scale = min((4 * height - 4) / deep, (2 * width - 8) / broad)
    return View(((max(xs) + min(xs)) / 2, (max(ys) + min(ys)) / 2), scale, width, height)


def drawn(picture: Picture, width: int, height: int) -> list[list[Cell]]:
    """`height` rows of exactly `width` cells."""
    rows: list[list[Cell]] = [[BLANK] * width for _ in range(height)]
    if not picture or width < 10 or height < 4:
        return rows
    view = fitting(picture, width, height)
    ink = _Ink(width, height)
    for shape in sorted(picture, key=lambda s: s.marked):
        for start, stop in _strokes(shape):
            ink.stroke(view.dot(start), view.dot(stop), shape)
    ink.pour(rows)
    worded = [s for s in sorted(picture, key=_importance) if s.role in IMPORTANCE]
    # a dot always shows, so that no place is missing; its words give way
    taken = {_dot(rows, view, s) for s in reversed(worded) if _pointed(s)}
    for shape in worded:
        if shape.label:
            _write(rows, view, shape, taken)
    return rows


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


def lies_better(picture: Picture, width: int, height: int) -> bool:
    """Whether a picture comes out larger on its side."""
    if not picture:
        return False
    upright, aside = (fitting(p, width, height).dots_per_metre for p in (picture, turned(picture)))
    return aside > upright


IMPORTANCE: tuple[Role, ...] = (
    "here",
    "clearance",
    "wheel",
    "target",
    "sensor",
    "height",
    "obstacle",
    "zone",
    "car",
)
"""Whose words get a place first; what finds none is left out, never drawn over another. The bay's name
stands over the picture already."""
SHIFTS = (0, 1, -1, 2, -2)
"""Rows by which words may move to find a free place."""


def _importance(shape: Shape) -> tuple[bool, int]:
    return not shape.marked, (*IMPORTANCE, "bay").index(shape.role)


class _Ink:
    """Dots set so far, with the last shape that touched each cell."""

    def __init__(self, width: int, height: int) -> None:
        self.width, self.height = width, height
        self.bits: dict[tuple[int, int], int] = {}
        self.owner: dict[tuple[int, int], Shape] = {}

    def stroke(self, start: tuple[float, float], stop: tuple[float, float], shape: Shape) -> None:
        steps = max(1, math.ceil(max(abs(stop[0] - start[0]), abs(stop[1] - start[1]))))
        for k in range(steps + 1):
            if shape.role == "zone" and k % 3 == 2:
                continue  # zones are broken lines, so that they differ without colour
            t = k / steps
            self._dot(start[0] + t * (stop[0] - start[0]), start[1] + t * (stop[1] - start[1]), shape)

    def _dot(self, column: float, row: float, shape: Shape) -> None:
        c, r = math.floor(column), math.floor(row)
        cell = (r // 4, c // 2)
        if 0 <= cell[0] < self.height and 0 <= cell[1] < self.width:
            self.bits[cell] = self.bits.get(cell, 0) | DOTS[r % 4][c % 2]
            self.owner[cell] = shape

    def pour(self, rows: list[list[Cell]]) -> None:
        for (r, c), bits in self.bits.items():
            shape = self.owner[r, c]
            rows[r][c] = (chr(0x2800 + bits), shape.role, shape.marked)


def _strokes(shape: Shape) -> list[tuple[XY, XY]]:
    if isinstance(shape, Spot):
        return []
    if isinstance(shape, Circle):
        points = [
            (shape.at[0] + shape.radius * math.cos(a), shape.at[1] + shape.radius * math.sin(a))
            for a in (k * math.tau / 48 for k in range(49))
        ]
        return list(itertools.pairwise(points))
    points = list(shape.points)
    if isinstance(shape, Outline):
        points.append(points[0])
    return list(itertools.pairwise(points))


def _extent(shape: Shape) -> list[XY]:
    if isinstance(shape, Spot):
        return [shape.at]
    if isinstance(shape, Circle):
        (x, y), r = shape.at, shape.radius
        return [(x - r, y - r), (x + r, y + r)]
    return list(shape.points)


def _anchor(shape: Shape) -> XY:
    if isinstance(shape, Spot | Circle):
        return shape.at
    xs, ys = zip(*shape.points, strict=True)
    return (max(xs) + min(xs)) / 2, (max(ys) + min(ys)) / 2


Words = tuple[int, int, str]
"""Row and column of the first character, and the characters."""


def _pointed(shape: Shape) -> bool:
    """Whether a dot stands where the shape is, and its words beside it."""
    return isinstance(shape, Spot) and shape.role != "wheel"


def _cell(view: View, shape: Shape) -> tuple[int, int]:
    """Row and column of the middle of a shape, within the picture."""
    column, row = view.dot(_anchor(shape))
    return min(view.height - 1, max(0, int(row // 4))), min(view.width - 1, max(0, int(column // 2)))


def _dot(rows: list[list[Cell]], view: View, shape: Shape) -> tuple[int, int]:
    row, column = _cell(view, shape)
    rows[row][column] = ("◦" if isinstance(shape, Spot) and shape.hollow else "•", shape.role, shape.marked)
    return row, column


def _write(rows: list[list[Cell]], view: View, shape: Shape, taken: set[tuple[int, int]]) -> None:
    """Words at the first place that is free; none where none is."""
    label = "".join(c for c in shape.label if c.isprintable() and cell_len(c) == 1)[: view.width]
    for row, start, words in _places(view, shape, label):
        cells = {(row, c) for c in range(start, start + len(words))}
        around = cells | {(row, start - 1), (row, start + len(words))} - {_cell(view, shape)}
        if 0 <= row < view.height and 0 <= start <= view.width - len(words) and not around & taken:
            break
    else:
        return
    taken |= around
    for k, character in enumerate(words):
        rows[row][start + k] = (character, shape.role, shape.marked)


def _places(view: View, shape: Shape, label: str) -> Iterator[Words]:
    """Where words may stand, best first: beside a dot, whole or what comes before the colon; else in the middle."""
    row, column = _cell(view, shape)
    if _pointed(shape):
        for words in dict.fromkeys((label, label.partition(":")[0])):
            yield row, column + 1, words
            yield row, column - len(words), words
        return
    start = max(0, min(view.width - len(label), column - len(label) // 2))
    yield from ((row + shift, start, label) for shift in SHIFTS)


__all__ = ["Cell", "Line", "View", "drawn", "fitting", "lies_better", "turned"]

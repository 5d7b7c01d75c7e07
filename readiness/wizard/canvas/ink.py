"""Dots of a picture: lines cut at the edge of the view, circles row by row, hatching span by span.

A row of dots is one whole number, a dot one bit of it, so that filling and covering are single operations
and nothing outside the view costs time however large it is.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator
from functools import lru_cache

from readiness.checks.picture import BEHIND, XY, Circle, Line, Outline, Role, Shape
from readiness.wizard.canvas.view import Cell, View

DOTS = ((0x01, 0x08), (0x02, 0x10), (0x04, 0x20), (0x40, 0x80))
"""Bit of each dot of a braille cell, by row and column."""
CELLS = tuple(
    chr(0x2800 + sum(DOTS[k // 2][k % 2] for k in range(8) if bits >> k & 1)) for bits in range(256)
)
"""The character of a cell from its dots, row by row, left to right, lowest bit first."""
BROKEN = 3
"""Every third dot of a zone's line is left out, so that it differs without colour."""
Span = tuple[int, int, int]
"""Row, first dot, dot after the last."""
Layer = tuple[bool, int, bool, Role]
"""Whether it is a line, not hatching; how far in front; whether it stands out; its role."""


def _slant(c: int, r: int) -> bool:
    return (c + r) % 6 == 0


def _counter(c: int, r: int) -> bool:
    return (c - r) % 6 == 0


def _dotted(c: int, r: int) -> bool:
    return r % 4 == 1 and (c + r // 2) % 4 == 0


def _dashed(c: int, r: int) -> bool:
    return r % 4 == 2 and (c + r) % 8 < 5


HATCHES = {
    "": _slant,
    "metal-free": _slant,
    "nothing between": _counter,
    "people-free": _dotted,
    "walking room": _dashed,
}
PERIOD = 24


@lru_cache(maxsize=1024)
def _pattern(reason: str, width: int, r: int) -> int:
    """One row of hatching."""
    return sum(1 << c for c in range(width) if HATCHES[reason](c, r))


class Ink:
    """Dots set so far in layers, hatching behind lines."""

    def __init__(self, view: View) -> None:
        self.view = view
        self.width, self.height = 2 * view.width, 4 * view.height
        self._layers: dict[Layer, list[int]] = {}
        self.lines: set[tuple[int, int]] = set()
        """Row and column of the cells through which a line runs, once poured."""

    def _rows(self, layer: Layer) -> list[int]:
        if layer not in self._layers:
            self._layers[layer] = [0] * self.height
        return self._layers[layer]

    # --- drawing ---------------------------------------------------------------------------------

    def hatch(self, shape: Shape) -> None:
        reason = shape.reason if isinstance(shape, Outline | Circle) else ""
        rows = self._rows((False, BEHIND.index(shape.role), shape.marked, shape.role))
        for r, start, stop in self._spans(shape):
            rows[r] |= _bits(start, stop) & _pattern(reason, self.width, r % PERIOD)

    def blank(self, shape: Shape) -> None:
        """No hatching inside a shape."""
        hatched = [rows for (is_line, *_), rows in self._layers.items() if not is_line]
        for r, start, stop in self._spans(shape) if hatched else ():
            inside = ~_bits(start, stop)
            for rows in hatched:
                rows[r] &= inside

    def solid(self, shape: Shape) -> None:
        rows = self._rows(_layer(shape, lit=False))
        for r, start, stop in self._spans(shape):
            rows[r] |= _bits(start, stop)

    def line(self, shape: Shape, *, lit: bool) -> None:
        """The line round a shape or along it; twice as thick where it stands out."""
        rows, thick = self._rows(_layer(shape, lit=lit)), lit or shape.marked
        for c, r in self._dots(shape):
            rows[r] |= (3 if thick else 1) << c
        if thick:
            whole = (1 << self.width) - 1
            rows[:] = [row & whole for row in rows]

    def _dots(self, shape: Shape) -> Iterator[tuple[int, int]]:
        broken = shape.role == "zone"
        if isinstance(shape, Circle):
            c, r = self.view.dot(shape.at)
            yield from _circle(c, r, shape.radius * self.view.dots_per_metre, self.width, self.height, broken)
            return
        corners = [self.view.dot(p) for p in _round(shape)]
        for p, q in itertools.pairwise(corners):
            yield from _segment(p, q, self.width, self.height, broken)

    def _spans(self, shape: Shape) -> Iterator[Span]:
        """Rows of dots whose middles lie inside a shape."""
        if isinstance(shape, Circle):
            c, r = self.view.dot(shape.at)
            yield from _disc(c, r, shape.radius * self.view.dots_per_metre, self.width, self.height)
        elif isinstance(shape, Outline):
            yield from _filled([self.view.dot(p) for p in shape.points], self.width, self.height)

    # --- pouring ---------------------------------------------------------------------------------

    def pour(self, rows: list[list[Cell]]) -> None:
        """Every cell has all its dots, and the look of the foremost of them."""
        for r in range(self.view.height):
            found: dict[int, tuple[int, Layer]] = {}
            for layer in sorted(self._layers):
                for c, bits in _cells(self._layers[layer][4 * r : 4 * r + 4]):
                    found[c] = (found[c][0] | bits if c in found else bits, layer)
            for c, (bits, (is_line, _, marked, role)) in found.items():
                rows[r][c] = (CELLS[bits], role, marked)
                if is_line:
                    self.lines.add((r, c))


def _layer(shape: Shape, *, lit: bool) -> Layer:
    role: Role = "here" if lit else shape.role
    return True, BEHIND.index(role), shape.marked and not lit, role


def _bits(start: int, stop: int) -> int:
    return (1 << stop) - (1 << start)


def _cells(rows: list[int]) -> Iterator[tuple[int, int]]:
    """Column and dots of each cell that has any, of four rows of dots."""
    a, b, c, d = rows
    left = a | b | c | d
    while left:
        at = ((left & -left).bit_length() - 1) & ~1
        yield at >> 1, (a >> at & 3) | (b >> at & 3) << 2 | (c >> at & 3) << 4 | (d >> at & 3) << 6
        left &= -1 << at + 2


# --- shapes in dots ------------------------------------------------------------------------------


def _round(shape: Shape) -> tuple[XY, ...]:
    """Corners along the line of a shape; a single one stands for a line of no length."""
    if isinstance(shape, Outline):
        return (*shape.points, shape.points[0])
    return (*shape.points, shape.points[-1]) if isinstance(shape, Line) else ()


def clipped(p: XY, q: XY, width: float, height: float) -> tuple[XY, XY] | None:
    """The part of a segment within 0..width, 0..height; None where there is none (Liang and Barsky 1984)."""
    dx, dy = q[0] - p[0], q[1] - p[1]
    t0, t1 = 0.0, 1.0
    for rate, room in ((-dx, p[0]), (dx, width - p[0]), (-dy, p[1]), (dy, height - p[1])):
        if rate < 0:
            t0 = max(t0, room / rate)
        elif rate > 0:
            t1 = min(t1, room / rate)
        elif room < 0:
            return None
        if t0 > t1:
            return None
    return (p[0] + t0 * dx, p[1] + t0 * dy), (p[0] + t1 * dx, p[1] + t1 * dy)


def _segment(p: XY, q: XY, width: int, height: int, broken: bool) -> Iterator[tuple[int, int]]:
    seen = clipped(p, q, width, height)
    if seen is None:
        return
    (c, r), (c2, r2) = seen
    steps = max(1, math.ceil(max(abs(c2 - c), abs(r2 - r))))
    dc, dr = (c2 - c) / steps, (r2 - r) / steps
    for k in range(steps + 1):
        if broken and k % BROKEN == BROKEN - 1:
            continue
        column, row = math.floor(c + k * dc), math.floor(r + k * dr)
        if 0 <= column < width and 0 <= row < height:
            yield column, row


def _circle(
    c: float, r: float, radius: float, width: int, height: int, broken: bool
) -> Iterator[tuple[int, int]]:
    """Its steep parts row by row, its flat ones column by column: round at any size, no dot outside is looked at."""
    if radius < 1.0:
        if 0 <= c < width and 0 <= r < height:
            yield math.floor(c), math.floor(r)
        return
    for row, low, high in _chords(r, c, radius, height, broken):
        yield from ((math.floor(column), row) for column in (low, high) if 0 <= column < width)
    for column, low, high in _chords(c, r, radius, width, broken):
        yield from ((column, math.floor(row)) for row in (low, high) if 0 <= row < height)


def _chords(
    a: float, b: float, radius: float, count: int, broken: bool
) -> Iterator[tuple[int, float, float]]:
    """Lines k + 1/2 across a circle about (a, b) and where they cut it, where they cut it steeply."""
    for k in range(max(0, math.floor(a - radius)), min(count, math.ceil(a + radius))):
        off = k + 0.5 - a
        half = math.sqrt(max(0.0, (radius - off) * (radius + off)))
        # a dot more than the steep parts, so that they meet the flat ones
        if half >= abs(off) - 1.0 and not (broken and k % BROKEN == BROKEN - 1):
            yield k, b - half, b + half


def _disc(c: float, r: float, radius: float, width: int, height: int) -> Iterator[Span]:
    for row in range(max(0, math.floor(r - radius)), min(height, math.ceil(r + radius))):
        off = row + 0.5 - r
        if abs(off) <= radius:
            half = math.sqrt((radius - off) * (radius + off))
            yield from _span(row, c - half, c + half, width)


def _filled(corners: list[XY], width: int, height: int) -> Iterator[Span]:
    """Even-odd rule, one row of dots after the other."""
    crossings: dict[int, list[float]] = {}
    for (c, r), (c2, r2) in zip(corners, corners[1:] + corners[:1], strict=True):
        if r > r2:
            c, r, c2, r2 = c2, r2, c, r
        # rows whose middle lies in r <= middle < r2
        for row in range(max(0, math.ceil(r - 0.5)), min(height, math.ceil(r2 - 0.5))):
            crossings.setdefault(row, []).append(c + (row + 0.5 - r) / (r2 - r) * (c2 - c))
    for row, at in crossings.items():
        at.sort()
        for low, high in zip(at[::2], at[1::2], strict=False):
            yield from _span(row, low, high, width)


def _span(row: int, low: float, high: float, width: int) -> Iterator[Span]:
    start, stop = max(0, math.ceil(low - 0.5)), min(width, math.ceil(high - 0.5))
    if start < stop:
        yield row, start, stop

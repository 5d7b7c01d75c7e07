"""The number line: limits, guard bands and reading in one row, as cells to draw. Pure.

├────▒▒▓▓▓▓●▓▓▓▒▒────┤     ▓ counts as a pass   ▒ guard band   ─ outside the limits
"""

from __future__ import annotations

from typing import Literal

from readiness.checks.kind import Part
from readiness.checks.scale import Scale, scale_of

Look = Literal["outside", "guard", "inside", "reading", "end"]
MINIMUM_WIDTH = 7


def cells(part: Part, width: int) -> list[tuple[str, Look]]:
    """One glyph and its look for each of `width` cells; empty if there is nothing to draw."""
    scale = scale_of(part)
    if scale is None or width < MINIMUM_WIDTH:
        return []
    inner = width - 2
    row = [_ground(part, scale, k, inner) for k in range(inner)]
    start: tuple[str, Look] = ("├", "end")
    stop: tuple[str, Look] = ("┤", "end")
    if isinstance(part.value, float):
        if part.value < scale.start:
            start = ("◄", "reading")
        elif part.value > scale.stop:
            stop = ("►", "reading")
        else:
            row[scale.cell(part.value, inner)] = ("●", "reading")
    return [start, *row, stop]


def _ground(part: Part, scale: Scale, k: int, inner: int) -> tuple[str, Look]:
    """What lies in a cell, judged at its middle."""
    middle = scale.start + (k + 0.5) / inner * (scale.stop - scale.start)
    guard = part.guard or 0.0
    if (part.low is not None and middle < part.low - guard) or (
        part.high is not None and middle > part.high + guard
    ):
        return "─", "outside"
    if (part.low is not None and middle < part.low + guard) or (
        part.high is not None and middle > part.high - guard
    ):
        return "▒", "guard"
    return "▓", "inside"

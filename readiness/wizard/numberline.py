"""The number line: limits, guard bands and reading in one row, as cells to draw. Pure.

├────▒▒▓▓▓▓●▓▓▓▒▒────┤     ▓ counts as a pass   ▒ guard band   ─ outside the limits
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from readiness.checks.kind import Part

Look = Literal["outside", "guard", "inside", "reading", "end"]
MINIMUM_WIDTH = 7


@dataclass(frozen=True, slots=True)
class Scale:
    """Which values the ends of the line stand for."""

    start: float
    stop: float

    def cell(self, value: float, width: int) -> int:
        """The cell in which a value lies; the first or last one if it lies beyond."""
        if self.stop <= self.start:
            return 0
        share = (value - self.start) / (self.stop - self.start)
        return min(width - 1, max(0, int(share * width)))


def scale_of(part: Part) -> Scale | None:
    """A scale that shows the limits with room on both sides; None without limits."""
    low, high = part.low, part.high
    if low is None and high is None:
        return None
    if low is not None and high is not None:
        room = 0.5 * (high - low) or 1.0
        return Scale(low - room, high + room)
    limit = low if low is not None else high
    assert limit is not None
    reach = max(abs(limit), 4.0 * (part.guard or 0.0), 1e-9)
    if high is not None and limit >= 0 and (not isinstance(part.value, float) or part.value >= 0):
        return Scale(0.0, 1.5 * reach)
    return (
        Scale(limit - 0.5 * reach, limit + reach)
        if low is not None
        else Scale(limit - reach, limit + 0.5 * reach)
    )


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

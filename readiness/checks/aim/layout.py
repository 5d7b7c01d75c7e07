"""Tape distances on the floor that show whether a target stands where the sheet means it to.

From under each centre mark to under the target's centre: along and across the centre line (the legs) and
straight (the diagonal). The diagonal tells a mistake in either leg, and which mark was measured from.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass

from readiness.job import Sheet

CAUTION = "The maker's document comes first: where it prints another distance, follow the document and correct the sheet."


@dataclass(frozen=True, slots=True)
class Tape:
    """From one centre mark to under a target's centre, m: `along` > 0 ahead of the mark, `diagonal` straight."""

    mark: str
    along: float
    diagonal: float


@dataclass(frozen=True, slots=True)
class Row:
    """The distances of one target on one side; `across` in m from the centre line, > 0 to the left."""

    side: str
    target: str
    across: float
    tapes: tuple[Tape, Tape]
    """From the front mark and from the rear mark."""


def rows(sheet: Sheet, sides: Iterable[str]) -> tuple[Row, ...]:
    """Every target of these sides. A sheet draws the left side or the only one; the right is its mirror image."""
    return tuple(_row(sheet, side, n) for side in sides for n in range(len(sheet.targets)))


def _row(sheet: Sheet, side: str, n: int) -> Row:
    target, marks = sheet.targets[n], {"front": sheet.marks.front, "rear": sheet.marks.rear}
    across = -target.at.y if side == "right" else target.at.y
    front, rear = (Tape(m, target.at.x - x, math.hypot(target.at.x - x, across)) for m, x in marks.items())
    return Row(side, target.id, across, (front, rear))


def said(row: Row, show: Callable[[float, str], str]) -> str:
    """A row as one sentence; `show` writes a number and its unit as the shop reads it."""
    size = f"{show(abs(row.across) * 1000.0, 'mm')} " if row.across else ""
    across = f"{size}{left_right(row.across)} the centre line"
    legs = [
        f"{show(abs(t.along) * 1000.0, 'mm')} {ahead_behind(t.along)} the {t.mark} centre mark"
        + (f" (straight {show(t.diagonal * 1000.0, 'mm')})" if row.across else "")
        for t in row.tapes
    ]
    return f"Tape to under the middle of {row.target}: {across}; {'; '.join(legs)}."


def left_right(across: float) -> str:
    """Where a place lies, as words before 'the centre line'."""
    return "left of" if across > 0 else "right of" if across < 0 else "on"


def ahead_behind(along: float) -> str:
    """Where a place lies, as words before 'the mark'."""
    return "behind" if along < 0 else "ahead of"

"""Tape distances of a sheet's targets as a plain table, to take along to the car."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from readiness.checks.aim.layout import CAUTION, Row, ahead_behind, left_right
from readiness.job import Sheet
from readiness.report.text import clean, wrapped

HEAD = ("side", "target", "from", "along", "across", "straight")
GAP = "  "


def table(sheet: Sheet, rows: Sequence[Row], show: Callable[[float, str], str]) -> str:
    """The whole page, one line for each target, side and centre mark; `show` writes a number with its unit."""
    head = [*wrapped(f"{sheet.title} ({sheet.sheet})"), *wrapped(f"Procedure: {sheet.document.reference}")]
    meaning = wrapped(
        "On the floor, from under a centre mark to under the middle of the target: along and across the centre "
        "line, and straight from point to point."
    )
    lines = (
        _columns([HEAD, *(cells for row in rows for cells in _cells(row, show))]) if rows else _nothing(sheet)
    )
    return "\n".join((*head, "", *meaning, "", *lines, "", *wrapped(CAUTION))) + "\n"


def _nothing(sheet: Sheet) -> list[str]:
    return wrapped(f"The sheet {sheet.sheet} has no targets (field targets).")


def _cells(row: Row, show: Callable[[float, str], str]) -> list[tuple[str, ...]]:
    def mm(metres: float) -> str:
        return show(abs(metres) * 1000.0, "mm")

    across = f"{mm(row.across)} {left_right(row.across).removesuffix(' of')}" if row.across else "on the line"
    return [
        (row.side, row.target, f"{t.mark} mark", f"{mm(t.along)} {ahead_behind(t.along).removesuffix(' of')}", across,
         mm(t.diagonal))
        for t in row.tapes
    ]  # fmt: skip


def _columns(lines: Sequence[tuple[str, ...]]) -> list[str]:
    cleaned = [tuple(clean(cell) for cell in line) for line in lines]
    if all(line[0] == "single" for line in cleaned[1:]):  # one side goes without saying
        cleaned = [line[1:] for line in cleaned]
    widths = [max(map(len, column)) for column in zip(*cleaned, strict=True)]
    return [
        GAP.join(cell.ljust(w) for cell, w in zip(line, widths, strict=True)).rstrip() for line in cleaned
    ]

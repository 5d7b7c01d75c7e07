"""Columns of text that fit a terminal: what is cells wide is counted, what does not fit is cut with a mark."""

from __future__ import annotations

import unicodedata
from collections.abc import Mapping, Sequence
from types import MappingProxyType

GAP = "  "


def cells(text: str) -> int:
    """How many cells of a terminal a line takes: wide characters take two, marks over others none."""
    if text.isascii():
        return len(text)
    return sum(_width(char) for char in text)


def cut(text: str, width: int) -> str:
    """The text, or as much of it as leaves a cell for '…'."""
    if cells(text) <= width:
        return text
    taken = 0
    for n, char in enumerate(text):
        taken += _width(char)
        if taken > width - 1:
            return f"{text[:n].rstrip()}…"
    return text


def columns(
    rows: Sequence[Sequence[str]], width: int | None, may_shrink: Mapping[int, int] = MappingProxyType({})
) -> list[str]:
    """Lines of aligned cells. With a width, columns shrink until all fit, the widest first, each down to its least.

    `may_shrink`: column -> its least width. What does not fit even so is cut off at the right.
    """
    widths = [max(map(cells, column)) for column in zip(*rows, strict=True)]
    shown = [n for n, w in enumerate(widths) if w]
    while width is not None and sum(widths) + len(GAP) * (len(shown) - 1) > width:
        wide = [n for n, least in may_shrink.items() if widths[n] > least]
        if not wide:
            break
        widths[max(wide, key=lambda n: widths[n])] -= 1
    return [_line([(row[n], widths[n]) for n in shown], width) for row in rows]


def _line(row: Sequence[tuple[str, int]], width: int | None) -> str:
    padded = (f"{short}{' ' * (w - cells(short))}" for text, w in row for short in (cut(text, w),))
    line = GAP.join(padded).rstrip()
    return line if width is None else cut(line, width)


def _width(char: str) -> int:
    if unicodedata.category(char) in ("Mn", "Me", "Cf"):
        return 0
    return 2 if unicodedata.east_asian_width(char) in "WF" else 1

"""The page of a shop as plain lines, for a terminal of any width."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence

from readiness.records.overview.model import ShopPage
from readiness.report.columns import GAP, cells, cut
from readiness.report.shop_rows import SIGNS, Bar, Section
from readiness.report.shop_words import headline, sections
from readiness.report.text import WIDTH, clean, moment

WIDEST = 110
"""Longer lines are hard to read."""
NARROWEST = 55
WORD = 15
"""Cells of the column that says how it stands."""
LABEL = 22
SHORTEST_LABEL = 6
EIGHTHS = " ▏▎▍▌▋▊▉"
LIGHT = "░"
LONGEST_BAR = 30
SHORTEST_BAR = 3


def page_text(page: ShopPage, width: int | None = None) -> str:
    """The whole page, ending in a line end. `width`: of the terminal; None where nobody knows."""
    wide = WIDTH if width is None else max(NARROWEST, min(width - 1, WIDEST))
    blocks = [
        [
            *_wrap(f"{page.shop}, as of {moment(page.at)}", wide),
            *_wrap(headline(page), wide),
        ],
        *(list(_section(s, wide)) for s in sections(page)),
    ]
    return "\n\n".join("\n".join(block) for block in blocks) + "\n"


def _section(section: Section, wide: int) -> Iterator[str]:
    yield clean(section.title)
    for row in section.rows:
        yield from _wrap(row.text, wide, f"  {SIGNS[row.colour]} {row.word:{WORD}}", " " * (WORD + 4))
    yield from _bars(section.bars, wide)
    for line in section.quiet:
        yield from _wrap(line, wide, "  ", "  ")


def _bars(bars: Sequence[Bar], wide: int) -> Iterator[str]:
    """Full blocks for what failed, light ones for what was too close; the number follows, so that no bar has to be read."""
    said = max((cells(clean(bar.said)) for bar in bars), default=0)
    most = max(SHORTEST_LABEL, min(LABEL, wide - said - SHORTEST_BAR - 6))
    labels = [cut(clean(bar.label), most) for bar in bars]
    column = max(map(cells, labels), default=0)
    room = max(SHORTEST_BAR, min(LONGEST_BAR, wide - column - said - 6))
    longest = max((bar.number for bar in bars), default=1)
    for label, bar in zip(labels, bars, strict=True):
        drawn = _drawn(room * bar.sure / longest, room * bar.number / longest)
        yield f"  {label}{' ' * (column - cells(label))}{GAP}{drawn}{' ' * (room - len(drawn))}{GAP}{clean(bar.said)}"


def _drawn(sure: float, whole: float) -> str:
    """So many cells full, to an eighth, then light ones; never nothing."""
    full, part = divmod(round(8 * sure), 8)
    drawn = "█" * full + (EIGHTHS[part] if part else "")
    return (drawn + LIGHT * max(0, round(whole) - len(drawn))) or (LIGHT if sure == 0 else EIGHTHS[1])


def _wrap(text: str, wide: int, first: str = "", rest: str = "") -> list[str]:
    return textwrap.wrap(
        clean(text), wide, initial_indent=first, subsequent_indent=rest, break_on_hyphens=False
    ) or [first.rstrip()]

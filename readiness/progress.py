"""One line on stderr that says how far a long search is; only on a terminal, and gone afterwards."""

from __future__ import annotations

import os
import sys
import time
import unicodedata
from types import TracebackType
from typing import Self

FIRST_AFTER = 0.5
"""Seconds; what is quicker than that needs no line."""
AGAIN_AFTER = 0.1


class Progress:
    """Use it in a `with`; hand `heard` to the search."""

    def __init__(self, width: int = 78) -> None:
        self._width = width
        self._shown = False
        self._next = time.monotonic() + FIRST_AFTER
        self.before = ""
        """What stands in front of what the search says: 'bay-2 (2 of 4)'."""

    def heard(self, what: str, share: float) -> bool:
        """What is worked on and the share done; the search is to go on."""
        now = time.monotonic()
        if now >= self._next and sys.stderr.isatty():
            self._next, self._shown = (
                now + AGAIN_AFTER,
                True,
            )  # first, for Ctrl-C may come while it is written
            self._write(f"{self.before}: {what}, {100 * share:.0f} %".removeprefix(": "))
        return True

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, fault: BaseException | None, trace: TracebackType | None) -> None:  # fmt: skip
        if self._shown:
            self._write("")

    def _write(self, text: str) -> None:
        from readiness.report.text import clean

        width = min(self._width, _columns() - 1)
        line = _cut(clean(text), width)
        # blanks, not an escape: every terminal understands them
        sys.stderr.write(f"\r{' ' * width}\r{line}")
        sys.stderr.flush()


def _columns() -> int:
    """Of the terminal now; a line that did not fit would run on into others, which stay."""
    try:
        return os.get_terminal_size(sys.stderr.fileno()).columns or 80
    except (OSError, ValueError):
        return 80


def _cut(text: str, width: int) -> str:
    """As much as fits into so many columns; wide characters take two."""
    taken = 0
    for n, char in enumerate(text):
        taken += 2 if unicodedata.east_asian_width(char) in "WF" else 1
        if taken > width:
            return text[:n]
    return text

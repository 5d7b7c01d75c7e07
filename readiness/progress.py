"""One line on stderr that says how far a long search is; only on a terminal, and gone afterwards."""

from __future__ import annotations

import sys
import time
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

        line = clean(text)[: self._width]
        # blanks, not an escape: every terminal understands them
        sys.stderr.write(f"\r{line:<{self._width}}\r{line}")
        sys.stderr.flush()

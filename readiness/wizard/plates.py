"""Texts that stand in a fixed place. A new text draws its own cells anew; nothing is laid out again."""

from __future__ import annotations

from textual.content import Content
from textual.widgets import Static


class Plate(Static):
    """A text whose widget keeps its size. The same text again costs nothing."""

    shown = Content("")

    def show(self, content: Content) -> None:
        if content.plain == self.shown.plain and content.spans == self.shown.spans:
            return
        moves = self.moves(content)
        self.shown = content
        self.update(content, layout=moves)

    def moves(self, content: Content) -> bool:
        """Whether the new text needs another height."""
        return False


class Said(Plate):
    """The sentence under the form: of fixed height until it needs more."""

    USUAL_LINES = 4

    def moves(self, content: Content) -> bool:
        return self._lines(content) != self._lines(self.shown)

    def _lines(self, content: Content) -> int:
        width = self.content_size.width or 1
        return max(self.USUAL_LINES, len(content.wrap(width)))


class Prompt(Said):
    """How to answer the current question: higher where it takes one of many."""

    USUAL_LINES = 3


class Lines(Said):
    """As high as its text."""

    USUAL_LINES = 1


class Locked(Lines):
    """A line under the head where nothing can be entered: who has it, or what the disk says."""

    def tell(self, locked: str) -> None:
        self.display = bool(locked)
        if locked:
            self.show(Content(f"Read-only. {locked} Ctrl+W tries again."))

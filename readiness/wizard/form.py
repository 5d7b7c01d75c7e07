"""The form of one step: a row a question, drawn line by line, with one entry field on the current row.

One widget draws all rows, so that a step of thirty questions costs as little as one of three.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from rich.cells import cell_len, set_cell_size
from rich.segment import Segment
from rich.style import Style
from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.geometry import Region
from textual.message import Message
from textual.strip import Strip
from textual.widget import Widget
from textual.widgets import Input

from readiness.checks.words import capital
from readiness.wizard.form_lines import OUTCOME_WIDTH, Columns, FormLine
from readiness.wizard.looks import said
from readiness.wizard.numberline import cells

if TYPE_CHECKING:
    from readiness.checks.kind import Part
    from readiness.wizard.rows import Row


class Entry(Input):
    """The one field. Its keys beyond typing are messages to the form."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("up,shift+tab", "step(-1)", "up", show=False),
        Binding("down,tab", "step(1)", "down", show=False),
    ]

    @dataclass
    class Stepped(Message):
        by: int

    @dataclass
    class Keyed(Message):
        """A printable key was pressed while the question takes single keys."""

        key: str

    single_keys = False
    always = ""
    """Printable keys that are never typed but a message, whatever the question takes."""

    def action_step(self, by: int) -> None:
        self.post_message(self.Stepped(by))

    async def _on_key(self, event: events.Key) -> None:
        key = event.character if event.is_printable else None
        if key and (self.single_keys or key in self.always):
            event.stop()
            event.prevent_default()
            self.post_message(self.Keyed(key))
            return
        await super()._on_key(event)


class Rows(Widget):
    """Draws the lines; knows which one is current."""

    @dataclass
    class Clicked(Message):
        """A line was clicked."""

        line: int

    COMPONENT_CLASSES: ClassVar[set[str]] = {
        "rows--heading", "rows--label", "rows--here", "rows--value", "rows--offered", "rows--unit",
        "rows--inside", "rows--guard", "rows--outside", "rows--reading",
        "rows--pass", "rows--fail", "rows--close", "rows--quiet",
    }  # fmt: skip

    OUTCOME_LOOK: ClassVar[dict[str, str]] = {
        "pass": "pass",
        "fail": "fail",
        "too_close": "close",
        "lapsed": "close",
    }
    LINE_LOOK: ClassVar[dict[str, str]] = {
        "inside": "inside", "guard": "guard", "outside": "outside", "end": "outside", "reading": "reading",
    }  # fmt: skip

    def __init__(self) -> None:
        super().__init__()
        self.lines: Sequence[FormLine] = ()
        self.here = -1
        self._ground = Style()
        """The style of cells with nothing in them, asked for once a line: it is costly."""

    def compose(self) -> ComposeResult:
        entry = Entry(compact=True, select_on_focus=False)
        entry.cursor_blink = False
        yield entry

    def show(self, lines: Sequence[FormLine], here: int) -> None:
        self.lines, self.here = lines, here
        self.styles.height = max(1, len(lines))
        self.refresh()

    def on_click(self, event: events.Click) -> None:
        event.stop()
        self.post_message(self.Clicked(int(event.y)))

    def render_line(self, y: int) -> Strip:
        width, self._ground = self.size.width, self.rich_style
        if y >= len(self.lines):
            return Strip.blank(width, self._ground)
        line = self.lines[y]
        if line.words_alone:
            segments = [Segment(" " + line.label, self._look("quiet" if line.remark else "heading"))]
        else:
            segments = self._drawn(line, y == self.here, Columns.of(width, self.lines))
        return Strip(segments).adjust_cell_length(width, self._ground)

    def _look(self, name: str) -> Style:
        return self.get_component_rich_style(f"rows--{name}")

    def _drawn(self, line: FormLine, here: bool, columns: Columns) -> list[Segment]:
        label = self._look("here" if here else "label" if line.row else "quiet")
        answered = line.row is None or line.row.answered
        value, look = (line.shown, "value") if answered else (line.offered, "offered")
        front = [
            Segment("▸ " if here else "  ", label),
            Segment(_label(line, columns.label_of(line)), label),
            Segment(_fit(f" {value}", columns.entry_of(line)), self._look(look)),
        ]
        if not line.numeric:
            return [*front, self._outcome(line)]
        return [
            *front,
            Segment(_fit(f" {line.short_unit}", columns.unit), self._look("unit")),
            *([] if line.unlined else self._number_line(line.part, columns.line)),
            self._outcome(line),
        ]

    def _number_line(self, part: Part | None, width: int) -> list[Segment]:
        drawn = cells(part, width) if part is not None else []
        if not drawn:
            return [Segment(" " * width, self._ground)]
        return [Segment(glyph, self._look(self.LINE_LOOK[look])) for glyph, look in drawn]

    def _outcome(self, line: FormLine) -> Segment:
        answered = line.row is None or line.row.answered
        words, look = line.mark
        if words:
            return Segment(_fit(f" {words}", OUTCOME_WIDTH), self._look(look))
        passes = line.part is not None and line.part.outcome == "pass"
        if line.part is None or (passes and line.row is not None and not answered and line.row.in_words):
            # a word not given passes nothing
            return Segment(_fit(" ✓ kept" if answered else "", OUTCOME_WIDTH), self._look("quiet"))
        if line.part.outcome == "not_done":
            return Segment(_fit(" ✓ kept" if answered else "", OUTCOME_WIDTH), self._look("quiet"))
        look = self.OUTCOME_LOOK.get(line.part.outcome, "quiet")
        return Segment(_fit(" " + said(line.part.outcome), OUTCOME_WIDTH), self._look(look))


class Form(VerticalScroll, can_focus=False):
    """A scrolling form; posts what was typed and where the person went."""

    @dataclass
    class Entered(Message):
        """Text was entered for a row (empty: Enter alone)."""

        row: Row
        text: str

    @dataclass
    class Moved(Message):
        """Another row became the current one."""

        row: Row

    @dataclass
    class Left(Message):
        """The person went past the first (-1) or last (1) row."""

        by: int

    def compose(self) -> ComposeResult:
        yield Rows()

    @property
    def rows(self) -> Rows:
        return self.query_one(Rows)

    @property
    def entry(self) -> Entry:
        return self.query_one(Entry)

    @property
    def row(self) -> Row | None:
        rows = self.rows
        return rows.lines[rows.here].row if 0 <= rows.here < len(rows.lines) else None

    def show(self, lines: Sequence[FormLine], here: int, *, keep_text: bool = False) -> None:
        """Show these lines with the cursor on line `here` (-1: nowhere)."""
        self.rows.show(lines, here)
        self._place_entry(keep_text)

    def _place_entry(self, keep_text: bool) -> None:
        entry, row = self.entry, self.row
        entry.display = row is not None
        if row is None:
            return
        if not keep_text:
            entry.value = ""
        width = self.rows.size.width or self.size.width
        line = self.rows.lines[self.rows.here]
        entry.single_keys = row.question.type == "choice"
        columns = Columns.of(width, self.rows.lines)
        room = columns.entry_of(line)
        entry.placeholder = _fit(line.shown or line.offered, max(1, room - 2)).rstrip()
        entry.styles.width = room
        entry.styles.offset = (2 + columns.label_of(line), self.rows.here)
        self.scroll_to_region(Region(0, max(0, self.rows.here - 1), 1, 3), animate=False, force=True)
        if self.display and not entry.has_focus and self.screen.is_current:
            entry.focus(scroll_visible=False)

    def focus_without_row(self) -> None:
        """Keys go to the screen: there is no field to type in."""
        self.screen.set_focus(None)

    def move(self, by: int) -> None:
        lines, at = self.rows.lines, self.rows.here + by
        while 0 <= at < len(lines) and lines[at].row is None:
            at += by
        if not 0 <= at < len(lines):
            self.post_message(self.Left(by))
            return
        self.show(lines, at)
        row = self.row
        assert row is not None
        self.post_message(self.Moved(row))

    def move_far(self, by: int) -> None:
        """By so many rows, or as far as they go."""
        rows = [k for k, line in enumerate(self.rows.lines) if line.row is not None]
        if self.rows.here in rows:
            at = rows.index(self.rows.here)
            to = rows[min(len(rows) - 1, max(0, at + by))]
            self.move(to - self.rows.here) if to != self.rows.here else self.post_message(self.Left(by))

    def move_on(self, *, again: bool = False) -> None:
        """To the next row that is not answered; past the last one if there is none.

        `again`: an answer was entered anew, so what was left empty before stays so, and what fails comes next.
        """
        lines = self.rows.lines
        for at in range(self.rows.here + 1, len(lines)):
            row = lines[at].row
            if row is not None and (row.open or row.failing if again else not row.answered):
                self.move(at - self.rows.here)
                return
        self.post_message(self.Left(1))

    def on_entry_stepped(self, message: Entry.Stepped) -> None:
        """Going up or down with something typed enters it: nothing typed is lost."""
        message.stop()
        if self.row is not None and self.entry.value.strip():
            self.post_message(self.Entered(self.row, self.entry.value))
        else:
            self.move(message.by)

    def on_entry_keyed(self, message: Entry.Keyed) -> None:
        message.stop()
        if self.row is not None:
            self.post_message(self.Entered(self.row, message.key))

    def on_input_submitted(self, message: Input.Submitted) -> None:
        message.stop()
        if self.row is not None:
            self.post_message(self.Entered(self.row, message.value))

    def on_resize(self) -> None:
        self.call_after_refresh(self._place_entry, True)

    def on_rows_clicked(self, message: Rows.Clicked) -> None:
        message.stop()
        lines = self.rows.lines
        if 0 <= message.line < len(lines) and lines[message.line].row is not None:
            self.move(message.line - self.rows.here)


def _label(line: FormLine, width: int) -> str:
    """The words of a line; a result that is too long ends at its bracket or comma: the sentence says the rest."""
    words = capital(line.label)
    if line.row is not None:
        return _fit(_without_middle(words, width), width)
    for mark in (" (", ", "):
        words = words if cell_len(words) <= width else words.partition(mark)[0]
    return _fit(words, width)


def _without_middle(words: str, width: int) -> str:
    """A question that is too long keeps its end, which tells it from its neighbours: 'LF to plate…1, turned', 'Steel…: left'."""
    end = _END.search(words)
    if cell_len(words) <= width or end is None or not end[0] or cell_len(end[0]) > width // 2:
        return words
    return f"{set_cell_size(words, width - 1 - cell_len(end[0])).rstrip()}…{end[0]}"


_END = re.compile(r"(?:: \w+)?(?: \d+)?(?:, \w+)?$")
"""A word after a colon, a number, a word after a comma, or several of them."""


def _fit(text: str, width: int) -> str:
    """Cut or padded to exactly `width` cells; a cut is shown."""
    if cell_len(text) <= width:
        return set_cell_size(text, width)
    return set_cell_size(text, max(0, width - 1)) + "…"[: max(0, width)]

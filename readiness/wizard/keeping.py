"""A screen on which answers are kept: what its keys do to the answer at hand, in a job and in a survey alike."""

from __future__ import annotations

from collections.abc import Callable
from typing import ClassVar, Protocol

from textual import work
from textual.binding import Binding, BindingType
from textual.screen import Screen

from readiness.records.journal import JournalError
from readiness.wizard.dialogs import Ask, Offer, Pick
from readiness.wizard.rows import Row


class Session(Protocol):
    """What a session of either kind does with what is kept."""

    def note(self, row: Row, text: str) -> None: ...

    def take_back(self, row: Row) -> None: ...

    def undo(self) -> str: ...

    def switch_units(self) -> object: ...


class Keeping(Screen[None]):
    """Actions on the current row; the screen says which that is and shows what came of it."""

    session: Session
    LISTED: ClassVar[list[BindingType]] = []
    """The keys as the list of keys shows them."""

    @property
    def row(self) -> Row | None:
        """The current row, None on a page that has none."""
        raise NotImplementedError

    def say(self, text: str) -> None:
        """A message that stays in view until the next entry."""
        raise NotImplementedError

    def show_anew(self, row: Row | None) -> None:
        """Draw anew with the cursor on that row, keeping what is typed."""
        raise NotImplementedError

    def record(self, do: Callable[[], object], row: Row | None, said: str) -> None:
        """Write to the journal; say what went wrong, or what was done."""
        try:
            do()
        except (JournalError, ValueError) as refused:  # a quantity that is none is a ValueError
            self.say(str(refused))
            return
        self.show_anew(row)
        if said:
            self.say(said)

    @work
    async def action_keys(self) -> None:
        """Every key with what it does; picking one does it."""
        listed = [b for b in self.LISTED if isinstance(b, Binding) and b.tooltip]
        offers = [Offer("", b.action, f"{key_name(b.key):<8} {b.tooltip}") for b in listed]
        chosen = await self.app.push_screen_wait(Pick("Keys", offers))
        if chosen:
            await self.run_action(chosen)

    @work
    async def action_note(self) -> None:
        row = self.row
        if row is None:
            return
        if not row.answered:
            self.say("A note goes with an answer: answer first, then F2.")
            return
        text = await self.app.push_screen_wait(Ask(f"Note to {row.question.label}"))
        if text:
            self.record(lambda: self.session.note(row, text), row, f"Noted: {text}")

    def action_take_back(self) -> None:
        row = self.row
        if row is not None and row.answered:
            said = f"{row.question.label}: the last reading was taken back."
            self.record(lambda: self.session.take_back(row), row, said)

    def action_undo(self) -> None:
        words: list[str] = []
        self.record(lambda: words.append(self.session.undo()), self.row, "")
        if words:
            self.say(words[0])

    def action_units(self) -> None:
        self.record(self.session.switch_units, self.row, "")


def key_name(keys: str) -> str:
    """'F1' for 'f1,ctrl+y'."""
    first = keys.split(",")[0]
    return first.upper() if len(first) < 4 else first.replace("ctrl+", "Ctrl+").capitalize()

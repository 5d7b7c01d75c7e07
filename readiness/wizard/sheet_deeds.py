"""What the keys of a sheet being written do to the answer at hand; the screen says which that is and shows what came of it."""

from __future__ import annotations

from collections.abc import Callable
from typing import ClassVar

from textual.binding import Binding, BindingType
from textual.screen import Screen

from readiness.records.shop import ShopError
from readiness.sheetmaking.asking import Section
from readiness.sheetmaking.checked import Remark
from readiness.wizard.rows import Row
from readiness.wizard.sheet_session import SheetSession


class SheetDeeds(Screen[None]):
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f5", "take_back", "clear"),
        Binding("f6", "let_stand", "let stand"),
        Binding("f7", "leave_out", "leave out"),
        Binding("f8", "units", "units"),
        Binding("ctrl+z", "undo", "undo", priority=True),
    ]

    session: SheetSession

    @property
    def section(self) -> Section | None:
        """The part shown; None on the last page."""
        raise NotImplementedError

    @property
    def row(self) -> Row | None:
        """The current row, None on the last page."""
        raise NotImplementedError

    def say(self, text: str) -> None:
        """A message that stays in view until the next entry."""
        raise NotImplementedError

    def show_anew(self, key: str = "", *, last: bool = False, keep_text: bool = False) -> None:
        """Everything anew; the cursor goes to the question of that key, else to what is open."""
        raise NotImplementedError

    def _remarks(self) -> list[Remark]:
        row, section = self.row, self.section
        return (
            [] if row is None or section is None else self.session.remarks(section).get(row.question.key, [])
        )

    def tried(self, do: Callable[[], object]) -> bool:
        """Do what is kept; what is in the way is said, and what was typed stays in the field."""
        try:
            do()
        except (ShopError, ValueError) as refused:  # a quantity that is none is a ValueError
            self.say(str(refused))
            return False
        return True

    def action_take_back(self) -> None:
        row = self.row
        if row is not None and row.answered and self.tried(lambda: self.session.take_back(row.question)):
            self.show_anew(row.question.key)
            self.say(f"{row.question.label.strip()}: cleared. Ctrl+Z brings it back.")

    def action_let_stand(self) -> None:
        doubts = [r for r in self._remarks() if r.doubt]
        row = self.row
        if row is None or not doubts:
            self.say("There is no doubt to let stand here; what is wrong has to be put right.")
        elif self.tried(lambda: self.session.let_stand(doubts[0])):
            self.show_anew(row.question.key)
            self.say("It stands as you typed it.")

    def action_leave_out(self) -> None:
        row = self.row
        entry = self.session.entry_of(row.question) if row is not None else ""
        if row is None or not entry:
            self.say(
                "Only a foot, a corner, a target, a zone and the like can be left out; F5 clears an answer."
            )
        elif self.tried(lambda: self.session.leave_out(entry)):
            self.show_anew()
            self.say("Left out. Ctrl+Z brings it back.")

    def action_undo(self) -> None:
        key = self.row.question.key if self.row is not None else ""
        if not self.session.before:
            self.say("There is nothing to undo.")
        elif self.tried(self.session.undo):
            self.show_anew(key)
            self.say("Undone.")

    def action_units(self) -> None:
        self.session.switch_units()
        self.show_anew(self.row.question.key if self.row is not None else "", keep_text=True)

"""A screen on which answers are kept: what its keys do to the answer at hand, in a job and in a survey alike."""

from __future__ import annotations

import functools
from collections.abc import Callable, Sequence
from typing import Any, ClassVar, Concatenate, ParamSpec, Protocol, TypeVar, cast

from textual import work
from textual.binding import Binding, BindingType
from textual.screen import Screen

from readiness.records.chained import Chained
from readiness.records.journal import JournalError
from readiness.wizard.dialogs import Ask, Offer, Pick
from readiness.wizard.plates import Locked
from readiness.wizard.rows import Row

P = ParamSpec("P")
R = TypeVar("R")
S = TypeVar("S", bound="Keeping")


class Session(Protocol):
    """What a session of either kind does with what is kept."""

    @property
    def journal(self) -> Chained[Any]: ...

    @property
    def barred(self) -> str: ...

    def take_up(self) -> None: ...

    def look_again(self) -> bool: ...

    def note(self, row: Row, text: str) -> None: ...

    def take_back(self, row: Row) -> None: ...

    def undo(self) -> str: ...

    def switch_units(self) -> object: ...


STILL_LOCKED = "It still cannot be written here."
TAKEN_UP = "From now on it is written here, and what others entered meanwhile is in it."


def enters(deed: Callable[Concatenate[S, P], R]) -> Callable[Concatenate[S, P], R | None]:
    """A deed that ends in an entry: where nothing can be entered, that is said before anything is asked."""

    @functools.wraps(deed)
    def unless_barred(self: S, *args: P.args, **named: P.kwargs) -> R | None:
        return None if self.bars() else deed(self, *args, **named)

    return cast("Callable[Concatenate[S, P], R | None]", unless_barred)


class Keeping(Screen[None]):
    """Actions on the current row; the screen says which that is and shows what came of it."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("ctrl+w", "take_up", tooltip="Enter here, once it can be written", show=False, priority=True)
    ]

    session: Session
    _news = ""
    """What the journal warned of with the last entry; it stays in view until the next."""
    _known = 0
    """How many of the journal's warnings were in view."""
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
        if refused := self.tried(do):
            self.say(refused)
        else:
            self._done(row, said)

    def _done(self, row: Row | None, said: str) -> None:
        self.show_anew(row)
        self.say_news(said)

    def tried(self, do: Callable[[], object]) -> str:
        """Do what writes to the journal; why that could not be, a sentence, else nothing."""
        try:
            do()
        except (JournalError, ValueError) as refused:  # a quantity that is none is a ValueError
            self.show_lock()
            return str(refused)
        finally:
            self.hear_news()
        return ""

    async def asked(
        self, ask: Ask, do: Callable[[str], object], row: Row | None, said: Callable[[str], str]
    ) -> None:
        """Ask for words and write them to the journal. What could not be kept stands there to be entered again."""
        while text := await self.app.push_screen_wait(ask):
            refused = self.tried(functools.partial(do, text))
            if not refused:
                self._done(row, said(text))
                return
            ask = ask.again(text, refused)

    # --- what the journal says of itself ---------------------------------------------------------

    def hear_news(self) -> None:
        """From now on in view: what the journal warned of since the last entry, or when it was opened."""
        warnings = self.session.journal.warnings
        self._news, self._known = " ".join(warnings[self._known :]), len(warnings)

    def say_news(self, before: str = "") -> None:
        """Say it, after what else there is to say."""
        said = f"{before} {self._news}".strip()
        if said:
            self.say(said)

    def bars(self) -> bool:
        """Whether nothing can be entered here; why is said."""
        barred = self.session.barred
        if barred:
            self.say(barred)
        return bool(barred)

    def show_lock(self) -> None:
        """A line under the head where nothing can be entered: who has it, or what the disk says."""
        self.query_one(Locked).tell(self.session.journal.locked)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Where one can write, Ctrl+W belongs to the field, where it takes a word out."""
        if action == "take_up":
            return bool(self.session.journal.locked)
        return super().check_action(action, parameters)

    def action_take_up(self) -> None:
        """Enter here from now on, if it is free by now."""
        if refused := self.tried(self.session.take_up):
            self.say(f"{STILL_LOCKED} {refused}")
        else:
            self._done(self.row, TAKEN_UP)

    def look_again(self) -> None:
        """Where nothing can be entered, show what the other program has entered meanwhile."""
        if not self.session.journal.locked:
            return
        try:
            new = self.session.look_again()
        except JournalError as fault:
            self.say(str(fault))
            return
        if new:
            self.show_anew(self.row)

    @work
    async def action_keys(self) -> None:
        """Every key with what it does; picking one does it."""
        there = [*self.LISTED, *(Keeping.BINDINGS if self.session.journal.locked else ())]
        chosen = await self.app.push_screen_wait(Pick("Keys", key_offers(there)))
        if chosen:
            await self.run_action(chosen)

    @enters
    @work
    async def action_note(self) -> None:
        row = self.row
        if row is None:
            return
        if not row.answered:
            self.say("A note goes with an answer: answer first, then F2.")
            return
        ask = Ask(f"Note to {row.question.label}")
        await self.asked(ask, lambda text: self.session.note(row, text), row, lambda text: f"Noted: {text}")

    @enters
    def action_take_back(self) -> None:
        row = self.row
        if row is not None and row.answered:
            said = f"{row.question.label}: the last reading was taken back."
            self.record(lambda: self.session.take_back(row), row, said)

    @enters
    def action_undo(self) -> None:
        words: list[str] = []
        self.record(lambda: words.append(self.session.undo()), self.row, "")
        if words:
            self.say(words[0])

    @enters
    def action_units(self) -> None:
        self.record(self.session.switch_units, self.row, "")


def key_offers(bindings: Sequence[BindingType]) -> list[Offer]:
    """Keys with what they do, to pick from."""
    listed = [b for b in bindings if isinstance(b, Binding) and b.tooltip]
    return [Offer("", b.action, f"{key_name(b.key):<8} {b.tooltip}") for b in listed]


SHORT_KEYS = {"escape": "Esc", "pageup": "PgUp", "pagedown": "PgDn"}


def key_name(keys: str) -> str:
    """'F1' for 'f1,ctrl+y', 'Ctrl+Z' for 'ctrl+z'."""
    first = keys.split(",")[0]
    if first in SHORT_KEYS:
        return SHORT_KEYS[first]
    return first.upper() if len(first) < 4 else "+".join(part.capitalize() for part in first.split("+"))

"""What comes after the go: the watch, the way through the result to the end of the job, files, and the paper."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Mapping
from functools import partial
from typing import ClassVar

from msgspec.structs import replace
from textual import events, work
from textual.binding import Binding, BindingType
from textual.widgets import Input

from readiness.checks.finding import no_reason
from readiness.job import Attached
from readiness.records.ending import unsettled
from readiness.records.journal import JournalError
from readiness.wizard import closing_pages, pages
from readiness.wizard.closing import Close, dropped
from readiness.wizard.dialogs import Ask, Pick, numbered
from readiness.wizard.keeping import enters
from readiness.wizard.stage import Stage
from readiness.wizard.watch import Leaving, Watch

LONGEST_PATH = 4096
ENDED = "Ended and kept."
KEPT = "Enter keeps it · Esc back"
PAPER_HINT = "Enter takes the place shown, or type another · Esc back"
PATH_HINT = "typed, or dragged onto this window · Enter takes it · Esc back"
SHOWS_HINT = "in a few words · Enter attaches it · Esc leaves it out"


class AskPath(Ask):
    """A path, of any length and with its blanks as they are; what cannot be seen is left out."""

    def on_mount(self) -> None:
        self.query_one(Input).max_length = LONGEST_PATH

    def on_input_submitted(self, message: Input.Submitted) -> None:
        message.prevent_default()
        typed = "".join(c for c in message.value if c.isprintable())
        if text := typed.strip() or self._offered:
            self.dismiss(text)


class After(Stage):
    """Deeds after the go. Where they lead is a place in the walk."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("ctrl+e", "to_end", "end", tooltip="The end of the job, with a go or without: files, report", priority=True),
    ]  # fmt: skip
    LISTED: ClassVar[list[BindingType]] = [*Stage.LISTED, *BINDINGS]

    watching = False
    """Whether the time is watched: then the walk comes back to the watch once all is answered."""

    busy = ""
    """What is being done that must not be left, a sentence."""

    def go_to_check(self, check_id: str) -> None:
        """To the row of a check that needs an answer."""
        raise NotImplementedError

    def typed(self) -> bool:
        """Whether something stands in the field that was not entered; it is said."""
        raise NotImplementedError

    # --- the watch -------------------------------------------------------------------------------

    @work
    async def action_watch(self) -> None:
        """The time left of a go, and what ends it sooner; from there to what has to be done."""
        self.watching = True
        where = await self.app.push_screen_wait(Watch(self.session))
        self.verdict = self.session.verdict()
        self._leave_watch(where)

    def _leave_watch(self, to: Leaving | None) -> None:
        where, what = to or ("", "")
        if where == "open":
            self._enter(self._next_open(0))
        elif where == "check":
            self.go_to_check(what)
        elif where == "side":
            self._take_side(what)
        elif where == "close":
            self.action_result()
        elif where == "end":
            self.action_to_end()
        else:
            self._enter(self.go_page)

    def other_side(self) -> None:
        """The side that the job is not for yet."""
        mine = self.session.journal.job.sides
        other = next((s for s in self.session.visit.checklist.sides if s not in mine), None)
        if other is not None:
            self._take_side(other)

    def _take_side(self, side: str) -> None:
        """The job is for one side more; what still holds serves it."""
        mine = self.session.journal.job.sides
        sides = tuple(s for s in self.session.visit.checklist.sides if s == side or s in mine)
        if refused := self.tried(lambda: self.session.to_sides(sides)):
            self.say(refused)
            return
        self.verdict = self.session.verdict()
        self._enter(self._next_open(0))
        self.say(f"Now for the {side} side: what still holds is not asked again.")

    def go_on(self) -> None:
        """On to the next open step; at the end of the way back to the watch, if that is where one came from."""
        self._enter(self._next_open(self.at + 1))
        ready = self.verdict is not None and self.verdict.word != "no-go"
        if self.on_verdict_page and self.watching and ready:
            self.action_watch()

    # --- on the two pages ------------------------------------------------------------------------

    def page_key(self, event: events.Key) -> None:
        """A key on the go / no-go page or on the last one."""
        if self.verdict is None:
            return
        does = self._end_keys() if self.on_end_page else self._go_keys()
        do = does.get(event.key) or does.get((event.character or "").lower())
        if do is not None:
            event.stop()
            do()

    def _go_keys(self) -> Mapping[str, Callable[[], object]]:
        """A number goes to what is to be done under it, Enter to the first; from a go, Enter to the watch."""
        assert self.verdict is not None
        if self.session.settled:
            return {"enter": self.action_result}
        todo = pages.todo(self.verdict)
        keys: dict[str, Callable[[], object]] = {
            str(k): partial(self.go_to_check, check) for k, check in enumerate(todo[:9], 1)
        }
        keys["enter"] = keys["1"] if todo else self.action_watch
        if self.once_ready:
            keys |= {"w": self.action_watch, "r": self.action_result}
        return keys

    def _end_keys(self) -> Mapping[str, Callable[[], object]]:
        if self.session.ended is not None:
            return {"g": self.go_on_after_all, "p": self.report}
        return {
            "e": self.end, "a": self.attach, "x": self.take_file_back, "p": self.report,
            "o": self.other_side, "enter": self.to_what_is_open,
        }  # fmt: skip

    # --- the way to the end ----------------------------------------------------------------------

    def action_result(self) -> None:
        """To the first question after the calibration that is not answered."""
        if not self.typed():
            self.watching = False
            self.verdict = self.session.verdict()
            self._enter(self._next_open(self.go_page + 1))

    def to_what_is_open(self) -> None:
        """On the last page: to what is open after the calibration, or before it where there was no go."""
        if any(side.go for side in self.session.account().sides.values()) or self.session.closing().begun:
            self.action_result()
        else:
            self._enter(self._next_open(0))

    def action_to_end(self) -> None:
        if not self.typed():
            self._enter(self.end_page)

    @enters
    @work
    async def end(self) -> None:
        """The job is over; why is asked where something is open or wrong. Signed where the shop signs."""
        close, points = Close(self.session), unsettled(self.session.account())
        if points:
            asked = Ask("Why does the job end like this?", hint=" ".join([*points, KEPT]), refused=no_reason)
            await self.asked(asked, close.end, None, lambda _: ENDED)
        else:
            self._do(lambda: close.end(""), ENDED)
        self.query_one("#page").scroll_home(animate=False)  # there it stands that it has ended
        if self.session.ended is not None and close.signs:
            self.busy = "Signing with the shop's key; a moment."
            self._tell(f"{ENDED} {self.busy}")
            said, self.busy = await asyncio.to_thread(close.sign), ""
            self._tell(f"{ENDED} {said}")

    @work
    async def go_on_after_all(self) -> None:
        asked = Ask("Why does the job go on?", refused=no_reason)
        await self.asked(
            asked, Close(self.session).go_on, None, lambda _: "It goes on: answers are kept again."
        )

    # --- files -----------------------------------------------------------------------------------

    @enters
    @work
    async def attach(self) -> None:
        """A photo, a printout: its path and hash are kept, and what it shows. It stays where it is."""
        ask: Ask = AskPath("Which file belongs to this job?", hint=PATH_HINT)
        files: list[Attached] = []
        while not files:
            path = await self.app.push_screen_wait(ask)
            if path is None:
                return
            try:
                files = [await asyncio.to_thread(Close(self.session).looked_at, p) for p in dropped(path)]
            except JournalError as refused:
                ask = ask.again(path, str(refused))
        for file in files:
            await self._keep_one(file)

    async def _keep_one(self, file: Attached) -> None:
        """Ask what a file shows, and attach it; the same one twice is a slip."""
        if self._has(file):
            self._tell(f"{file.path} is attached already.")
            return
        asked = Ask(f"{file.path}, {closing_pages.size(file.size)}. What does it show?", hint=SHOWS_HINT)
        await self.asked(asked, partial(self._keep_file, file), None, partial(_attached, file))
        if not self._has(file):
            self._tell(f"{file.path} was left out.")

    def _has(self, file: Attached) -> bool:
        return any((f.path, f.sha256) == (file.path, file.sha256) for f in self.session.journal.job.attached)

    def _keep_file(self, file: Attached, what: str) -> None:
        self.session.attach(replace(file, what=what))

    @enters
    @work
    async def take_file_back(self) -> None:
        attached = self.session.journal.job.attached
        if not attached:
            self._tell("No file is attached.")
            return
        lines = closing_pages.file_lines(attached)
        offers = numbered([(str(f.number), line) for f, line in zip(attached, lines, strict=True)])
        chosen = await self.app.push_screen_wait(Pick("Which file does not belong to it", offers))
        file = next((f for f in attached if str(f.number) == chosen), None)
        if file is not None:
            self._do(lambda: self.session.take_file_back(file), f"Taken back: {file.path}.")

    # --- the paper -------------------------------------------------------------------------------

    @work
    async def report(self) -> None:
        """Everything that was answered and what it comes to, as one file to print or to send."""
        close = Close(self.session)
        typed = await self.app.push_screen_wait(
            AskPath("Where does the report go?", offered=str(close.paper_place("")), hint=PAPER_HINT)
        )
        if typed is not None:
            self._tell("Writing the report …")
            self._tell(await asyncio.to_thread(close.write_paper, close.paper_place(dropped(typed)[0])))

    # --- saying ----------------------------------------------------------------------------------

    def _do(self, do: Callable[[], object], said: str) -> None:
        """Keep something on the last page, and say there what came of it."""
        self._tell(self.tried(do) or said)

    def _tell(self, text: str) -> None:
        """Say something on the last page, as it is now."""
        self._draw(None)
        self.say(text)


def _attached(file: Attached, _: str) -> str:
    return f"Attached: {file.path}. It stays where it is."

"""The first screen of a survey: painted at once, then the shop is read and the survey begun or resumed."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, cast

from textual import work

from readiness.wizard.beginning import AGAIN, Beginning
from readiness.wizard.start import local_now

if TYPE_CHECKING:
    from readiness.job import System
    from readiness.records.shop import ShopFolder
    from readiness.records.surveys import SurveyJournal
    from readiness.survey.surveying import Way

GOES_ON = "The survey goes on where it was left."
ANEW = "begun anew by choice at the start"
"""Why the survey that was there is set aside, for its record."""


class SurveyStart(Beginning):
    """Stays under the survey. What cannot be opened is said here, and Enter tries again."""

    HEAD = " readiness: the floor of a bay, surveyed once for every job"

    def __init__(
        self,
        shop: Path | Callable[[], Path],
        bay: str,
        person: str | None,
        clock: Callable[[], datetime] | None,
    ) -> None:
        """`bay` may be empty: then it is asked for."""
        super().__init__()
        self.shop_path, self.bay, self.person = shop, bay, person or ""
        self.clock = clock or local_now
        self.folder: ShopFolder | None = None

    @work(thread=True, exclusive=True, group="shop")
    def open_shop(self) -> None:
        """Read what a survey needs, off the way to the first paint."""
        from readiness.checklist.mistakes import FileMistakes
        from readiness.records.shop import ShopError, ShopFolder

        try:
            path = self.shop_path
            folder = ShopFolder(path if isinstance(path, Path) else path())
            _, _ = folder.shop, folder.instruments
            if self.bay:
                folder.bays.named(self.bay, "'readiness survey'")
        except (ShopError, FileMistakes, OSError) as fault:
            self.app.call_from_thread(self.stop, f"{fault}\n\n{AGAIN}")
            return
        self.app.call_from_thread(self.begin, folder)

    @work(exclusive=True, group="begin")
    async def begin(self, folder: ShopFolder) -> None:
        """Go on with the bay's unfinished survey, or begin one: by which way, by whom."""
        from readiness.records.journal import JournalError
        from readiness.records.shop import ShopError
        from readiness.records.surveys import damaged

        self.folder = folder
        people = folder.shop.people
        self.person = self.person or (people[0] if len(people) == 1 else "")
        try:
            if not self.bay and not await self._ask_bay(folder):
                return
            journal = await self._old_or_new(folder)
            if journal is None:
                self._not_begun()
                return
            unread = await asyncio.to_thread(damaged, folder, self.bay)
        except (JournalError, ShopError, ValueError, OSError) as fault:
            self.stop(f"{fault}\n\n{AGAIN}")
            return
        self._open(folder, journal, unread)

    async def _old_or_new(self, folder: ShopFolder) -> SurveyJournal | None:
        """The bay's unfinished survey or one in its place; None where somebody went back."""
        from readiness.records.surveys import resume

        old = await asyncio.to_thread(
            resume, folder, self.bay, by=self.person, at=self.clock(), or_read=True
        )  # fmt: skip
        if old is None:
            return await self._new(folder)
        if old.locked:
            return old if await self._know_person(folder) else None
        chosen: SurveyJournal | None = None
        try:
            chosen = await self._instead(folder, old)
        finally:
            if chosen is not old:
                old.close()
        return chosen

    async def _instead(self, folder: ShopFolder, old: SurveyJournal) -> SurveyJournal | None:
        """The unfinished survey itself, first of all; or one begun anew, which sets it aside."""
        from readiness.records.surveys import begin_anew, put_aside
        from readiness.wizard.dialogs import Offer, Pick
        from readiness.wizard.surveying_words import so_far_in_words

        offers = (
            Offer("g", "go on", f"go on: {so_far_in_words(old.surveying)}"),
            Offer("s", "same", "begin anew with the same places"),
            Offer("n", "new", "begin anew; way and places are chosen anew"),
        )
        how = await self.app.push_screen_wait(
            Pick(f"{folder.bays[self.bay].title}: its survey is not finished", offers)
        )
        if how == "new":
            new = await self._new(folder)
            if new is not None:
                put_aside(old, by=self.person, at=self.clock(), why=ANEW)
            return new
        if not how or not await self._know_person(folder):
            return None
        if how == "go on":
            return old
        return begin_anew(folder, old, by=self.person, at=self.clock(), why=ANEW)

    def _not_begun(self) -> None:
        self.stop("Nothing was begun. Enter begins, Esc leaves.")

    async def _ask_bay(self, folder: ShopFolder) -> bool:
        from readiness.wizard.dialogs import Pick, numbered

        offers = numbered([(name, bay.title) for name, bay in folder.bays.good().items()])
        if not offers:
            self.stop(f"A survey needs a bay: put one into {folder.path / 'bays'}, then 'readiness lint' it.")
            return False
        chosen = await self.app.push_screen_wait(Pick("Which bay", offers))
        self.bay = chosen or ""
        if not chosen:
            self._not_begun()
        return bool(chosen)

    async def _new(self, folder: ShopFolder) -> SurveyJournal | None:
        """The way first, for it decides which places are needed; None where somebody went back."""
        from readiness.records.surveys import begin, sheets_used, uses_of
        from readiness.wizard.dialogs import Offer, Pick
        from readiness.wizard.surveying_words import tool_for

        tools = [tool_for(m, folder.instruments, self.clock().date()) for m in ("height", "slope")]
        offers = (
            Offer("l", "laser", f"laser and staff: a height at every place ({tools[0]})"),
            Offer("v", "level", f"level on a straightedge, laid from place to place ({tools[1]})"),
        )
        way = await self.app.push_screen_wait(Pick(f"{folder.bays[self.bay].title}: surveyed with", offers))
        length = await self._ask_length(folder.shop.units) if way == "level" else None
        if not way or (way == "level" and length is None) or not await self._know_person(folder):
            return None
        self.say("Choosing the places …")
        uses = uses_of(folder, sheets_used(folder, self.bay))
        return await asyncio.to_thread(
            begin, folder, self.bay, cast("Way", way), uses, by=self.person, at=self.clock(),
            straightedge=length,
        )  # fmt: skip

    async def _ask_length(self, system: System) -> float | None:
        """In m; asked again until it is a length that a person can handle."""
        from readiness import units
        from readiness.survey.surveying import LONGEST, SHORTEST
        from readiness.wizard.dialogs import Ask

        hint = ""
        while True:
            text = await self.app.push_screen_wait(
                Ask("How long is the straightedge", offered=units.show(2.0, "m", system), hint=hint)
            )
            if text is None:
                return None
            try:
                return units.parse(
                    text, "m", system=system, low=SHORTEST, high=LONGEST, name="The straightedge"
                )
            except units.UnitsError as fault:
                hint = str(fault)

    async def _know_person(self, folder: ShopFolder) -> bool:
        from readiness.wizard.dialogs import ask_person

        self.person = self.person or await ask_person(self.app, folder.shop.people) or ""
        return bool(self.person)

    def _open(self, folder: ShopFolder, journal: SurveyJournal, unread: tuple[str, ...]) -> None:
        """`unread` says which other surveys of this bay could not be read, and were passed over."""
        from readiness.wizard.surveying import Surveying
        from readiness.wizard.surveying_session import SurveySession

        journal.held_by(self.person)
        session = SurveySession(folder, journal, self.person, self.clock)
        greeting = GOES_ON if journal.surveying.readings else session.before
        greeting = "" if journal.locked else greeting
        greeting = " ".join((greeting, *unread))
        self.app.push_screen(Surveying(session, greeting), lambda _: self.app.exit())

"""The start screen: resume a job or begin a new one. Painted first, filled as the shop is read."""

from __future__ import annotations

import gc
import time
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar, cast

from textual import work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.screen import Screen
from textual.widgets import OptionList, Static
from textual.worker import get_current_worker

from readiness.wizard.job_list import ENDED, MOST, NEW, JobList

if TYPE_CHECKING:
    from readiness.jobstate import JobState
    from readiness.records.index import JobIndex
    from readiness.records.journal import Journal
    from readiness.records.shop import JobLine, ShopFolder
    from readiness.wizard.app import ReadinessApp
    from readiness.wizard.bay_search import Taken

WARM_AFTER = 0.4
"""Seconds after the list stands, so that a job opened at once is painted first."""
AT_ONCE = 0.1
"""Seconds for which outcomes are gathered before the list shows them."""
KEYS = "Enter opens  n new job  / find  e ended jobs  p who  x practise  Ctrl+Q leave"


class Start(Screen[None]):
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("n", "new", "new job", tooltip="A car that is not on the list"),
        Binding("slash", "find", "find", key_display="/", tooltip="A job by a few of its letters"),
        Binding("e", "ended", "ended jobs", tooltip="Ended jobs instead of the open ones, and back"),
        Binding("p", "person", "who", tooltip="Whose name goes with the answers"),
        Binding("x", "practise", "practise", tooltip="Simulated cars, to learn on"),
        Binding("escape", "all", "all jobs", show=False),
    ]

    def __init__(
        self,
        shop: Path | Callable[[], Path],
        job: str | None,
        person: str | None,
        clock: Callable[[], datetime] | None,
    ) -> None:
        super().__init__()
        self.clock = clock or local_now
        self.shop_path, self.first_job, self.person = shop, job, person or ""
        self.folder: ShopFolder | None = None
        self.index: JobIndex | None = None
        self.jobs = JobList(self.clock)

    def compose(self) -> ComposeResult:
        yield Static(
            Content(" readiness: is the car, is the bay ready, before any target is placed?"), id="head"
        )
        yield self.jobs
        yield Static(Content("Reading the shop …"), id="sentence")
        yield Static(Content(KEYS), id="keys")

    def on_mount(self) -> None:
        self.jobs.focus()
        self.call_after_refresh(self.open_shop)

    # --- reading the shop, off the way to the first paint ----------------------------------------

    @work(thread=True, exclusive=True, group="shop")
    def open_shop(self) -> None:
        from readiness.checklist.mistakes import FileMistakes
        from readiness.records.index import JobIndex
        from readiness.records.journal import JournalError
        from readiness.records.shop import ShopError, ShopFolder

        try:
            path = self.shop_path
            folder = ShopFolder(path if isinstance(path, Path) else path())
            shop, _ = folder.shop, folder.instruments
            index = JobIndex(folder)
            latest = index.lines(MOST)
        except (ShopError, FileMistakes, JournalError, OSError) as fault:
            self.app.call_from_thread(self.say, str(fault))
            return
        self.app.call_from_thread(self._opened, folder, index, shop.shop, latest)
        if len(latest) == MOST:
            self._read_all(index)

    def _opened(self, folder: ShopFolder, index: JobIndex, name: str, latest: list[JobLine]) -> None:
        self.folder, self.index = folder, index
        people = folder.shop.people
        self.person = self.person or (people[0] if len(people) == 1 else "")
        whole = len(latest) < MOST
        self.jobs.take(latest, whole)
        self.query_one("#head", Static).update(Content(f" {name}"))
        self.say(folder.shop.note or "Pick a job to go on with, or n for a new one.")
        self.set_timer(WARM_AFTER, self.warm)
        if whole:
            self.judge_jobs()
        if self.first_job is not None:
            wanted, self.first_job = self.first_job, None
            self.open_job(wanted)

    @work(thread=True, exclusive=True, group="warm")
    def warm(self) -> None:
        """Import what the first answers need while nobody has typed yet."""
        import filelock
        import numpy  # noqa: F401  # the floor of a bay that was surveyed by level is adjusted with it

        from readiness import units
        from readiness.checks import kinds
        from readiness.wizard import walk

        assert walk.Walk is not None
        assert filelock.FileLock is not None  # loaded at its first use, when a job is opened
        assert kinds()
        units.prepare()
        # what is loaded stays: a collection while somebody types need not look through it again
        gc.collect()
        gc.freeze()

    @work(thread=True, exclusive=True, group="shop")
    def read_jobs(self) -> None:
        """See what was changed; the rest is as it was."""
        if self.index is not None:
            self._read_all(self.index)

    def _read_all(self, index: JobIndex) -> None:
        """In a thread: every job at a glance, then how those stand that are listed."""
        from readiness.records.journal import JournalError

        worker = get_current_worker()
        try:
            lines = index.lines(heard=lambda what, share: not worker.is_cancelled)
        except JournalError as fault:  # such as a share that is gone: what was listed stays
            self.app.call_from_thread(self.say, str(fault))
            return
        if not worker.is_cancelled:
            self.app.call_from_thread(self._take, lines)

    def _take(self, lines: list[JobLine]) -> None:
        self.jobs.take(lines)
        self.judge_jobs()

    @work(thread=True, exclusive=True, group="judge")
    def judge_jobs(self) -> None:
        """How the listed jobs stand now, filled in as it is worked out."""
        worker, now, index = get_current_worker(), self.clock(), self.index
        found: dict[str, JobState] = {}
        told = time.monotonic()

        def each(job: JobLine, state: JobState) -> None:
            nonlocal told
            found[job.id] = state
            if time.monotonic() - told > AT_ONCE and not worker.is_cancelled:
                self.app.call_from_thread(self.jobs.stand, dict(found))
                found.clear()
                told = time.monotonic()

        if index is not None:
            index.states(self.jobs.shown, now, lambda what, share: not worker.is_cancelled, each)
            if not worker.is_cancelled:
                self.app.call_from_thread(self.jobs.stand, found)

    # --- which jobs are listed -------------------------------------------------------------------

    def action_ended(self) -> None:
        if self.jobs.wanted:
            return
        if not self.jobs.ended and not self.jobs.count_ended():
            self.say("No job is ended yet.")
            return
        self.jobs.turn()
        self.judge_jobs()

    async def action_find(self) -> None:
        """A line above the list; what is typed there thins the list. The next key waits until it is there."""
        from readiness.wizard.find_line import KEYS as FINDING
        from readiness.wizard.find_line import FindLine

        if not self.query("#find"):
            await self.mount(FindLine(self.jobs, self.judge_jobs, self.open_job), before=self.jobs)
            self.query_one("#keys", Static).update(Content(FINDING))
        self.query_one("#find").focus()

    async def action_all(self) -> None:
        """Back from what was looked for, or from the ended jobs."""
        if self.query("#find"):
            await self.query_one("#find").remove()
            self.jobs.find("")
            self.query_one("#keys", Static).update(Content(KEYS))
            self.jobs.focus()
            self.judge_jobs()
        elif self.jobs.ended:
            self.action_ended()

    def say(self, text: str) -> None:
        self.query_one("#sentence", Static).update(Content(text))

    # --- opening ---------------------------------------------------------------------------------

    def on_option_list_option_selected(self, message: OptionList.OptionSelected) -> None:
        chosen = message.option.id or ""
        if chosen == NEW:
            self.action_new()
        elif chosen == ENDED:
            self.action_ended()
        else:
            self.open_job(chosen.removeprefix("job:"))

    @work(exclusive=True, group="open")
    async def open_job(self, job: str) -> None:
        from readiness.records.journal import JournalError
        from readiness.records.shop import ShopError

        if self.folder is None or not await self._know_person():
            return
        try:
            journal = self.folder.journal(job, by=self.person, at=self.clock(), or_read=True)
        except JournalError as fault:
            self.say(str(fault))
            return
        try:
            self.folder.visit(journal.job)
        except ShopError as fault:
            journal.close()
            self.say(str(fault))
            return
        self._walk(journal)

    @work(exclusive=True, group="open")
    async def action_new(self) -> None:
        """Sheet, sides, bay and place, job number: then the walk begins."""
        from readiness.records.shop import ShopError

        folder = self.folder
        if folder is None:
            self.open_shop()  # it says again what is missing, or finds what was put there meanwhile
            return
        try:
            if not folder.sheets.good() or not folder.bays.good():
                self.say(
                    f"A job needs a sheet and a bay: put them into {folder.path}, then 'readiness lint' it."
                )
                return
            sheet, sides = await self._ask_sheet(folder)
            taken = await self._ask_bay(folder, sheet, sides) if sides else None
        except ShopError as fault:
            self.say(str(fault))
            return
        if taken is not None and await self._know_person():
            await self._begin(folder, sheet, sides, taken)

    async def _ask_sheet(self, folder: ShopFolder) -> tuple[str, tuple[str, ...]]:
        """Which car and calibration, and for which sides; no side where somebody went back."""
        from readiness.wizard.dialogs import Pick, numbered
        from readiness.wizard.pages import side_offers

        ask = self.app.push_screen_wait
        sheets = [(s.sheet, f"{s.title}  ({s.document.reference})") for s in folder.sheets.good().values()]
        sheet = await ask(Pick("Which car and calibration", numbered(sheets)))
        sides: tuple[str, ...] = folder.checklist(folder.sheets[sheet].checklist).sides if sheet else ()
        if sheet and len(sides) > 1:
            chosen = await ask(Pick("Which side", side_offers(sides)))
            sides = tuple(chosen.split()) if chosen else ()
        return sheet or "", sides

    async def _ask_bay(self, folder: ShopFolder, sheet: str, sides: tuple[str, ...]) -> Taken | None:
        from readiness.wizard.bay_screen import BayScreen
        from readiness.wizard.bay_search import BaySearch

        search = BaySearch(folder, folder.sheets[sheet], sides, self.clock)
        return await self.app.push_screen_wait(BayScreen(search))

    async def _begin(self, folder: ShopFolder, sheet: str, sides: tuple[str, ...], taken: Taken) -> None:
        """Ask for the job's number until it is one that can be had."""
        from readiness.records.journal import Journal, JournalError
        from readiness.wizard.dialogs import Ask
        from readiness.wizard.job_number import free_number, job_id

        typed = hint = ""
        while True:
            stem = self.clock().strftime("%y%m%d")
            free = free_number(stem, {path.stem for path in folder.jobs_folder.glob(f"{stem}-*")})
            ask = Ask("Job number or plate", offered=free)
            number = await self.app.push_screen_wait(ask.again(typed, hint))
            if not number:
                return
            try:
                journal = Journal.create(
                    folder.jobs_folder, job=job_id(number), sheet=sheet, bay=taken.bay, sides=sides,
                    by=self.person, at=self.clock(), plate="" if number == free else number,
                )  # fmt: skip
            except JournalError as fault:
                typed, hint = "" if number == free else number, str(fault)
                continue
            self._walk(journal, taken)
            return

    async def _know_person(self) -> bool:
        if not self.person:
            await self._ask_person()
        return bool(self.person)

    async def _ask_person(self) -> None:
        from readiness.wizard.dialogs import ask_person

        assert self.folder is not None
        self.person = await ask_person(self.app, self.folder.shop.people) or self.person

    @work(exclusive=True, group="open")
    async def action_person(self) -> None:
        if self.folder is not None:
            await self._ask_person()
            self.say(f"Answers are kept in the name of {self.person or 'nobody yet'}.")

    def action_practise(self) -> None:
        """Simulated cars; coming back, the list stands as it was."""
        from readiness.wizard.practice_start import PracticeStart

        path = self.folder.path if self.folder is not None else self.shop_path
        self.app.push_screen(PracticeStart(path, self.person, self.clock))

    def _walk(self, journal: Journal, taken: Taken | None = None) -> None:
        """Walk the job; a place that was worked out is kept first."""
        from readiness.records.journal import JournalError
        from readiness.wizard.session import Session

        assert self.folder is not None
        session = Session(self.folder, journal, self.person, self.clock)
        try:
            if taken is not None and taken.place is not None:
                session.park_at(taken.place, taken.tapes)
        except JournalError as fault:  # the job is there; where the car is to stand can be entered in it
            self.app.notify(str(fault), markup=False)
        cast("ReadinessApp", self.app).open_walk(session)


def local_now() -> datetime:
    return datetime.now(UTC).astimezone()

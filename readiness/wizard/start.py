"""The start screen: resume a job or begin a new one. Painted first, filled as the shop is read."""

from __future__ import annotations

import gc
import re
from collections.abc import Callable
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar, cast

from textual import work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.screen import Screen
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option, OptionDoesNotExist
from textual.worker import get_current_worker

if TYPE_CHECKING:
    from readiness.records.journal import Journal
    from readiness.records.shop import JobLine, ShopFolder
    from readiness.wizard.app import ReadinessApp
    from readiness.wizard.bay_search import Taken

NEW = "new"
MOST_JUDGED = 40
"""Jobs whose outcome the list shows."""
WARM_AFTER = 0.4
"""Seconds after the list stands, so that a job opened at once is painted first."""
KEYS = "Enter opens  n new job  p who is working  ctrl+q leave"


class Start(Screen[None]):
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("n", "new", "new job", tooltip="A car that is not on the list"),
        Binding("p", "person", "who", tooltip="Whose name goes with the answers"),
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
        self.jobs: list[JobLine] = []

    def compose(self) -> ComposeResult:
        yield Static(
            Content(" readiness: is the car, is the bay ready, before any target is placed?"), id="head"
        )
        yield OptionList(Option(Content("n  New job"), id=NEW))
        yield Static(Content(" Reading the shop …"), id="sentence")
        yield Static(Content(KEYS), id="keys")

    def on_mount(self) -> None:
        self.query_one(OptionList).focus()
        self.call_after_refresh(self.open_shop)

    # --- reading the shop, off the way to the first paint ----------------------------------------

    @work(thread=True, exclusive=True, group="shop")
    def open_shop(self) -> None:
        from readiness.checklist.mistakes import FileMistakes
        from readiness.records.shop import ShopError, ShopFolder

        try:
            path = self.shop_path
            folder = ShopFolder(path if isinstance(path, Path) else path())
            shop, _ = folder.shop, folder.instruments
            jobs = folder.jobs()
        except (ShopError, FileMistakes, OSError) as fault:
            self.app.call_from_thread(self.say, str(fault))
            return
        self.app.call_from_thread(self._opened, folder, shop.shop, jobs)

    def _opened(self, folder: ShopFolder, name: str, jobs: list[JobLine]) -> None:
        self.folder = folder
        people = folder.shop.people
        self.person = self.person or (people[0] if len(people) == 1 else "")
        self._list(jobs)
        self.query_one("#head", Static).update(Content(f" {name}"))
        self.say(folder.shop.note or "Pick a job to go on with, or n for a new one.")
        self.set_timer(WARM_AFTER, self.warm)
        if self.first_job is not None:
            wanted, self.first_job = self.first_job, None
            self.open_job(wanted)

    @work(thread=True, exclusive=True, group="warm")
    def warm(self) -> None:
        """Import what the first answers need while nobody has typed yet."""
        import numpy  # noqa: F401  # the floor of a bay that was surveyed by level is adjusted with it

        from readiness import units
        from readiness.checks import kinds
        from readiness.wizard import walk

        assert walk.Walk is not None
        assert kinds()
        units.prepare()
        # what is loaded stays: a collection while somebody types need not look through it again
        gc.collect()
        gc.freeze()

    @work(thread=True, exclusive=True, group="shop")
    def read_jobs(self) -> None:
        if self.folder is not None:
            self.app.call_from_thread(self._list, self.folder.jobs())

    def _list(self, jobs: list[JobLine]) -> None:
        self.jobs = jobs
        options = self.query_one(OptionList)
        at = options.highlighted or 0
        options.clear_options()
        options.add_option(Option(Content("n  New job"), id=NEW))
        options.add_options([Option(Content(self._line(job)), id=f"job:{job.id}") for job in self.jobs])
        options.highlighted = min(at, len(self.jobs))

        self.judge_jobs()

    def _line(self, job: JobLine, outcome: str = "") -> str:
        if job.problem:
            return f"   {job.id:<14} cannot be opened: {job.problem}"
        return f"   {job.id:<9} {job.plate:<9} {job.sheet:<18} {self._when(job.last):<7} {outcome}"

    def _when(self, last: datetime | None) -> str:
        """The time of today's jobs, the day of older ones."""
        if last is None:
            return ""
        at = last.astimezone()
        return at.strftime("%H:%M" if at.date() == self.clock().astimezone().date() else "%d %b")

    @work(thread=True, exclusive=True, group="judge")
    def judge_jobs(self) -> None:
        """How each job stands now, filled in as it is worked out; the latest ones are enough."""
        from readiness.jobstate import job_state
        from readiness.records.journal import JournalError
        from readiness.records.shop import ShopError
        from readiness.verdict import judge
        from readiness.wizard import closing_pages
        from readiness.wizard.pages import in_short

        folder, worker = self.folder, get_current_worker()
        for job in self.jobs[:MOST_JUDGED]:
            if folder is None or worker.is_cancelled or job.problem:
                continue
            try:
                visit = folder.visit(folder.journal(job.id, write=False).job)
                now = self.clock()
                state = job_state(visit, job.last or now, now)
                outcome = closing_pages.in_short(state) or in_short(judge(visit, now))
            except (JournalError, ShopError):
                outcome = "cannot be judged: open it to see why"
            self.app.call_from_thread(self._show_outcome, job, outcome)

    def _show_outcome(self, job: JobLine, outcome: str) -> None:
        options = self.query_one(OptionList)
        with suppress(OptionDoesNotExist):  # the list was read anew meanwhile
            options.replace_option_prompt(f"job:{job.id}", Content(self._line(job, outcome)))

    def say(self, text: str) -> None:
        self.query_one("#sentence", Static).update(Content(" " + text))

    # --- opening ---------------------------------------------------------------------------------

    def on_option_list_option_selected(self, message: OptionList.OptionSelected) -> None:
        chosen = message.option.id or ""
        if chosen == NEW:
            self.action_new()
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

        used, hint = {j.id for j in self.jobs}, ""
        while True:
            free = free_number(self.clock().strftime("%y%m%d"), used)
            number = await self.app.push_screen_wait(Ask("Job number or plate", offered=free, hint=hint))
            if not number:
                return
            try:
                journal = Journal.create(
                    folder.jobs_folder, job=job_id(number), sheet=sheet, bay=taken.bay, sides=sides,
                    by=self.person, at=self.clock(), plate="" if number == free else number,
                )  # fmt: skip
            except JournalError as fault:
                hint = str(fault)
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


def job_id(text: str) -> str:
    """A file name that every system takes, from what a person typed."""
    return re.sub(r"[^A-Za-z0-9_-]+", "-", text).strip("-")[:60] or "job"


def free_number(stem: str, taken: set[str]) -> str:
    """The first of stem-1, stem-2, ... that no job has."""
    return next(name for k in range(1, len(taken) + 2) if (name := f"{stem}-{k}") not in taken)

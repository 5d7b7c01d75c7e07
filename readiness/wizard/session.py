"""One job on the screen: what a person does, and what it leads to. Knows no widget.

Everything kept goes through the journal first; the verdict is then judged anew from the job.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal

from msgspec.structs import replace

from readiness import units
from readiness.checks.entry import understood
from readiness.checks.finding import no_reason, not_to_be_set_aside
from readiness.checks.instruments import first_in_date
from readiness.checks.kind import SHARED, Question
from readiness.checks.times import moment_typed
from readiness.checks.words import clock, happening
from readiness.closing import RESULT, closing
from readiness.job import (
    Attached,
    Ended,
    Event,
    Evidence,
    Fix,
    Instrument,
    Reading,
    Standing,
    System,
    Waiver,
)
from readiness.records import history
from readiness.records.chained import JournalError
from readiness.records.grounds import grounds_of
from readiness.records.parked import keep_place, place_kept
from readiness.wizard.held import Held
from readiness.wizard.known import Known
from readiness.wizard.rows import Row

if TYPE_CHECKING:
    from readiness.records.journal import Journal
    from readiness.wizard.bay_search import BaySearch, Taken

NOW = "now"
Again = Literal["repeat", "correct", "fixed"]
"""Why a question that has an answer gets another one."""


@dataclass
class Session(Known, Held):
    """A job that is being answered. Raises units.UnitsError for entries, JournalError for the disk."""

    evidence: dict[tuple[str, str, str], tuple[Evidence, str]] = field(default_factory=dict)
    """Evidence chosen for a question before it is answered: grade, and who told it."""
    picked: dict[str, str] = field(default_factory=dict)
    """Instrument last chosen for each kind of measurement."""

    # --- instruments and evidence ----------------------------------------------------------------

    def instruments_for(self, question: Question) -> list[Instrument]:
        return [i for i in self.visit.instruments.values() if i.measures == question.measures]

    def instrument(self, row: Row) -> Instrument | None:
        """The one last used for this kind of measurement, else the first that is in date."""
        measures = row.question.measures
        if not measures:
            return None
        used = self.picked.get(measures) or self._last_used(measures)
        if used in self.visit.instruments:
            return self.visit.instruments[used]
        return first_in_date(self.visit.instruments, measures, self.clock().date())

    def _last_used(self, measures: str) -> str:
        for reading in reversed(self.journal.job.readings):
            instrument = self.visit.instruments.get(reading.instrument)
            if instrument is not None and instrument.measures == measures:
                return instrument.id
        return ""

    def told_of(self, row: Row) -> tuple[Instrument | None, Evidence, str]:
        """Instrument, grade and teller: of the last reading kept, else as the next one will be kept."""
        if row.answered:
            last = row.readings[-1]
            return self.visit.instruments.get(last.instrument), last.evidence, last.told_by
        return self.instrument(row), *self.evidence_for(row)

    def evidence_for(self, row: Row) -> tuple[Evidence, str]:
        return self.evidence.get(row.place, (row.question.evidence, ""))

    # --- what a person does ----------------------------------------------------------------------

    @property
    def book(self) -> Journal:
        """The journal, to write in. Raises JournalError where `barred` says something."""
        if barred := self.barred:
            raise JournalError(barred)
        return self.journal

    @property
    def barred(self) -> str:
        """Why nothing can be entered, a sentence: another program has the job, or it has ended. Else empty."""
        if self.journal.locked or self.ended is None:
            return super().barred
        return (
            f"The job was ended at {self.ended.at.astimezone():%H:%M}, so nothing more is kept. "
            "Ctrl+E goes to its last page; g there goes on with it."
        )

    def look_anew(self) -> None:
        self._visit = None

    @contextmanager
    def _together(self) -> Iterator[None]:
        """Entries that are kept together or not at all."""
        try:
            with self.book.together():
                yield
        finally:
            self._visit = None

    def answer(self, row: Row, text: str, again: Again = "repeat") -> Reading:
        """Understand the text, keep it on disk, and only then return what was kept."""
        instrument = self.instrument(row) if row.question.type == "quantity" else None
        tool = instrument.id if instrument else ""
        value, unit = understood(row.question, text, self.system, self._division(tool))
        grade, told_by = self.evidence_for(row)
        shared = row.question.shared
        with self._together():
            if row.answered and again == "fixed":
                self.fixed(row, "put right")
            reading = Reading(
                check=SHARED if shared else row.check.id, side="" if shared else row.side,
                question=row.question.key, value=value, unit=unit, text=text.strip(), at=self.clock(),
                by=self.person, evidence=grade, told_by=told_by, instrument=tool,
            )  # fmt: skip
            if row.answered and again == "correct":
                return self.book.instead(row.readings[-1], reading, history.MISTYPED, self.person)
            kept = self.book.record(reading)
            if row.check.kind == RESULT:
                self.judged_by()
            return kept

    def judged_by(self) -> None:
        """Keep what sheet, bay, limits and instruments say now, as a verdict of now that is to last rests on them."""
        self.book.judge_by(grounds_of(self.visit), self.person, self.clock())

    def retell(self, row: Row) -> None:
        """Keep the last reading anew with the instrument and evidence now chosen; the old one is withdrawn."""
        last = row.readings[-1]
        grade, told_by = self.evidence.get(row.place, (last.evidence, last.told_by))
        tool = self.picked.get(row.question.measures, last.instrument)
        value = last.value
        if units.in_divisions(last.text):  # a division of another level is another slope
            value, _ = understood(row.question, last.text, self.system, self._division(tool))
        anew = replace(
            last, value=value, at=self.clock(), evidence=grade, told_by=told_by, instrument=tool, number=0
        )
        with self._together():
            self.book.instead(last, anew, history.RETOLD, self.person)

    def _division(self, tool: str) -> str:
        """The sensitivity of an instrument's vial, empty where it has none."""
        instrument = self.visit.instruments.get(tool)
        return instrument.division if instrument else ""

    def undo(self) -> str:
        """Withdraw the last thing recorded, and say what it was."""
        latest = self.journal.latest
        if latest is None:
            return "There is nothing to take back."
        number, entry = latest
        self.book.withdraw(number, history.UNDONE, self.person, self.clock())
        self._visit = None
        return f"Taken back: {_in_words(entry)}."

    def bay_search(self) -> BaySearch:
        """The search for a place in every bay, for this job's sheet and sides."""
        from readiness.wizard.bay_search import BaySearch

        return BaySearch(self.folder, self.visit.sheet, self.journal.job.sides, self.clock)

    @property
    def placed(self) -> bool:
        """Whether a place that was worked out is kept."""
        return bool(place_kept(self.journal.job, self.visit.checklist))

    def take(self, taken: Taken) -> None:
        """The car goes to a bay and a place in it, for which it is moved."""
        with self._together():
            if taken.bay != self.journal.job.bay:
                self.book.change(bay=taken.bay, by=self.person, at=self.clock())
            self.happened("car_moved")
            self.park_at(taken.place, taken.tapes)

    def park_at(self, place: Standing | None, tapes: str = "") -> None:
        """The car is to stand at a place that was worked out, if the checklist asks for it; None: on the bay's marks."""
        with self._together():
            keep_place(
                self.book, self.visit.checklist, place, by=self.person, at=self.clock(), system=self.system,
                tapes=tapes,
            )  # fmt: skip

    def to_sides(self, sides: tuple[str, ...]) -> None:
        """For other sides from now on. Raises ValueError where one with a result would be left out: it is on the paper."""
        close = closing(self.visit, self.clock()).sides
        for side in self.journal.job.sides:
            if side not in sides and close[side].read_at is not None:
                raise ValueError(f"The {side} side has its result, so it stays in this job.")
        self.book.change(sides=sides, by=self.person, at=self.clock())
        self._visit = None

    def take_back(self, row: Row) -> None:
        """Withdraw the latest reading of a row; it stays in the journal as history."""
        if row.answered:
            self.book.withdraw(row.readings[-1].number, history.TAKEN_BACK, self.person, self.clock())
            self._visit = None

    def fixed(self, row: Row, text: str) -> None:
        """Something was put right: earlier readings of this question count no more."""
        check, side = (SHARED, "") if row.question.shared else (row.check.id, row.side)
        self.book.fix(
            Fix(
                check=check, question=row.question.fix or row.question.key, side=side, at=self.clock(),
                by=self.person, text=text,
            )
        )  # fmt: skip
        self._visit = None

    def note(self, row: Row, text: str) -> None:
        if row.answered:
            self.book.note(row.readings[-1].number, text, self.person, self.clock())
            self._visit = None

    def waive(self, check: str, side: str, reason: str) -> None:
        """Set a check aside. Raises ValueError for one that nobody may set aside, and without name or reason."""
        if barred := not_to_be_set_aside(self.visit.checklist.check(check)) or no_reason(reason):
            raise ValueError(barred)
        if not self.person.strip():
            raise ValueError("Say who you are first: a check is set aside with a name.")
        self.book.waive(Waiver(check=check, side=side, reason=reason, at=self.clock(), by=self.person))
        self._visit = None

    def count_again(self, check: str, side: str) -> None:
        """Take back that a check was set aside; it stays in the journal as history."""
        story = self.stories().get((check, side, ""))
        with self._together():
            for step in story.standing("set aside") if story is not None else ():
                self.book.withdraw(step.number, "it counts again", self.person, self.clock())

    def happened(self, event: str, side: str = "") -> None:
        self.book.happen(Event(event=event, at=self.clock(), by=self.person, side=side))
        self._visit = None

    def attach(self, file: Attached) -> None:
        self.book.attach(file)
        self._visit = None

    def take_file_back(self, file: Attached) -> None:
        """It stays in the journal as history, and where it lies."""
        self.book.withdraw(file.number, history.TAKEN_BACK, self.person, self.clock())
        self._visit = None

    def switch_units(self) -> System:
        system: System = "us" if self.system == "metric" else "metric"
        self.book.set_units(system, self.person, self.clock())
        self._visit = None
        return system

    @property
    def as_of(self) -> str:
        """The time at which what is entered was read; empty where that is when it is typed."""
        taken = self.journal.taken
        if taken is None:
            return ""
        return clock(taken.astimezone(), self.clock())

    def read_as_of(self, text: str) -> None:
        """From now on what is entered took place then; NOW ends that. Raises ValueError, JournalError."""
        now = self.clock().astimezone()
        if text.casefold() == NOW:
            self.as_it_happens()
            return
        try:
            moment = moment_typed(text, now)
        except (ValueError, OverflowError, OSError):
            raise ValueError(
                f"A time is written 9:40, or with its day {now:%Y-%m-%d} 9:40, not '{text}'."
            ) from None
        self.book.take_as_of(moment, now)

    def as_it_happens(self) -> None:
        """From now on what is entered took place when it is entered."""
        self.journal.take_as_of(None, self.clock())

    def pick(self, row: Row, instrument: str) -> None:
        self.picked[row.question.measures] = instrument

    def grade(self, row: Row, evidence: Evidence, told_by: str = "") -> None:
        self.evidence[row.place] = (evidence, told_by)


def _in_words(entry: Reading | Fix | Event | Waiver | Attached | Ended) -> str:
    if isinstance(entry, Reading):
        return f"the answer '{entry.text}'"
    if isinstance(entry, Fix):
        return f"the fix '{entry.text}'"
    if isinstance(entry, Event):
        return happening(entry.event, entry.side)
    if isinstance(entry, Attached):
        return f"the file {entry.path}"
    return "the end of the job" if isinstance(entry, Ended) else f"that {entry.check} was set aside"

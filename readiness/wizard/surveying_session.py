"""One survey on the screen: its rows, what an entry leads to, what is found so far. Knows no widget.

Everything kept goes through the survey's journal first; what is found is then worked out anew.
"""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Literal

from msgspec.structs import replace

from readiness import units
from readiness.checklist.model import Check
from readiness.checks.entry import understood
from readiness.checks.kind import Question
from readiness.checks.picture import Picture
from readiness.job import Bay, Instrument, Reading, Shop, Survey, SurveyPoint, System
from readiness.records import surveys
from readiness.records.shop import ShopFolder
from readiness.survey import net
from readiness.survey.finish import finished
from readiness.survey.readings import read_of
from readiness.survey.result import height_map, result
from readiness.survey.room import Room
from readiness.survey.so_far import SoFar, standing
from readiness.survey.surveying import CHECK, Plan, Planned, Run, Surveying, nodes_of, questions, where
from readiness.survey.tilt import tilt_so_far
from readiness.wizard.held import Held
from readiness.wizard.rows import Row
from readiness.wizard.surveying_units import shown, typed_unit
from readiness.wizard.surveying_words import before_words, checks, minutes_left, place_words, two_places

Again = Literal["repeat", "correct"]
"""Why a row that has a reading gets another one."""
MOST_LENGTH = 100.0
"""m; no bay is longer."""


@dataclass
class SurveySession(Held):
    """A survey that is being taken. Raises units.UnitsError for entries, JournalError for the disk."""

    folder: ShopFolder
    journal: surveys.SurveyJournal
    person: str
    clock: Callable[[], datetime]
    kept: Path | None = None
    """The file of the finished survey, once there is one."""
    picked: dict[str, str] = field(default_factory=dict)
    """Instrument last chosen for each kind of measurement."""
    _found: tuple[Surveying, System, str, SoFar] | None = None

    # --- what is known ---------------------------------------------------------------------------

    @property
    def surveying(self) -> Surveying:
        return self.journal.surveying

    @property
    def bay(self) -> Bay:
        return self.folder.bays[self.surveying.bay]

    @property
    def title(self) -> str:
        return self.bay.title

    @property
    def shop(self) -> Shop:
        return replace(self.folder.shop, units=self.system)

    @property
    def system(self) -> System:
        return self.journal.units or self.folder.shop.units

    @property
    def check(self) -> Check:
        return checks()[self.surveying.way]

    @property
    def kept_at(self) -> datetime | None:
        return max((r.at for r in self.surveying.readings), default=None)

    @property
    def progress(self) -> str:
        """'7 of 14 readings', with about how long the rest takes."""
        found = self.so_far()
        minutes = minutes_left(self.surveying, len(found.open))
        left = f", about {minutes} min more" if minutes else ""
        return f"{found.done} of {found.of} readings{left}"

    @property
    def before(self) -> str:
        """What to know before the first reading."""
        tool = next((self.tool(row) for row in self.rows()), None)
        return before_words(self.surveying, tool, self.clock().date())

    def so_far(self, row: Row | None = None) -> SoFar:
        """What is found, with the plan as seen from that row; worked out once until something changes."""
        current = row.question.key if row is not None else ""
        seen = (self.surveying, self.system, current)
        if self._found is None or self._found[0] is not seen[0] or self._found[1:3] != seen[1:]:
            found = standing(self.surveying, self.bay, self.folder.instruments, self.shop, current)
            self._found = (*seen, found)
        return self._found[3]

    @property
    def tilt(self) -> str:
        """How the floor lies so far, in a sentence; empty while too little is known."""
        return tilt_so_far(self.surveying, self.bay, self.so_far().heights, self.system)

    # --- rows --------------------------------------------------------------------------------

    def rows(self) -> list[Row]:
        """A row a reading, in walking order."""
        read, check = read_of(self.surveying), self.check
        parts = self.so_far().parts
        return [
            Row(check, "", q, readings, parts.get(q.key), _mean(readings))
            for q in questions(self.surveying, self.system)
            for readings in [read.get(q.key, ())]
        ]

    def entry_unit(self, row: Row) -> str:
        return typed_unit(row, self.surveying.readings, self.tool(row), self.system)

    def shown(self, row: Row) -> str:
        """What was read at a row, in its unit."""
        return shown(row, self.entry_unit(row), self.tool(row), self.system)

    def row_about(self, place: str) -> Row | None:
        """The first row of a place, by its name."""
        return next((r for r in self.rows() if place in self.places_of(r)), None)

    def row_of_run(self, run: Run) -> Row | None:
        """The first row of a level run, whichever way it is planned."""
        return next((r for r in self.rows() if self.run_of(r) in (run, run[::-1])), None)

    def first_of(self, keys: Collection[str]) -> Row | None:
        """The first answered row of these questions, in walking order."""
        return next((r for r in self.rows() if r.question.key in keys and r.answered), None)

    def places_of(self, row: Row) -> tuple[str, ...]:
        """Names of the places that a row is about."""
        return self.places_about(row.question.key)

    def places_about(self, key: str) -> tuple[str, ...]:
        """Names of the places that a question is about."""
        return nodes_of(key, self.surveying)

    def run_of(self, row: Row) -> Run | None:
        """The level run of a row."""
        places = self.places_of(row)
        return (places[0], places[1]) if len(places) == 2 else None

    def place(self, name: str) -> SurveyPoint:
        return next(n for n in self.surveying.nodes if n.name == name)

    def in_words(self, name: str) -> str:
        """'7: foot 1 of the reflector, left side, at x 3.4 m, y 1.2 m'."""
        return place_words(self.place(name), self.system)

    def ends_in_words(self, row: Row) -> str:
        """Where the two ends of a level run lie, as a line; nothing for a staff, whose hint says it."""
        run = self.run_of(row)
        if run is None:
            return ""
        return (
            f"{'; '.join(f'{n} at {where(self.place(n), self.system)}' for n in run)} from the bay's corner\n"
        )

    # --- instruments -----------------------------------------------------------------------------

    def tools(self, measures: str) -> list[Instrument]:
        return [i for i in self.folder.instruments.values() if i.measures == measures]

    def tool(self, row: Row) -> Instrument | None:
        """Of the last reading kept; else as chosen or last used, else the first that is in date."""
        there, measures = self.folder.instruments, row.question.measures
        used = row.readings[-1].instrument if row.answered else self.picked.get(measures, "")
        used = used or self._last_used(measures)
        if used in there:
            return there[used]
        fitting, today = self.tools(measures), self.clock().date()
        return next((i for i in fitting if i.due >= today), fitting[0] if fitting else None)

    def _last_used(self, measures: str) -> str:
        there = self.folder.instruments
        used = (r.instrument for r in reversed(self.surveying.readings))
        return next((i for i in used if i in there and there[i].measures == measures), "")

    def pick(self, row: Row, instrument: str) -> None:
        """For the rows to come; readings that this row has are kept anew with it."""
        self.picked[row.question.measures] = instrument
        with self.journal.together():
            for reading in row.readings:
                value, unit = self._understood(row.question, reading.text, instrument)
                changed = replace(
                    reading, value=value, unit=unit, instrument=instrument, at=self.clock(), number=0
                )
                self.journal.record(changed)
                self.journal.withdraw(reading.number, "instrument corrected", self.person, self.clock())

    def _understood(self, question: Question, text: str, tool: str) -> tuple[float | str, str]:
        instrument = self.folder.instruments.get(tool)
        return understood(question, text, self.system, instrument.division if instrument else "")

    # --- what a person does ----------------------------------------------------------------------

    def answer(self, row: Row, text: str, again: Again = "repeat") -> None:
        """Understand the text and keep it on disk; 'correct' takes back what the row had, after that."""
        instrument = self.tool(row)
        tool = instrument.id if instrument else ""
        text = units.completed(text, self.entry_unit(row))
        value, unit = self._understood(row.question, text, tool)
        with self.journal.together():
            self.journal.record(
                Reading(
                    check=CHECK, question=row.question.key, value=value, unit=unit, text=text,
                    at=self.clock(), by=self.person, instrument=tool,
                )
            )  # fmt: skip
            for old in row.readings if again == "correct" else ():
                self.journal.withdraw(old.number, "mistyped or read again", self.person, self.clock())

    def take_back(self, row: Row) -> None:
        if row.answered:
            self.journal.withdraw(row.readings[-1].number, "taken back", self.person, self.clock())

    def note(self, row: Row, text: str) -> None:
        if row.answered:
            self.journal.note(row.readings[-1].number, text, self.person, self.clock())

    def undo(self) -> str:
        """Withdraw the last thing recorded, and say what it was."""
        latest = self.journal.latest
        if latest is None:
            return "There is nothing to take back."
        number, entry = latest
        self.journal.withdraw(number, "undone", self.person, self.clock())
        if isinstance(entry, Planned):
            return f"Taken back: {entry.why or 'the change of the plan'}."
        return f"Taken back: the reading '{entry.text}'."

    def switch_units(self) -> None:
        system: System = "us" if self.system == "metric" else "metric"
        self.journal.set_units(system, self.person, self.clock())

    # --- places and runs -------------------------------------------------------------------------

    def leave_out(self, place: str, reason: str) -> None:
        plan = net.without(self.surveying, place, Room(self.bay))
        self._plan(plan, f"place {place} was left out: {reason}")

    def leave_out_run(self, run: Run, reason: str) -> None:
        self._plan(
            net.without_run(self.surveying, run), f"the run {run[0]} to {run[1]} was left out: {reason}"
        )

    def add_place(self, x: float, y: float, what: str) -> str:
        """The name that the new place has got. Raises ValueError for one that cannot be."""
        before = {n.name for n in self.surveying.nodes}
        room = Room(self.bay)
        if not room.holds((x, y)):
            at = f"x {units.show(x, 'm', self.system)}, y {units.show(y, 'm', self.system)}"
            raise ValueError(f"{at} lies outside the bay; both count from the bay's corner.")
        plan = net.with_node(self.surveying, x, y, what, room=room)
        name = next(n.name for n in plan.nodes if n.name not in before)
        self._plan(plan, f"place {name} was added")
        return name

    def add_run(self, text: str) -> Run:
        """One more run of the level, such as a diagonal that was asked for: '1 3'. Raises ValueError."""
        run = two_places(text)
        self._plan(net.with_run(self.surveying, run), f"the run {run[0]} to {run[1]} was added")
        return run

    def _plan(self, plan: Plan, why: str) -> None:
        self.journal.plan(plan, self.person, self.clock(), why)

    def length(self, text: str, name: str) -> float:
        """A typed length in m. Raises UnitsError."""
        return units.parse(text, "m", system=self.system, low=-MOST_LENGTH, high=MOST_LENGTH, name=name)

    def begin_anew(self, why: str) -> None:
        """The same places, none of the readings; what was read stays on the disk. Raises JournalError."""
        self.journal = surveys.begin_anew(self.folder, self.journal, by=self.person, at=self.clock(), why=why)

    # --- the end ---------------------------------------------------------------------------------

    @property
    def next_row(self) -> Row | None:
        """What is to be read: what does not fit, else the first that is open; None where all is well."""
        found = self.so_far()
        keys = found.suspect if found.problems else frozenset(found.open[:1])
        return next((r for r in self.rows() if r.question.key in keys), None)

    @property
    def refusal(self) -> str:
        """Why the survey cannot be kept as it is, with what to read; empty when it can."""
        found = self.so_far()
        return found.why_not or next(iter(found.problems), "")

    @property
    def not_counting(self) -> str:
        """Why no job would take its floor from this survey, such as a level out of date; empty when all would."""
        survey = self._survey()
        return "" if survey is None else " ".join(surveys.why_not_counted(self.folder, survey))

    def _survey(self) -> Survey | None:
        """The survey as its file would have it; None while something is missing."""
        if self.so_far().why_not:
            return None
        return finished(self.surveying, self.folder.instruments)

    def result(self) -> tuple[str, ...]:
        """What the floor is like, in lines; none while something is missing."""
        survey = self._survey()
        if survey is None:
            return ()
        uses = surveys.uses_of(self.folder, surveys.sheets_used(self.folder, self.bay.bay))
        return result(survey, self.bay, uses, self.folder.instruments, self.system)

    def map(self) -> Picture:
        """The heights on the plan; while something is missing those that are known."""
        survey = self._survey()
        if survey is None:
            return self.so_far().picture
        return height_map(survey, self.bay, self.folder.instruments, self.system)

    def keep(self) -> Path:
        """Write the survey's file. Raises ValueError with what to read first, JournalError for the disk."""
        if self.refusal:
            raise ValueError(self.refusal)
        survey = finished(self.surveying, self.folder.instruments)
        self.kept = surveys.finish(self.folder, self.journal, survey, by=self.person, at=self.clock())
        return self.kept

    def close(self) -> None:
        self.journal.close()


def _mean(readings: tuple[Reading, ...]) -> float | None:
    return sum(float(r.value) for r in readings) / len(readings) if readings else None

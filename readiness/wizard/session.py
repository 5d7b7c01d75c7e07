"""One job on the screen: which rows a step shows, what an entry leads to. Knows no widget.

Everything kept goes through the journal first; the verdict is then judged anew from the job.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, field
from dataclasses import replace as changed
from datetime import datetime
from typing import TYPE_CHECKING, Literal

from msgspec.structs import replace

from readiness import units
from readiness.checklist.model import Step
from readiness.checks.entry import understood
from readiness.checks.finding import Finding, Visit, demanded
from readiness.checks.kind import SHARED, Part, Question
from readiness.checks.walking import Stop, stations, stops
from readiness.job import VOID_EVENTS, Event, Evidence, Fix, Instrument, Reading, Standing, System, Waiver
from readiness.records.parked import keep_place, place_kept
from readiness.verdict import Verdict, judge
from readiness.wizard.rows import Row, StepState, worse

if TYPE_CHECKING:
    from readiness.records.journal import Journal
    from readiness.records.shop import ShopFolder
    from readiness.wizard.bay_search import BaySearch, Taken

Again = Literal["repeat", "correct", "fixed"]
"""Why a question that has an answer gets another one."""


@dataclass
class Session:
    """A job that is being answered. Raises units.UnitsError for entries, JournalError for the disk."""

    folder: ShopFolder
    journal: Journal
    person: str
    clock: Callable[[], datetime]
    evidence: dict[tuple[str, str, str], tuple[Evidence, str]] = field(default_factory=dict)
    """Evidence chosen for a question before it is answered: grade, and who told it."""
    picked: dict[str, str] = field(default_factory=dict)
    """Instrument last chosen for each kind of measurement."""
    _visit: Visit | None = None

    # --- what is known ---------------------------------------------------------------------------

    @property
    def visit(self) -> Visit:
        if self._visit is None:
            self._visit = self.folder.visit(self.journal.job, units=self.journal.units)
        return self._visit

    @property
    def system(self) -> System:
        return self.visit.shop.units

    @property
    def steps(self) -> tuple[Step, ...]:
        return self.visit.checklist.steps

    @property
    def kept_at(self) -> datetime | None:
        times = [r.at for r in self.journal.job.readings]
        return max(times, default=None)

    def verdict(self) -> Verdict:
        return judge(self.visit, self.clock())

    def rows(self, step: Step, verdict: Verdict) -> list[Row]:
        """Every question of a step in walking order.

        One that serves two checks or both sides stands once, with the worse of what it leads to.
        """
        return [self._row(stop, verdict) for stop in stops(self.visit, step, verdict.at)]

    def _row(self, stop: Stop, verdict: Verdict) -> Row:
        q = stop.question
        scene = self.visit.scene(stop.check, stop.side, verdict.at)
        answer = scene.answer(q.key, shared=q.shared, accuracy=q.accuracy)
        mean = answer.estimate.value if answer.estimate else None
        first = stop.asked_by[0]
        row = Row(stop.check, stop.side, q, answer.readings, None, mean, (first[0].id, first[1]))
        for check, side in stop.asked_by:
            part = self._part(check.id, side, q, verdict)
            if worse(part, row.part):
                row = changed(row, part=part, judged_at=(check.id, side))
        return row

    def _part(self, check: str, side: str, question: Question, verdict: Verdict) -> Part | None:
        """The part of a finding that this answer decides."""
        key = question.part or question.key
        return next((p for p in self.finding_at(check, side, verdict).parts if p.key == key), None)

    def state(self, step: Step, verdict: Verdict) -> StepState:
        rows = self.rows(step, verdict)
        needed = [r for r in rows if not r.question.optional]
        findings = self.findings(step, verdict)
        outcome = ""
        if any(f.outcome in ("fail", "too_close") for f in findings):
            outcome = "fail"
        elif all(f.counts for f in findings):
            outcome = "pass"
        return StepState(step, len(needed), sum(r.answered for r in needed), outcome)

    def places(self, step: Step) -> list[tuple[str, str]]:
        """Check and side of everything that a step holds, as one walks: all of one side, then the other."""
        there = stations(self.visit.checklist, step, self.journal.job.sides)
        return [(check.id, side) for check, side in there]

    def findings(self, step: Step, verdict: Verdict) -> list[Finding]:
        return [self.finding_at(check, side, verdict) for check, side in self.places(step)]

    def finding_at(self, check: str, side: str, verdict: Verdict) -> Finding:
        return verdict.sides[side or self.journal.job.sides[0]].finding(check)

    def demanded(self, check: str, side: str) -> bool:
        """Whether setting a check aside would stand in the way of a go."""
        return demanded(self.visit.scene(self.visit.checklist.check(check), side, self.clock()))

    def finding_of(self, row: Row, verdict: Verdict) -> Finding:
        return self.finding_at(*row.judged_at, verdict)

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
        fitting = self.instruments_for(row.question)
        today = self.clock().date()
        return next((i for i in fitting if i.due >= today), fitting[0] if fitting else None)

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

    def answer(self, row: Row, text: str, again: Again = "repeat") -> Reading:
        """Understand the text, keep it on disk, and only then return what was kept."""
        instrument = self.instrument(row) if row.question.type == "quantity" else None
        tool = instrument.id if instrument else ""
        value, unit = understood(row.question, text, self.system, self._division(tool))
        if row.answered and again == "correct":
            last = row.readings[-1]
            self.journal.withdraw(last.number, "mistyped", self.person, self.clock())
        elif row.answered and again == "fixed":
            self.fixed(row, "put right")
        grade, told_by = self.evidence_for(row)
        shared = row.question.shared
        kept = self.journal.record(
            Reading(
                check=SHARED if shared else row.check.id, side="" if shared else row.side,
                question=row.question.key, value=value, unit=unit, text=text.strip(), at=self.clock(),
                by=self.person, evidence=grade, told_by=told_by,
                instrument=tool,
            )
        )  # fmt: skip
        self._visit = None
        return kept

    def retell(self, row: Row) -> None:
        """Keep the last reading anew with the instrument and evidence now chosen; the old one is withdrawn."""
        last = row.readings[-1]
        grade, told_by = self.evidence.get(row.place, (last.evidence, last.told_by))
        tool = self.picked.get(row.question.measures, last.instrument)
        value = last.value
        if units.in_divisions(last.text):  # a division of another level is another slope
            value, _ = understood(row.question, last.text, self.system, self._division(tool))
        self.journal.withdraw(last.number, "instrument or evidence corrected", self.person, self.clock())
        self.journal.record(
            replace(
                last, value=value, at=self.clock(), evidence=grade, told_by=told_by, instrument=tool, number=0
            )
        )
        self._visit = None

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
        self.journal.withdraw(number, "undone", self.person, self.clock())
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
        if taken.bay != self.journal.job.bay:
            self.journal.change(bay=taken.bay, by=self.person, at=self.clock())
        self.happened("car_moved")
        self.park_at(taken.place, taken.tapes)

    def park_at(self, place: Standing | None, tapes: str = "") -> None:
        """The car is to stand at a place that was worked out, if the checklist asks for it; None: on the bay's marks."""
        keep_place(
            self.journal, self.visit.checklist, place, by=self.person, at=self.clock(), system=self.system,
            tapes=tapes,
        )  # fmt: skip
        self._visit = None

    def to_sides(self, sides: tuple[str, ...]) -> None:
        self.journal.change(sides=sides, by=self.person, at=self.clock())
        self._visit = None

    def take_back(self, row: Row) -> None:
        """Withdraw the latest reading of a row; it stays in the journal as history."""
        if row.answered:
            self.journal.withdraw(row.readings[-1].number, "taken back", self.person, self.clock())
            self._visit = None

    def fixed(self, row: Row, text: str) -> None:
        """Something was put right: earlier readings of this question count no more."""
        check, side = (SHARED, "") if row.question.shared else (row.check.id, row.side)
        self.journal.fix(
            Fix(
                check=check, question=row.question.fix or row.question.key, side=side, at=self.clock(),
                by=self.person, text=text,
            )
        )  # fmt: skip
        self._visit = None

    def note(self, row: Row, text: str) -> None:
        if row.answered:
            self.journal.note(row.readings[-1].number, text, self.person, self.clock())
            self._visit = None

    def waive(self, check: str, side: str, reason: str) -> None:
        self.journal.waive(Waiver(check=check, side=side, reason=reason, at=self.clock(), by=self.person))
        self._visit = None

    def happened(self, event: str) -> None:
        self.journal.happen(Event(event=event, at=self.clock(), by=self.person))
        self._visit = None

    def switch_units(self) -> System:
        system: System = "us" if self.system == "metric" else "metric"
        self.journal.set_units(system, self.person, self.clock())
        self._visit = None
        return system

    def pick(self, row: Row, instrument: str) -> None:
        self.picked[row.question.measures] = instrument

    def grade(self, row: Row, evidence: Evidence, told_by: str = "") -> None:
        self.evidence[row.place] = (evidence, told_by)

    def entry_unit(self, question: Question) -> str:
        return units.entry_unit(question.unit, self.system) if question.type == "quantity" else ""

    def shown(self, row: Row) -> str:
        """What is kept for a row, as it reads in a form: as typed if one reading, else the mean."""
        if not row.answered:
            return ""
        last = row.readings[-1]
        if row.question.type == "choice":
            label = next((c.label for c in row.question.choices if c.value == last.value), str(last.value))
            return re.split("[,:;]", label)[0]
        if row.question.type == "text":
            return str(last.value)
        value = float(last.value) if row.mean is None else row.mean
        times = f" ×{len(row.readings)}" if len(row.readings) > 1 else ""
        return units.number(value, row.question.unit, self.system) + times

    def shown_part(self, part: Part) -> tuple[str, str]:
        """A result's number and unit, or its word."""
        if isinstance(part.value, float):
            return units.number(part.value, part.unit, self.system), units.label(part.unit, self.system)
        return str(part.value or ""), ""


def _in_words(entry: Reading | Fix | Event | Waiver) -> str:
    if isinstance(entry, Reading):
        return f"the answer '{entry.text}'"
    if isinstance(entry, Fix):
        return f"the fix '{entry.text}'"
    if isinstance(entry, Event):
        return VOID_EVENTS.get(entry.event, entry.event)
    return f"that {entry.check} was set aside"

"""One job on the screen: which rows a step shows, what an entry leads to. Knows no widget.

Everything kept goes through the journal first; the verdict is then judged anew from the job.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime
from typing import TYPE_CHECKING, Literal

from readiness import units
from readiness.checklist.model import Check, Step
from readiness.checks.entry import understood
from readiness.checks.finding import Finding, Visit, ask
from readiness.checks.kind import SHARED, Part, Question
from readiness.job import Event, Evidence, Fix, Instrument, Reading, System, Waiver
from readiness.verdict import Verdict, judge

if TYPE_CHECKING:
    from readiness.records.journal import Journal
    from readiness.records.shop import ShopFolder

Again = Literal["repeat", "correct", "fixed"]
"""Why a question that has an answer gets another one."""


@dataclass(frozen=True, slots=True)
class Row:
    """One line of a form: a question of a check on a side, with what is kept for it."""

    check: Check
    side: str
    question: Question
    readings: tuple[Reading, ...] = ()
    part: Part | None = None
    mean: float | None = None
    """The value that counts: the mean of the readings, in the question's canonical unit."""

    @property
    def answered(self) -> bool:
        return bool(self.readings)

    @property
    def shows_part(self) -> bool:
        """Whether all there is to see of the part stands in this row; a word has no number line."""
        return self.part is not None and (
            self.question.type == "quantity" or not isinstance(self.part.value, float)
        )

    @property
    def place(self) -> tuple[str, str, str]:
        return self.check.id, self.side, self.question.key


@dataclass(frozen=True, slots=True)
class StepState:
    """How far one step is: for the rail."""

    step: Step
    asked: int
    answered: int
    outcome: str
    """'pass' when all its findings count, 'fail' when one says fail, otherwise empty."""


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
        """Every question of a step in walking order; one asked by two checks stands once."""
        now, rows, seen = verdict.at, [], set()
        for check_id in step.checks:
            check = self.visit.checklist.check(check_id)
            for side in self._sides(check):
                finding = self.finding_at(check.id, side, verdict)
                parts = {p.key: p for p in finding.parts}
                scene = self.visit.scene(check, side, now)
                for q in ask(self.visit, check, side, now):
                    place = (SHARED, "", q.key) if q.shared else (check.id, side, q.key)
                    if place in seen:
                        continue
                    seen.add(place)
                    answer = scene.answer(q.key, shared=q.shared, accuracy=q.accuracy)
                    mean = answer.estimate.value if answer.estimate else None
                    rows.append(Row(check, side, q, answer.readings, parts.get(q.part or q.key), mean))
        return rows

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
        """Check and side of everything that a step holds."""
        checks = [self.visit.checklist.check(c) for c in step.checks]
        return [(check.id, side) for check in checks for side in self._sides(check)]

    def findings(self, step: Step, verdict: Verdict) -> list[Finding]:
        return [self.finding_at(check, side, verdict) for check, side in self.places(step)]

    def finding_at(self, check: str, side: str, verdict: Verdict) -> Finding:
        return verdict.sides[side or self.journal.job.sides[0]].finding(check)

    def finding_of(self, row: Row, verdict: Verdict) -> Finding:
        return self.finding_at(row.check.id, row.side, verdict)

    def _sides(self, check: Check) -> tuple[str, ...]:
        return self.journal.job.sides if check.per_side else ("",)

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

    def evidence_for(self, row: Row) -> tuple[Evidence, str]:
        return self.evidence.get(row.place, (row.question.evidence, ""))

    # --- what a person does ----------------------------------------------------------------------

    def answer(self, row: Row, text: str, again: Again = "repeat") -> Reading:
        """Understand the text, keep it on disk, and only then return what was kept."""
        value, unit = understood(row.question, text, self.system)
        if row.answered and again == "correct":
            last = row.readings[-1]
            self.journal.withdraw(last.number, "mistyped", self.person, self.clock())
        elif row.answered and again == "fixed":
            self.fixed(row, "put right")
        grade, told_by = self.evidence_for(row)
        instrument = self.instrument(row) if row.question.type == "quantity" else None
        shared = row.question.shared
        kept = self.journal.record(
            Reading(
                check=SHARED if shared else row.check.id, side="" if shared else row.side,
                question=row.question.key, value=value, unit=unit, text=text.strip(), at=self.clock(),
                by=self.person, evidence=grade, told_by=told_by,
                instrument=instrument.id if instrument else "",
            )
        )  # fmt: skip
        self._visit = None
        return kept

    def take_back(self, row: Row) -> None:
        """Withdraw the latest reading of a row; it stays in the journal as history."""
        if row.answered:
            self.journal.withdraw(row.readings[-1].number, "taken back", self.person, self.clock())
            self._visit = None

    def fixed(self, row: Row, text: str) -> None:
        """Something was put right: earlier readings of this question count no more."""
        check, side = (SHARED, "") if row.question.shared else (row.check.id, row.side)
        self.journal.fix(
            Fix(check=check, question=row.question.key, side=side, at=self.clock(), by=self.person, text=text)
        )
        self._visit = None

    def note(self, row: Row, text: str) -> None:
        if row.answered:
            self.journal.note(row.readings[-1].number, text, self.person, self.clock())
            self._visit = None

    def waive(self, row: Row, reason: str) -> None:
        self.journal.waive(
            Waiver(check=row.check.id, side=row.side, reason=reason, at=self.clock(), by=self.person)
        )
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
            return label.split(",")[0]
        if row.question.type == "text":
            return str(last.value)
        value = float(last.value) if row.mean is None else row.mean
        return units.number(value, row.question.unit, self.system)

    def shown_part(self, part: Part) -> tuple[str, str]:
        """A result's number and unit, or its word."""
        if isinstance(part.value, float):
            return units.number(part.value, part.unit, self.system), units.label(part.unit, self.system)
        return str(part.value or ""), ""

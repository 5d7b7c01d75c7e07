"""What a job on the screen says: its steps, their rows, the verdict, and how kept answers read. Knows no widget."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from dataclasses import replace as changed
from datetime import datetime
from typing import TYPE_CHECKING, Any, TypeVar

from readiness import units
from readiness.checklist.model import Check, Step
from readiness.checks.finding import Finding, Visit, demanded
from readiness.checks.kind import Part, Place, Question
from readiness.checks.walking import Stop, stations, stops
from readiness.closing import Closing, closing
from readiness.job import Ended, System
from readiness.records.account import Account, account
from readiness.records.history import Story, stories
from readiness.verdict import Verdict, judge
from readiness.watch import all_calibrated, at_work, to_close
from readiness.wizard.rows import Row, StepState, worse

if TYPE_CHECKING:
    from readiness.records.journal import Journal
    from readiness.records.shop import ShopFolder

Found = TypeVar("Found")


@dataclass
class Known:
    """A job as it stands. What is kept changes in the session alone."""

    folder: ShopFolder
    journal: Journal
    person: str
    clock: Callable[[], datetime]
    """The machine's; once it is here, the time of this job: never before the last entry."""

    def __post_init__(self) -> None:
        machine = self.clock
        self.clock = lambda: self.journal.time(machine())
        self._visit: Visit | None = None
        self._now: datetime | None = None
        """When the verdict was last asked for."""
        self._found: tuple[Visit, dict[Callable[[Visit, datetime], Any], Any]] | None = None
        """What was found of a visit, and of which one."""
        self._closing: tuple[Visit, Closing] | None = None
        """The close as it was last asked for, and of which visit: its checks are asked for one by one."""

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
        """The walk up to the go."""
        return self.visit.checklist.steps

    @property
    def closing_steps(self) -> tuple[Step, ...]:
        """The walk after the calibration."""
        return self.visit.checklist.closing

    def sides(self, step: Step | None = None) -> tuple[str, ...]:
        """The sides that a step is about: up to the go those without a result, after it those that are ready for one."""
        if self.settled:
            return self.journal.job.sides
        return self._of_visit(to_close if step in self.closing_steps else at_work)

    @property
    def settled(self) -> bool:
        """Whether the time does not matter any more: the job has ended, or every side has its result."""
        return self.ended is not None or self._of_visit(all_calibrated)

    def _of_visit(self, find: Callable[[Visit, datetime], Found]) -> Found:
        """What a function finds to which time makes no difference: once for each entry."""
        visit = self.visit
        if self._found is None or self._found[0] is not visit:
            self._found = visit, {}
        if find not in self._found[1]:
            self._found[1][find] = find(visit, self.clock())
        found: Found = self._found[1][find]
        return found

    @property
    def kept_at(self) -> datetime | None:
        entries = self.journal.entries
        return entries[-1].at if len(entries) > 1 else None

    def verdict(self) -> Verdict:
        """Of the sides that are not calibrated yet; of a job that is settled as it was when that mattered."""
        self._now = self.clock()
        if not self.settled:
            return judge(self.visit, self._now, self.sides())
        told = self.account()
        return changed(told.verdict, at=max(s.at for s in told.sides.values()))

    def closing(self) -> Closing:
        """How far the close of the job is, at the moment of the last verdict."""
        visit, now = self.visit, self._now or self.clock()
        if self._closing is None or self._closing[0] is not visit or self._closing[1].at != now:
            self._closing = visit, closing(visit, now)
        return self._closing[1]

    def account(self) -> Account:
        """What will stand on paper as things are now."""
        return account(self.visit, self.clock())

    @property
    def ended(self) -> Ended | None:
        return self.journal.job.ended

    def rows(self, step: Step, verdict: Verdict) -> list[Row]:
        """Every question of a step in walking order.

        One that serves two checks or both sides stands once, with the worse of what it leads to.
        """
        return [self._row(stop, verdict) for stop in stops(self.visit, step, verdict.at, self.sides(step))]

    def _row(self, stop: Stop, verdict: Verdict) -> Row:
        q = stop.question
        scene = self.visit.scene(stop.check, stop.side, verdict.at)
        answer = scene.answer(q.key, shared=q.shared, accuracy=q.accuracy)
        mean = answer.estimate.value if answer.estimate and not q.latest else None
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
        findings = self.findings(step, verdict)
        aside = {place for place, f in zip(self.places(step), findings, strict=True) if f.outcome == "waived"}
        rows = self.rows(step, verdict)
        needed = [r for r in rows if not r.question.optional and r.kept_at[:2] not in aside]
        outcome = ""
        if any(f.outcome in ("fail", "too_close") for f in findings):
            outcome = "fail"
        elif all(f.counts for f in findings):
            outcome = "pass"
        return StepState(step, len(needed), sum(r.answered for r in needed), outcome, bool(aside))

    def places(self, step: Step) -> list[tuple[str, str]]:
        """Check and side of everything that a step holds, as one walks: all of one side, then the other."""
        there = stations(self.visit.checklist, step, self.sides(step))
        return [(check.id, side) for check, side in there]

    def findings(self, step: Step, verdict: Verdict) -> list[Finding]:
        return [self.finding_at(check, side, verdict) for check, side in self.places(step)]

    def finding_at(self, check: str, side: str, verdict: Verdict) -> Finding:
        if any(check in step.checks for step in self.closing_steps):
            return self.closing().sides[side or self.journal.job.sides[0]].finding(check)
        return verdict.sides[side or next(iter(verdict.sides))].finding(check)

    def set_aside_means(self, check: str, side: str) -> str:
        """What setting a check aside comes to."""
        if any(check in step.checks for step in self.closing_steps):
            return "The report will say so."
        scene = self.visit.scene(self.visit.checklist.check(check), side, self.clock())
        required = "It is demanded here. " if demanded(scene) else ""
        return f"{required}The verdict will read go with waivers at best, as long as the job lasts."

    def stories(self) -> dict[Place, Story]:
        """What became of each answer, everything that was taken back included."""
        return stories(self.journal.entries)

    def checks_of(self, places: Iterable[tuple[str, str]]) -> list[tuple[Check, str]]:
        return [(self.visit.checklist.check(check), side) for check, side in places]

    def all_places(self) -> list[tuple[Check, str]]:
        """Check and side of everything that is asked in this job, from the first step to the last."""
        checklist, sides = self.visit.checklist, self.journal.job.sides
        return [
            place for step in (*self.steps, *self.closing_steps) for place in stations(checklist, step, sides)
        ]

    def finding_of(self, row: Row, verdict: Verdict) -> Finding:
        return self.finding_at(*row.judged_at, verdict)

    # --- how it reads ----------------------------------------------------------------------------

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
        times = f" ×{len(row.readings)}" if len(row.readings) > 1 and not row.question.latest else ""
        return units.number(value, row.question.unit, self.system) + times

    def shown_part(self, part: Part) -> tuple[str, str]:
        """A result's number and unit, or its word."""
        if isinstance(part.value, float):
            return units.number(part.value, part.unit, self.system), units.label(part.unit, self.system)
        return str(part.value or ""), ""

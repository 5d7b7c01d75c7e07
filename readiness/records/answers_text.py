"""A job as the YAML file of answers that reads back as the same job."""

from __future__ import annotations

from collections import Counter
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from readiness.checks.kind import SHARED, Place, Question
from readiness.job import Attached, Ended, Event, Fix, Job, Reading, System, Waiver
from readiness.records.asked import asked_for

if TYPE_CHECKING:
    from readiness.records.shop import ShopFolder


def write_answers(job: Job, folder: ShopFolder, units: System | None = None) -> str:
    """The text of the file; `units` are those in which the job was shown, if not the shop's.

    Quantities stand as they were typed where that means the same, otherwise in full digits.
    """
    import yaml

    visit = folder.visit(job, units)
    writer = _Writer(
        job, visit.shop.units, asked_for(visit), {i.id: i.measures for i in visit.instruments.values()}
    )
    return str(yaml.safe_dump(
        writer.document(units), sort_keys=False, allow_unicode=True, default_flow_style=None, width=110
    ))  # fmt: skip


class _Writer:
    def __init__(
        self, job: Job, system: System, questions: dict[Place, Question], measures: dict[str, str]
    ) -> None:
        self.job = job
        self.system = system
        self.questions = questions
        self.usual = _most_used(job, measures)

    def document(self, units: System | None) -> dict[str, Any]:
        job = self.job
        head = {
            "answers": job.job, "plate": job.plate, "sheet": job.sheet, "bay": job.bay,
            "sides": list(job.sides), "by": job.by, "at": job.opened.isoformat(), "units": units,
            "instruments": self.usual, "shared": self._answers(SHARED, ""), "checks": self._checks(),
            "fixes": [self._fix(f) for f in job.fixes], "events": [self._event(e) for e in job.events],
            "not_applicable": [self._waiver(w) for w in job.waivers],
            "attached": [self._attached(a) for a in job.attached],
            "ended": _some(why=job.ended.why) | self._done(job.ended) if job.ended else None,
        }  # fmt: skip
        return {k: v for k, v in head.items() if v not in ("", None, {}, [])}

    def _checks(self) -> dict[str, Any]:
        places = dict.fromkeys((r.check, r.side) for r in self.job.readings if r.check != SHARED)
        return {c if s in ("", "single") else f"{c} {s}": self._answers(c, s) for c, s in places}

    def _answers(self, check: str, side: str) -> dict[str, Any]:
        series: dict[str, list[Any]] = {}
        for r in self.job.readings:
            if (r.check, r.side) == (check, side):
                series.setdefault(r.question, []).append(self._answer(r))
        return {key: given if len(given) > 1 else given[0] for key, given in series.items()}

    def _answer(self, r: Reading) -> Any:
        question = self.questions.get((r.check, r.side, r.question))
        evidence = question.evidence if question else None
        usual = self.usual.get(question.measures, "") if question and question.instrumented else ""
        around = {
            "at": r.at.isoformat() if r.at != self.job.opened else "",
            "by": r.by if r.by != self.job.by else "",
            "evidence": r.evidence if r.evidence != evidence else "",
            "told_by": r.told_by,
            "note": r.note,
        }
        told = {k: v for k, v in around.items() if v}
        if r.instrument != usual:
            told["instrument"] = r.instrument
        return {"value": self._value(r), **told} if told else self._value(r)

    def _value(self, r: Reading) -> str:
        """The typed text with its unit, if it reads back as the value kept; else the value in full."""
        if isinstance(r.value, str):
            return r.value
        from readiness import units

        for text in (f"{r.text} {units.entry_unit(r.unit, self.system)}".strip(), r.text):
            try:
                if units.parse(text, r.unit, system=self.system) == r.value:
                    return text
            except units.UnitsError:
                continue
        return f"{Decimal(repr(r.value)):f} {r.unit}".strip()

    def _fix(self, f: Fix) -> dict[str, str]:
        return _some(check=f.check, question=f.question, side=f.side, text=f.text) | self._done(f)

    def _event(self, e: Event) -> dict[str, str]:
        return _some(event=e.event, side=e.side) | self._done(e)

    def _waiver(self, w: Waiver) -> dict[str, str]:
        return _some(check=w.check, side=w.side, reason=w.reason) | self._done(w)

    def _attached(self, a: Attached) -> dict[str, Any]:
        return _some(path=a.path, what=a.what, sha256=a.sha256) | {"size": a.size} | self._done(a)

    def _done(self, done: Fix | Event | Waiver | Attached | Ended) -> dict[str, str]:
        return {"at": done.at.isoformat(), "by": done.by}


def _some(**texts: str) -> dict[str, str]:
    return {k: v for k, v in texts.items() if v}


def _most_used(job: Job, measures: dict[str, str]) -> dict[str, str]:
    """The instrument used most for each kind of measurement."""
    used: dict[str, Counter[str]] = {}
    for r in job.readings:
        if r.instrument in measures:
            used.setdefault(measures[r.instrument], Counter())[r.instrument] += 1
    return {measure: counts.most_common(1)[0][0] for measure, counts in used.items()}

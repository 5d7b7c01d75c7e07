"""What was in the way of a go in the course of a job, found by judging it as it stood at the moments that tell.

A check is counted where something of it was a fail or too close to call just before something was put right or happened,
before work rested for long, or when the side was left or its result read; and where somebody kept that it was put right,
though it could not be judged yet. What was only not done is not counted. The last no-go alone would hide all that was
put right on the way, which is what cost the time.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta
from itertools import pairwise
from typing import Literal

from msgspec import Struct

from readiness.checklist.model import Check
from readiness.checks.finding import Finding, Visit, ask
from readiness.checks.procedure import KIND as PROCEDURE
from readiness.closing import when_left
from readiness.job import Fix
from readiness.verdict import Verdict, judge

REST = timedelta(hours=1)
"""Work that rested as long may have had another reason than the car; what had been found until then counts."""
MOST_MOMENTS = 60
"""Of a job, the latest ones; a common one has fewer than ten."""


InTheWay = Literal["fail", "too_close", "put right"]
WORST_FIRST: tuple[InTheWay, ...] = ("fail", "too_close", "put right")


class Trouble(Struct, frozen=True, array_like=True):
    """A check that was in the way of a go at some time."""

    check: str
    title: str
    outcome: InTheWay
    """The worst of what was found."""
    parts: tuple[str, ...]
    """Labels of what was wrong in it: 'Left rear pressure'."""


class Past(Struct, frozen=True, array_like=True):
    """What a job tells of its past; `problem` says why it cannot tell."""

    troubles: tuple[Trouble, ...] = ()
    """In walking order."""
    document: str = ""
    """The document named last for the procedure."""
    problem: str = ""


def past(visit: Visit) -> Past:
    """Pure, as `judge` is, which is asked."""
    found: dict[str, list[tuple[InTheWay, str]]] = {}
    verdict = None
    for moment in moments(visit):
        verdict = judge(visit, moment)
        for side in verdict.sides.values():
            for finding in side.findings:
                if wrong := list(_wrong(finding)):
                    found.setdefault(finding.check, []).extend(wrong)
    for check, part in _put_right(visit, verdict):
        found.setdefault(check, []).append(("put right", part))
    troubles = (_trouble(c, found[c.id]) for c in visit.checklist.walk() if c.id in found)
    return Past(tuple(troubles), _document(visit))


def moments(visit: Visit) -> tuple[datetime, ...]:
    """The entries after which it tells how the job stood, the earliest first."""
    times = sorted(set(visit.entered))
    changes = {f.at for f in visit.job.fixes} | {e.at for e in visit.job.events}
    before = {a for a, b in pairwise(times) if b in changes or b - a > REST}
    left = {when_left(visit, side) for side in visit.job.sides}
    return tuple(sorted(before | left)[-MOST_MOMENTS:])


def _wrong(finding: Finding) -> Iterator[tuple[InTheWay, str]]:
    """What was wrong in it, also where more of it is not answered yet; nothing of a check that was set aside."""
    for part in finding.parts:
        if part.outcome == "fail" or part.outcome == "too_close":
            yield part.outcome, _plain(part.label)


def _put_right(visit: Visit, verdict: Verdict | None) -> Iterator[tuple[str, str]]:
    """Each check that was put right, with the part of it as it is called in the last judgement; empty where that has none."""
    checks = {check.id: check for check in visit.checklist.walk()}
    for fix in visit.job.fixes:
        if fix.check in checks:
            yield fix.check, _part(visit, checks[fix.check], fix, verdict)


def _part(visit: Visit, check: Check, fix: Fix, verdict: Verdict | None) -> str:
    """What the question decides that was put right."""
    for side in verdict.sides.values() if verdict is not None else ():
        if fix.side in ("", side.side):
            asked = ask(visit, check, fix.side, verdict.at) if verdict is not None else []
            keys = {q.part or q.key for q in asked if fix.question and fix.question in (q.key, q.fix)}
            found = (p.label for p in side.finding(check.id).parts if p.key in keys)
            return _plain(next(found, ""))
    return ""


def _trouble(check: Check, found: list[tuple[InTheWay, str]]) -> Trouble:
    worst = min((outcome for outcome, _ in found), key=WORST_FIRST.index)
    return Trouble(check.id, check.title, worst, tuple(dict.fromkeys(part for _, part in found if part)))


def _plain(label: str) -> str:
    """A label is written so that a value can follow it."""
    return label.strip(" ,:")


def _document(visit: Visit) -> str:
    asking = {c.id for c in visit.checklist.checks if c.kind == PROCEDURE}
    named = [r for r in visit.job.readings if r.check in asking and r.question == "document"]
    return str(max(named, key=lambda r: r.at).value).strip() if named else ""

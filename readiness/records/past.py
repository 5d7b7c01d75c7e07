"""What was in the way of a go in the course of a job, found by judging it as it stood at the moments that tell.

A check is counted where it was a fail or too close to call just before something was put right or happened, before
work rested for long, or when the side was left or its result read. What was only not done yet is not counted. The last
no-go alone would hide all that was put right on the way, which is what cost the time.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta
from itertools import pairwise
from typing import Literal

from msgspec import Struct

from readiness.checks.finding import Finding, Visit
from readiness.checks.procedure import KIND as PROCEDURE
from readiness.closing import when_left
from readiness.verdict import judge

REST = timedelta(hours=1)
"""Work that rested as long may have had another reason than the car; what had been found until then counts."""
MOST_MOMENTS = 60
"""Of a job, the latest ones; a common one has fewer than ten."""


class Trouble(Struct, frozen=True, array_like=True):
    """A check that was in the way of a go at some time."""

    check: str
    title: str
    outcome: Literal["fail", "too_close"]
    """The worse of what was found."""
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
    found: dict[str, list[Finding]] = {}
    for moment in moments(visit):
        for side in judge(visit, moment).sides.values():
            for finding in side.findings:
                if finding.wrong:
                    found.setdefault(finding.check, []).append(finding)
    walk = [c.id for c in visit.checklist.walk() if c.id in found]
    return Past(tuple(_trouble(found[check]) for check in walk), _document(visit))


def moments(visit: Visit) -> tuple[datetime, ...]:
    """The entries after which it tells how the job stood, the earliest first."""
    times = sorted(set(visit.entered))
    changes = {f.at for f in visit.job.fixes} | {e.at for e in visit.job.events}
    before = {a for a, b in pairwise(times) if b in changes or b - a > REST}
    left = {when_left(visit, side) for side in visit.job.sides}
    return tuple(sorted(before | left)[-MOST_MOMENTS:])


def _trouble(found: list[Finding]) -> Trouble:
    worst: Literal["fail", "too_close"] = "fail" if any(f.outcome == "fail" for f in found) else "too_close"
    return Trouble(found[0].check, found[0].title, worst, tuple(dict.fromkeys(_wrong(found))))


def _wrong(found: list[Finding]) -> Iterator[str]:
    yield from (p.label for f in found for p in f.parts if p.outcome in ("fail", "too_close"))


def _document(visit: Visit) -> str:
    asking = {c.id for c in visit.checklist.checks if c.kind == PROCEDURE}
    named = [r for r in visit.job.readings if r.check in asking and r.question == "document"]
    return str(max(named, key=lambda r: r.at).value).strip() if named else ""

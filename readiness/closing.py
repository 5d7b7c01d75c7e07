"""What came after the go: result, fault re-scan and road test of each side, and whether the job is over."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from readiness.checks.afterwards import RESULT
from readiness.checks.finding import Finding, Visit, find
from readiness.job import Ended, Reading
from readiness.verdict import SideVerdict, judge

__all__ = ["RESULT", "Closing", "SideClosing", "State", "closing"]

State = Literal["done", "open", "wrong"]


@dataclass(frozen=True, slots=True)
class SideClosing:
    """One side after the calibration. `findings` are those of the closing checks, in walking order."""

    side: str
    findings: tuple[Finding, ...]
    ready: SideVerdict | None
    """The verdict at the moment the result that counts was read; None as long as there is no result."""

    @property
    def state(self) -> State:
        """'wrong' where a result is out of its range or a fault is back, 'open' where something is not answered yet."""
        if any(f.wrong for f in self.findings):
            return "wrong"
        return "done" if all(f.counts for f in self.findings) else "open"

    def finding(self, check_id: str) -> Finding:
        return next(f for f in self.findings if f.check == check_id)


@dataclass(frozen=True, slots=True)
class Closing:
    """The close of one job at one moment."""

    job: str
    at: datetime
    sides: Mapping[str, SideClosing]
    ended: Ended | None

    @property
    def begun(self) -> bool:
        """Whether anything was entered after the calibration."""
        findings = [f for s in self.sides.values() for f in s.findings]
        return any(f.outcome == "waived" or any(p.readings for p in f.parts) for f in findings)


def closing(visit: Visit, now: datetime) -> Closing:
    """The close of a visit at `now`; pure, as `judge` is. Entries later than `now` are not seen."""
    seen = visit.until(now)
    shared = {c.id: find(seen, c, "", now) for c in seen.checklist.close_walk() if not c.per_side}
    sides = {side: _side(seen, side, now, shared) for side in seen.job.sides}
    return Closing(seen.job.job, now, sides, seen.job.ended)


def _side(visit: Visit, side: str, now: datetime, shared: Mapping[str, Finding]) -> SideClosing:
    checks = visit.checklist.close_walk()
    findings = tuple(find(visit, c, side, now) if c.per_side else shared[c.id] for c in checks)
    results = [r for f in findings if f.kind == RESULT for p in f.parts for r in p.readings]
    first = min(results, key=lambda r: r.at, default=None)
    return SideClosing(side, findings, None if first is None else _ready(visit, side, first))


def _ready(visit: Visit, side: str, result: Reading) -> SideVerdict:
    return judge(visit, result.at, (side,)).sides[side]

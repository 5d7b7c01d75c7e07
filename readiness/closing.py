"""What came after the go: result, fault re-scan and road test of each side, and whether the job is over."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

from readiness.checks.afterwards import RESULT
from readiness.checks.finding import Finding, Visit, find
from readiness.checks.kind import SHARED
from readiness.checks.words import clock, happening
from readiness.job import Ended, Fix, Reading, Waiver
from readiness.verdict import SideVerdict, judge

__all__ = [
    "RESULT",
    "Closing",
    "LastGo",
    "SideClosing",
    "State",
    "about_the_car",
    "closing",
    "last_go",
    "when_left",
]

State = Literal["done", "open", "wrong"]
WORST_FIRST: tuple[State, ...] = ("wrong", "open", "done")


@dataclass(frozen=True, slots=True)
class LastGo:
    """A go that was over before the moment of which a verdict is."""

    until: datetime
    why: str
    """What ended it, as a clause; empty where its time was over."""


@dataclass(frozen=True, slots=True)
class SideClosing:
    """One side after the calibration. `findings` are those of the closing checks, in walking order."""

    side: str
    findings: tuple[Finding, ...]
    read_at: datetime | None
    """When the result that counts was read, see `_read_at`; None as long as there is no result."""
    ready: SideVerdict | None
    """The verdict at that moment; None as long as there is no result."""
    said: str = ""
    """A sentence where that was no plain go: what was set aside, when the go had ended, or that there was none."""
    last_go: LastGo | None = None
    """The go that was over when the result was read; None where it still held, or never was."""

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

    @property
    def state(self) -> State:
        """The worst of its sides."""
        return min((s.state for s in self.sides.values()), key=WORST_FIRST.index, default="open")


def closing(visit: Visit, now: datetime) -> Closing:
    """The close of a visit at `now`; pure, as `judge` is. Entries later than `now` are not seen."""
    seen = visit.until(now)
    shared = {c.id: find(seen, c, "", now) for c in seen.checklist.close_walk() if not c.per_side}
    sides = {side: _side(seen, side, now, shared) for side in seen.job.sides}
    return Closing(seen.job.job, now, sides, seen.job.ended)


def _side(visit: Visit, side: str, now: datetime, shared: Mapping[str, Finding]) -> SideClosing:
    checks = visit.checklist.close_walk()
    findings = tuple(find(visit, c, side, now) if c.per_side else shared[c.id] for c in checks)
    at = _read_at(visit, side, [f for f in findings if f.kind == RESULT])
    if at is None:
        return SideClosing(side, findings, None, None)
    ready = judge(visit, at, (side,)).sides[side]
    over = last_go(visit, ready, at)
    return SideClosing(side, findings, at, ready, _said(ready, at, over), over)


def _read_at(visit: Visit, side: str, results: Sequence[Finding]) -> datetime | None:
    """When the result that counts was read: the first of its answers, as the last may be typed when the go is over.

    Of several calibrations it is the last: an answer from before another one was replaced belongs to an earlier one,
    such as the message that it was completed, which nobody types anew for a second number.
    """
    counting = [r for f in results for p in f.parts for r in p.readings]
    asking = {f.check for f in results}
    read = [
        r for (check, s, _), rs in visit.readings.items() if check in asking and s in ("", side) for r in rs
    ]
    replaced = max(((r.at, r.number) for r in read if r not in counting), default=None)
    last = [r.at for r in counting if replaced is None or (r.at, r.number) > replaced]
    return min(last or (r.at for r in counting), default=None)


# --- a result without a plain go -----------------------------------------------------------------


def _said(ready: SideVerdict, at: datetime, over: LastGo | None) -> str:
    read = f"The result was read at {at:%H:%M}"
    if ready.verdict == "go":
        return ""
    if ready.verdict == "go-with-waivers":
        return f"{read} under a go with waivers; set aside: {', '.join(f.title for f in ready.waived)}."
    if over is None:
        side = "" if ready.side == "single" else f" for the {ready.side} side"
        return f"{read}, and until then there was no go{side}."
    how = f"ended: {over.why} at {clock(over.until, at)}" if over.why else "lapsed"
    return f"{read}, {_minutes(at - over.until)} after the go had {how}."


def last_go(visit: Visit, verdict: SideVerdict, at: datetime) -> LastGo | None:
    """The last go before `at`, of which the verdict is and says no-go; None if there never was one, or there is one now.

    Between two entries nothing changes but the time, so it is enough to judge at each, the last one first. What was
    never answered until then was not answered before either.
    """
    if verdict.verdict != "no-go":
        return None
    later = at
    fixed = {f.check for f in visit.job.fixes}  # they take answers away
    before = {moment for moment in about_the_car(visit, verdict.side) if moment < at}
    for moment in sorted(before, reverse=True):
        if any(f.untouched and f.check not in fixed for f in verdict.findings):
            return None
        if _still_wrong(visit, verdict, moment):
            later = moment
            continue
        verdict = judge(visit, moment, (verdict.side,)).sides[verdict.side]
        if verdict.verdict != "no-go":
            lapsed = verdict.lapses_at
            by_time = lapsed is not None and lapsed <= later
            return (
                LastGo(lapsed, "")
                if lapsed is not None and by_time
                else LastGo(later, _ended_by(visit, later))
            )
        later = moment
    return None


def _still_wrong(visit: Visit, verdict: SideVerdict, moment: datetime) -> bool:
    """Whether a check that does not count in this verdict did not count then either: one is enough to know it was no go."""
    check = next((c for c in visit.checklist.walk() if not verdict.finding(c.id).counts), None)
    if check is None:
        return False
    there = find(visit.until(moment), check, verdict.side if check.per_side else "", moment)
    return not there.counts and not there.untouched


def about_the_car(visit: Visit, side: str) -> Iterator[datetime]:
    """When something was entered that a verdict on this side looks at, in no order."""
    walk, job = {SHARED, *(c.id for c in visit.checklist.walk())}, visit.job
    entries: tuple[Reading | Fix | Waiver, ...] = (*job.readings, *job.fixes, *job.waivers)
    yield from (e.at for e in entries if e.check in walk and e.side in ("", side))
    yield from (e.at for e in job.events if not e.side or e.side == side)
    yield from (lifted.at for lifted in job.lifted)
    yield from (setting.until for setting in job.earlier)


def when_left(visit: Visit, side: str) -> datetime:
    """The last of these: after it nothing but time went by for this side."""
    return max((visit.job.opened, *about_the_car(visit, side)))


def _ended_by(visit: Visit, at: datetime) -> str:
    """What was entered at a moment and ended a go, as a clause."""
    titles = {c.id: c.title for c in visit.checklist.walk()}
    for event in visit.job.events:
        if event.at == at:
            return happening(event.event, event.side)
    for fix in visit.job.fixes:
        if fix.at == at and fix.check in titles:
            return f"{titles[fix.check]} was put right"
    read = next(
        (titles[r.check] for r in visit.job.readings if r.at == at and r.check in titles), "another check"
    )
    return f"something new was entered under {read}"


def _minutes(length: timedelta) -> str:
    minutes = int(length.total_seconds() // 60)
    if minutes < 120:
        return "a moment" if not minutes else "one minute" if minutes == 1 else f"{minutes} minutes"
    return f"{minutes // 60} hours"

"""What a paper says of each side: judged when it mattered, not when somebody prints it.

A report is about the past. A side whose calibration has a result is judged as it stood when the first result was
read. A side without one is judged as it stood at the last thing entered about the car: by the time of printing
every finding would have lapsed, and the paper would tell nothing.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from functools import cached_property
from typing import Literal

from readiness.checks.finding import Finding, Visit
from readiness.checks.words import clock
from readiness.closing import Closing, LastGo, SideClosing, closing, last_go, when_left
from readiness.job import Event, Fix, Instrument, Reading, Waiver
from readiness.verdict import SideVerdict, Verdict, judge

Basis = Literal["result", "last entry", "asked"]
"""Why a side is judged at that moment: its result was read, nothing came later, or the moment was named."""


@dataclass(frozen=True, slots=True)
class SideAccount:
    """One side on paper."""

    side: str
    verdict: SideVerdict
    at: datetime
    """The moment at which the side is judged."""
    basis: Basis
    closing: SideClosing
    last_go: LastGo | None = None
    """The go that was over by then; None where there is one, or never was."""

    @property
    def said(self) -> str:
        """A sentence where there was no plain go at that moment, unless there never was one; else empty."""
        if self.basis == "result":
            return self.closing.said
        if self.last_go is None:
            return ""
        how = f": {self.last_go.why}" if self.last_go.why else ", when its time was over"
        return f"There was a go until {clock(self.last_go.until, self.at)}{how}."

    @property
    def go(self) -> bool:
        """Whether the side was ready, be it with something set aside."""
        return self.verdict.verdict != "no-go"

    def of_outcome(self, *outcomes: str) -> tuple[Finding, ...]:
        return tuple(f for f in self.verdict.findings if f.outcome in outcomes)


@dataclass(frozen=True, slots=True)
class Shared:
    """A finding with the sides on which it is one and the same."""

    finding: Finding
    sides: tuple[str, ...]
    every: bool
    """Whether these are all sides told of."""


@dataclass(frozen=True)
class Account:
    """A whole job on paper, as it is known at `now`."""

    visit: Visit
    """Without what was entered later than `now`."""
    now: datetime
    made: datetime
    """When somebody asked for it, which may be long after `now`."""
    sides: Mapping[str, SideAccount]
    closing: Closing

    @property
    def verdict(self) -> Verdict:
        """All sides together, as the verdict of one moment would have them."""
        sheet, bay, checklist = self.visit.sheet.sheet, self.visit.bay.bay, self.visit.checklist.checklist
        sides = {name: s.verdict for name, s in self.sides.items()}
        return Verdict(self.visit.job.job, checklist, sheet, bay, self.now, sides)

    @property
    def ended_without_go(self) -> bool:
        """Whether the job is over and no side of it was ready when it mattered, be it that its go was over by then."""
        return self.visit.job.ended is not None and not any(s.go for s in self.sides.values())

    @property
    def calibrated(self) -> bool:
        """Whether a side has a result, with a go or without."""
        return any(s.closing.ready is not None for s in self.sides.values())

    @property
    def lapsed(self) -> tuple[SideAccount, ...]:
        """Sides that were ready, have no result and are over their time."""
        return tuple(
            s for s in self.sides.values()
            if s.go and s.closing.ready is None and s.verdict.lapses_at is not None
            and s.verdict.lapses_at <= self.now
        )  # fmt: skip

    @cached_property
    def findings(self) -> tuple[Shared, ...]:
        """Of the checks before the calibration, in walking order."""
        return tuple(_shared({name: s.verdict.findings for name, s in self.sides.items()}))

    @cached_property
    def closing_findings(self) -> tuple[Shared, ...]:
        """Of the checks after it, in walking order."""
        return tuple(_shared({name: s.closing.findings for name, s in self.sides.items()}))

    @cached_property
    def used(self) -> Mapping[str, date]:
        """Ids of the instruments that anything was measured with, spot checks too, each with the day on which it last was."""
        days = [(r.instrument, r.at.date()) for r in self.visit.job.readings if r.instrument]
        days += [(a.instrument, a.at.date()) for a in self.visit.job.again if a.instrument]
        sources = {s for f in self.findings for s in f.finding.rests_on}
        days += [(tool, s.on) for s in sources for tool in s.tools if s.on is not None]
        return {tool: max(day for name, day in days if name == tool) for tool, _ in days}

    @property
    def instruments(self) -> tuple[Instrument, ...]:
        """Those that were used and that the shop has, by the last day of their calibration."""
        there = (self.visit.instruments[name] for name in self.used if name in self.visit.instruments)
        return tuple(sorted(there, key=lambda i: (i.due, i.id)))

    @property
    def hands(self) -> tuple[str, ...]:
        """Everybody who entered something, in order of appearance."""
        job = self.visit.job
        done: tuple[Reading | Fix | Waiver | Event, ...]
        done = (*job.readings, *job.fixes, *job.waivers, *job.events)
        names = (job.by, *(e.by for e in sorted(done, key=lambda e: e.at)))
        return tuple(dict.fromkeys(name for name in names if name))

    @property
    def last_entry(self) -> datetime:
        """When the job was last worked on."""
        return self.visit.last_entry


def account(visit: Visit, now: datetime, sides: Sequence[str] = (), at: datetime | None = None) -> Account:
    """What is to be told of a visit; `at` asks for the state at one moment. Pure, as `judge` is."""
    moment = at or now
    seen = visit.until(moment)
    close = closing(seen, moment)
    told = _made_one({s: _side(seen, close.sides[s], at) for s in sides or seen.job.sides})
    return Account(seen, moment, now, told, close)


def _made_one(sides: dict[str, SideAccount]) -> dict[str, SideAccount]:
    """Findings that say the same of several sides become one and the same, as those of one judgement are."""
    first: dict[str, list[Finding]] = {}
    for side in sides.values():
        for finding in side.verdict.findings:
            known = first.setdefault(finding.check, [])
            if finding not in known:
                known.append(finding)
    return {name: replace(s, verdict=_with(s.verdict, first)) for name, s in sides.items()}


def _with(verdict: SideVerdict, first: Mapping[str, list[Finding]]) -> SideVerdict:
    findings = (next(k for k in first[f.check] if k == f) for f in verdict.findings)
    return replace(verdict, findings=tuple(findings))


def _shared(by_side: Mapping[str, tuple[Finding, ...]]) -> Iterator[Shared]:
    for alike in zip(*by_side.values(), strict=True):
        left = dict(zip(by_side, alike, strict=True))
        while left:
            first = next(iter(left.values()))
            same = tuple(side for side, finding in left.items() if finding is first)
            yield Shared(first, same, len(same) == len(by_side))
            left = {side: finding for side, finding in left.items() if side not in same}


def _side(visit: Visit, close: SideClosing, at: datetime | None) -> SideAccount:
    side = close.side
    if close.ready is not None and close.read_at is not None:
        return SideAccount(side, close.ready, close.read_at, "result", close, close.last_go)
    moment, basis = _moment(visit, side, at)
    verdict = judge(visit, moment, (side,)).sides[side]
    return SideAccount(side, verdict, moment, basis, close, last_go(visit, verdict, moment))


def _moment(visit: Visit, side: str, at: datetime | None) -> tuple[datetime, Basis]:
    if at is not None:
        return at, "asked"
    return when_left(visit, side), "last entry"

"""What a go is worth while it lasts: when it ends, what would end it sooner, what still holds for the other side."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Literal

from msgspec.structs import replace as changed

from readiness.checklist.model import Check
from readiness.checks.afterwards import RESULT
from readiness.checks.finding import Visit, ask, find
from readiness.closing import closing
from readiness.job import VOID_EVENTS, Event
from readiness.verdict import SideVerdict, Verdict, judge

SOON = timedelta(minutes=5)
"""With no more than this left, nobody should begin anything long. Common practice, no published source."""
Standing = Literal["go", "soon", "lapsed", "no-go"]
_AFTER = timedelta(microseconds=1)
"""An event counts against what was read before it, not at the same moment."""


@dataclass(frozen=True, slots=True)
class Lapse:
    """Findings that lapse at the same moment, by their titles in walking order."""

    at: datetime
    titles: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class OtherSide:
    """A side of the checklist that has no go yet, and how much of what was read serves it too: ids of checks."""

    side: str
    holds: tuple[str, ...]
    to_ask: tuple[str, ...]
    """Neither holding nor wrong, those left out that ask nothing and only follow from others."""
    wrong: tuple[str, ...]
    of: int
    """How many checks there are."""
    in_job: bool
    """Whether the job is for this side already."""


def standing(side: SideVerdict, now: datetime) -> Standing:
    """'lapsed' where nothing is wrong with a side but that readings are too old or were undone."""
    if side.verdict == "no-go":
        missing = {f.outcome for f in side.findings if not f.counts}
        return "lapsed" if missing == {"lapsed"} else "no-go"
    if side.lapses_at is not None and side.lapses_at <= now + SOON:
        return "soon"
    return "go"


def lapsing(side: SideVerdict) -> tuple[Lapse, ...]:
    """What lapses, the first first; findings that lapse within the same minute together."""
    ends = sorted(
        (f.lapses_at, k) for k, f in enumerate(side.findings) if f.counts and f.lapses_at is not None
    )
    groups: dict[datetime, list[tuple[datetime, int]]] = {}
    for at, k in ends:
        groups.setdefault(at.replace(second=0, microsecond=0), []).append((at, k))
    return tuple(
        Lapse(group[0][0], tuple(side.findings[k].title for k in sorted(k for _, k in group)))
        for group in groups.values()
    )


def undone(visit: Visit, now: datetime, sides: Sequence[str] = ()) -> dict[str, tuple[Check, ...]]:
    """For each event of VOID_EVENTS the checks to be answered again after it, which count now, in walking order.

    Pure, as `judge` is, which is asked: so an answer that rests on another is undone with it. What asks nothing and
    only follows from others is left out.
    """
    seen, then = visit.until(now), now + _AFTER
    counting = _counting(judge(seen, then, sides))
    gone = {e: counting - _counting(judge(_with(seen, e, then), then, sides)) for e in VOID_EVENTS}
    walk = [c for c in visit.checklist.walk() if asks(seen, c, then)]
    return {e: tuple(c for c in walk if any(c.id == check for check, _ in gone[e])) for e in VOID_EVENTS}


def asks(visit: Visit, check: Check, now: datetime) -> bool:
    """Whether there is anything to answer in a check."""
    sides = visit.checklist.sides if check.per_side else ("",)
    return any(ask(visit, check, side, now) for side in sides)


def _with(visit: Visit, event: str, at: datetime) -> Visit:
    happened = Event(event=event, at=at, by="")
    return replace(visit, job=changed(visit.job, events=(*visit.job.events, happened)))


def _counting(verdict: Verdict) -> set[tuple[str, str]]:
    return {(f.check, side.side) for side in verdict.sides.values() for f in side.findings if f.counts}


def at_work(visit: Visit, now: datetime) -> tuple[str, ...]:
    """The sides of the job without a good result: what lapses for the others matters no more. All if none is left."""
    left = tuple(s for s in visit.job.sides if not calibrated(visit, s, now))
    return left or visit.job.sides


def to_close(visit: Visit, now: datetime) -> tuple[str, ...]:
    """The sides of the job whose result may be asked for: ready or once ready, or with a result. All if none is."""
    verdict, close = judge(visit, now), closing(visit, now)
    ready = tuple(
        s
        for s, mine in verdict.sides.items()
        if standing(mine, now) != "no-go" or close.sides[s].ready is not None
    )
    return ready or visit.job.sides


def all_calibrated(visit: Visit, now: datetime) -> bool:
    """Whether every side of the job has its result."""
    return all(calibrated(visit, side, now) for side in visit.job.sides)


def calibrated(visit: Visit, side: str, now: datetime) -> bool:
    """Whether this side has a result, within its range and of the sensor as it is now; or none is wanted: set aside."""
    results = [c for c in visit.checklist.close_walk() if c.kind == RESULT]
    return bool(results) and all(find(visit, c, side, now).counts for c in results)


def other_sides(visit: Visit, now: datetime) -> tuple[OtherSide, ...]:
    """The sides of the checklist without a go and without a result, judged as sides of this job."""
    seen = visit.until(now)
    both = replace(seen, job=changed(seen.job, sides=seen.checklist.sides))
    verdict = judge(both, now)
    return tuple(
        _other(both, s, now, in_job=s.side in seen.job.sides)
        for s in verdict.sides.values()
        if s.verdict == "no-go" and not calibrated(seen, s.side, now)
    )


def _other(visit: Visit, side: SideVerdict, now: datetime, *, in_job: bool) -> OtherSide:
    holds = tuple(f.check for f in side.findings if f.counts)
    wrong = tuple(f.check for f in side.findings if f.wrong)
    to_ask = tuple(c.id for c in visit.checklist.walk() if c.id not in holds + wrong and asks(visit, c, now))
    return OtherSide(side.side, holds, to_ask, wrong, len(side.findings), in_job)


def told_already(visit: Visit, event: str, side: str = "") -> datetime | None:
    """When this event was recorded, if nothing was read since that it could undo; otherwise None."""
    same = (e.at for e in visit.job.events if e.event == event and e.side in ("", side))
    last = max(same, default=None)
    read = max((r.at for r in visit.job.readings), default=None)
    return None if last is None or (read is not None and read > last) else last

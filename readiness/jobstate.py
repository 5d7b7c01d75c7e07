"""How a job stands: as it was left, and what time has made of that since.

Time ends a go and nothing else: what was wrong or open when somebody last entered something stays so until somebody
comes back.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import UTC, date, datetime, time, timedelta
from typing import Literal

from msgspec import Struct

from readiness.checks.finding import Visit, find
from readiness.checks.floor.from_survey import expires
from readiness.checks.kind import SHARED
from readiness.closing import State, closing
from readiness.job import Ended
from readiness.verdict import SideVerdict, judge
from readiness.watch import standing

Word = Literal["go", "go-with-waivers", "lapsed", "no-go", "unfinished"]
WORST_FIRST: tuple[Word, ...] = ("no-go", "unfinished", "lapsed", "go-with-waivers", "go")
_ZONES = timedelta(hours=15)
"""No clock shows another date than UTC for longer before or after midnight."""


class SideState(Struct, frozen=True, array_like=True):
    """One side. 'lapsed': it was a go, and time or an event ended that; 'no-go': something is to be put right.

    The counts are those of when it was left, and for an ended job of when its result was read.
    """

    side: str
    word: Word
    until: datetime | None
    """When the go lapses; None where there is none."""
    wrong: int
    """Checks to put right."""
    done: int
    """Checks that count."""
    of: int
    closed: State | Literal[""] = ""
    """For an ended job what came after the calibration, see `closing`; otherwise empty."""


class JobState(Struct, frozen=True, array_like=True):
    """All sides of a job, and its end if it has one; or why it cannot be judged."""

    sides: tuple[SideState, ...]
    ended: Ended | None = None
    problem: str = ""

    @property
    def words(self) -> frozenset[Word]:
        return frozenset(s.word for s in self.sides)

    @property
    def word(self) -> Word:
        """The worst of its sides."""
        return min((s.word for s in self.sides), key=WORST_FIRST.index, default="unfinished")


def job_state(visit: Visit, last: datetime, now: datetime) -> JobState:
    """How a visit whose last entry is of `last` stands at `now`; pure, as `judge` is, which is asked."""
    seen = visit.until(now)
    if seen.job.ended is not None:
        return _ended(seen, seen.job.ended)
    left_at = min(last, now)
    left = judge(seen, left_at).sides
    after = _after(seen, left, left_at, now)
    return JobState(tuple(_side(left[side], left_at, after[side]) for side in left))


def steady_until(visit: Visit, last: datetime, now: datetime) -> datetime | None:
    """The first moment after `now` at which `job_state` may say something else without another entry.

    None: never. It may be too early, never too late.
    """
    ended = visit.until(now).job.ended is not None
    moments = (*_entries(visit), last, *(() if ended else (*_holds(visit), *_dates(visit, now))))
    return min((m for m in moments if m > now), default=None)


def _after(
    visit: Visit, left: Mapping[str, SideVerdict], left_at: datetime, now: datetime
) -> Mapping[str, SideVerdict | None]:
    """The verdicts at `now`, given those of an earlier moment; None where no side is a go, which needs no more words."""
    steady = steady_until(visit, left_at, left_at)
    if steady is None or now < steady:
        return left
    if any(_goes(visit, side, now) for side in left):
        return judge(visit, now).sides
    return dict.fromkeys(left)


def _goes(visit: Visit, side: str, now: datetime) -> bool:
    """Whether a side is a go: as `judge` has it, found with as few checks as that takes."""
    walk = visit.checklist.walk()
    return bool(walk) and all(find(visit, check, side, now).counts for check in walk)


def _side(left: SideVerdict, left_at: datetime, now: SideVerdict | None) -> SideState:
    wrong, done = _counts(left)
    if now is not None and now.verdict != "no-go":
        return SideState(left.side, now.verdict, now.lapses_at, wrong, done, len(left.findings))
    was_go = standing(left, left_at) != "no-go"
    word: Word = "lapsed" if was_go else "no-go" if wrong else "unfinished"
    return SideState(left.side, word, None, wrong, done, len(left.findings))


def _counts(side: SideVerdict) -> tuple[int, int]:
    """How many checks are to be put right, and how many count."""
    return sum(f.wrong for f in side.findings), sum(f.counts for f in side.findings)


def _ended(visit: Visit, ended: Ended) -> JobState:
    """Each side as it was when its result was read, or else when the job ended."""
    close = closing(visit, ended.at)
    at_end = judge(visit, ended.at).sides if any(s.ready is None for s in close.sides.values()) else {}
    sides = []
    for side, closed in close.sides.items():
        ready = closed.ready or at_end[side]
        wrong, done = _counts(ready)
        sides.append(SideState(side, ready.verdict, None, wrong, done, len(ready.findings), closed.state))
    return JobState(tuple(sides), ended)


# --- when it may change --------------------------------------------------------------------------


def _entries(visit: Visit) -> Iterator[datetime]:
    """The times of all entries; one later than now, by a clock that was wrong once, is not seen yet."""
    job = visit.job
    yield from (r.at for r in job.readings)
    yield from (f.at for f in job.fixes)
    yield from (e.at for e in job.events)
    yield from (w.at for w in job.waivers)
    yield from (a.at for a in job.attached)
    if job.ended is not None:
        yield job.ended.at


def _holds(visit: Visit) -> Iterator[datetime]:
    """When each reading is past its hold time: that of its check, or of any check where all may use it."""
    holds = {c.id: timedelta(minutes=c.hold) for c in visit.checklist.checks}
    every = frozenset(holds.values())
    for reading in visit.job.readings:
        if reading.check == SHARED:
            yield from (reading.at + hold for hold in every)
        elif reading.check in holds:
            yield reading.at + holds[reading.check]


def _dates(visit: Visit, now: datetime) -> Iterator[datetime]:
    """When the bay's survey begins and ceases to count, which is at midnight by the clock of whoever asks."""
    survey = visit.bay.survey
    if survey is None:
        return
    for day in (survey.date, expires(survey, now).date()):
        midnight = _midnight(day)
        yield midnight - _ZONES
        if midnight - _ZONES <= now < midnight + _ZONES:
            yield now + timedelta(microseconds=1)


def _midnight(day: date) -> datetime:
    return datetime.combine(day, time.min, UTC)

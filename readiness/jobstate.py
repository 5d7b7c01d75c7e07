"""How a job stands: as it was left, and what time has made of that since.

Time ends a go and nothing else: what was wrong or open when somebody last entered something stays so until somebody
comes back.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import UTC, date, datetime, time, timedelta
from typing import Literal

from msgspec import Struct

from readiness.checks.finding import Finding, Visit, find
from readiness.checks.floor.from_survey import expires
from readiness.checks.kind import SHARED
from readiness.closing import RESULT, SideClosing, State, closing, when_left
from readiness.job import Ended
from readiness.verdict import SideVerdict, judge
from readiness.watch import standing

Word = Literal["go", "go-with-waivers", "lapsed", "no-go", "unfinished"]
WORST_FIRST: tuple[Word, ...] = ("no-go", "unfinished", "lapsed", "go-with-waivers", "go")
_ZONES = timedelta(hours=15)
"""No clock shows another date than UTC for longer before or after midnight."""


class SideState(Struct, frozen=True, array_like=True):
    """One side. 'lapsed': it was a go, and time or an event ended that; 'no-go': something is to be put right.

    A side whose result was read stands as it stood then, and one of an ended job as at its last entry: time does
    nothing to it any more. The counts are those of that moment, and otherwise of when the job was left.
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
    """What came after the calibration, see `closing`; empty before there is a result or an end."""
    in_range: bool | None = None
    """Whether the result is what the procedure asks for; None where there is none yet, or it was set aside."""


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
    # a spot check is of the record: nobody worked on the job then
    left_at = min(last, now, *([seen.last_entry] if seen.job.spot_checks else []))
    ended = seen.job.ended
    close = closing(seen, ended.at if ended else left_at).sides if ended or _closing_begun(seen) else {}
    over = (
        seen.job.sides if ended else tuple(s for s in seen.job.sides if s in close and _calibrated(close[s]))
    )
    found = _over(seen, over, close)
    found |= _at_work(seen, tuple(s for s in seen.job.sides if s not in over), close, left_at, now)
    return JobState(tuple(found[side] for side in seen.job.sides), ended)


def steady_until(visit: Visit, last: datetime, now: datetime) -> datetime | None:
    """The first moment after `now` at which `job_state` may say something else without another entry.

    None: never. It may be too early, never too late.
    """
    ended = visit.until(now).job.ended is not None
    moments = (*visit.entered, last, *(() if ended else (*_holds(visit), *_dates(visit, now))))
    return min((m for m in moments if m > now), default=None)


def _closing_begun(visit: Visit) -> bool:
    """Whether anything was entered that is asked after the calibration."""
    asked = {c.id for c in visit.checklist.close_walk()}
    return any(r.check in asked for r in visit.job.readings) or any(
        w.check in asked for w in visit.job.waivers
    )


def _at_work(
    visit: Visit, sides: Sequence[str], close: Mapping[str, SideClosing], left_at: datetime, now: datetime
) -> dict[str, SideState]:
    """Sides without a good result."""
    if not sides:
        return {}
    left = judge(visit, left_at, sides).sides
    after = _after(visit, left, left_at, now)
    return {side: _side(left[side], left_at, after[side], close.get(side)) for side in sides}


def _after(
    visit: Visit, left: Mapping[str, SideVerdict], left_at: datetime, now: datetime
) -> Mapping[str, SideVerdict | None]:
    """The verdicts at `now`, given those of an earlier moment; None where no side is a go, which needs no more words."""
    steady = steady_until(visit, left_at, left_at)
    if steady is None or now < steady:
        return left
    if any(_goes(visit, side, now) for side in left):
        return judge(visit, now, tuple(left)).sides
    return dict.fromkeys(left)


def _goes(visit: Visit, side: str, now: datetime) -> bool:
    """Whether a side is a go: as `judge` has it, found with as few checks as that takes."""
    walk = visit.checklist.walk()
    return bool(walk) and all(find(visit, check, side, now).counts for check in walk)


def _side(
    left: SideVerdict, left_at: datetime, now: SideVerdict | None, close: SideClosing | None
) -> SideState:
    if now is not None and now.verdict != "no-go":
        return _state(left, now.verdict, now.lapses_at, close)
    was_go = standing(left, left_at) != "no-go"
    wrong = any(f.wrong for f in left.findings)
    return _state(left, "lapsed" if was_go else "no-go" if wrong else "unfinished", None, close)


def _over(visit: Visit, sides: Sequence[str], close: Mapping[str, SideClosing]) -> dict[str, SideState]:
    """Sides with a good result, or of an ended job: as they were when the result was read, or else when left, as on paper."""
    verdicts = {
        side: close[side].ready or judge(visit, when_left(visit, side), (side,)).sides[side] for side in sides
    }
    return {side: _state(v, v.verdict, None, close[side]) for side, v in verdicts.items()}


def _state(counted: SideVerdict, word: Word, until: datetime | None, close: SideClosing | None) -> SideState:
    wrong, done = sum(f.wrong for f in counted.findings), sum(f.counts for f in counted.findings)
    closed: State | Literal[""] = "" if close is None else close.state
    in_range = None if close is None else _in_range(close)
    return SideState(counted.side, word, until, wrong, done, len(counted.findings), closed, in_range)


def _results(side: SideClosing) -> list[Finding]:
    return [f for f in side.findings if f.kind == RESULT]


def _calibrated(side: SideClosing) -> bool:
    """As `watch.calibrated` has it."""
    return bool(_results(side)) and all(f.counts for f in _results(side))


def _in_range(side: SideClosing) -> bool | None:
    outcomes = {f.outcome for f in _results(side)}
    if outcomes & {"fail", "too_close"}:
        return False
    return True if outcomes == {"pass"} else None


# --- when it may change --------------------------------------------------------------------------


def _holds(visit: Visit) -> Iterator[datetime]:
    """When each reading is past its hold time: that of its check, or of any check where all may use it."""
    holds = {c.id: timedelta(minutes=c.hold) for c in visit.checklist.checks if not c.lasting}
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

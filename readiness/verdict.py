"""All findings of a visit -> go or no-go per side, what to fix first, and when it lapses."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache
from typing import Literal

from readiness.checklist.model import Check, Checklist
from readiness.checks import kinds
from readiness.checks.finding import Finding, Visit, find

Word = Literal["go", "go-with-waivers", "no-go"]
WORST_LAST: tuple[Word, ...] = ("go", "go-with-waivers", "no-go")


@dataclass(frozen=True, slots=True)
class SideVerdict:
    """Go or no-go for one side; with a check that a person set aside it is at best a go with waivers.

    `fix_first` holds check ids in the order in which to put them right.
    """

    side: str
    verdict: Word
    lapses_at: datetime | None
    fix_first: tuple[str, ...]
    findings: tuple[Finding, ...]

    @property
    def waived(self) -> tuple[Finding, ...]:
        """What a person set aside, in walking order; it holds as long as the job, whatever lapses."""
        return tuple(f for f in self.findings if f.outcome == "waived")

    def finding(self, check_id: str) -> Finding:
        return next(f for f in self.findings if f.check == check_id)


@dataclass(frozen=True, slots=True)
class Verdict:
    """The answer for one job at one moment."""

    job: str
    checklist: str
    sheet: str
    bay: str
    at: datetime
    sides: Mapping[str, SideVerdict]

    @property
    def fix_first(self) -> tuple[str, ...]:
        """Check ids in the order in which to put them right, for all sides."""
        return tuple(dict.fromkeys(c for s in self.sides.values() for c in s.fix_first))

    @property
    def word(self) -> Word:
        """The worst word of all sides."""
        return max((s.verdict for s in self.sides.values()), key=WORST_LAST.index, default="no-go")

    @property
    def go(self) -> bool:
        """A plain go for every side: nothing failed, nothing was set aside."""
        return self.word == "go"


def judge(visit: Visit, now: datetime, sides: Sequence[str] = ()) -> Verdict:
    """Judge a visit at `now`, for the sides named or for all sides of the job.

    Pure: equal arguments give an equal verdict. Entries later than `now` are not seen.
    """
    seen = visit.until(now)
    shared = {c.id: find(seen, c, "", now) for c in seen.checklist.walk() if not c.per_side}
    judged = {side: _judge_side(seen, side, now, shared) for side in sides or seen.job.sides}
    return Verdict(seen.job.job, seen.checklist.checklist, seen.sheet.sheet, seen.bay.bay, now, judged)


def _judge_side(visit: Visit, side: str, now: datetime, shared: Mapping[str, Finding]) -> SideVerdict:
    findings = tuple(
        find(visit, c, side, now) if c.per_side else shared[c.id] for c in visit.checklist.walk()
    )
    if (word := word_of(findings)) == "no-go":
        return SideVerdict(side, word, None, tuple(_fix_first(visit.checklist, findings)), findings)
    lapses = min((f.lapses_at for f in findings if f.lapses_at is not None), default=None)
    return SideVerdict(side, word, lapses, (), findings)


def word_of(findings: Sequence[Finding]) -> Word:
    """A plain go only where every single finding is a pass; nothing at all is no go."""
    if not findings or not all(f.counts for f in findings):
        return "no-go"
    return "go" if all(f.outcome == "pass" for f in findings) else "go-with-waivers"


def _fix_first(checklist: Checklist, findings: Sequence[Finding]) -> Iterator[str]:
    """What does not count yet in fixing order, each after the answers that it waits for."""
    wrong = {f.check: f for f in findings if not f.counts}
    unanswered = {f.kind: f.check for f in findings if f.outcome in ("not_done", "lapsed")}
    for check in fixing_order(checklist):
        needs = (unanswered.get(kind) for kind in getattr(kinds()[check.kind], "NEEDS", ()))
        for asked in (*needs, check.id):
            if asked in wrong:
                del wrong[asked]
                yield asked


def fixing_order(checklist: Checklist) -> list[Check]:
    """All checks so ordered that no fix undoes one done before it; otherwise in walking order.

    A check comes before another if putting it right brings about an event that voids the other.
    Where two would undo each other, walking order decides.
    """
    walk = checklist.walk()
    return [walk[n] for n in _order(tuple((c.a_fix_is, c.voided_by) for c in walk))]


Effects = tuple[tuple[str, ...], tuple[str, ...]]
"""The events that putting a check right brings about, and those that void it."""


@lru_cache(maxsize=16)  # the same checklists are judged again and again
def _order(effects: tuple[Effects, ...]) -> tuple[int, ...]:
    left = list(range(len(effects)))
    ordered = []
    while left:
        free = (n for n in left if not any(_undoes(effects[o], effects[n]) for o in left if o != n))
        following = next(free, left[0])
        ordered.append(following)
        left.remove(following)
    return tuple(ordered)


def _undoes(fixed: Effects, done: Effects) -> bool:
    """Whether fixing the first would void the second, and not the other way round as well."""
    (brings, ends), (back, voids) = fixed, done
    return not set(brings).isdisjoint(voids) and set(back).isdisjoint(ends)

"""Jobs that need somebody, how those of the last weeks ended, and what was in their way."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime, timedelta

from readiness.jobstate import JobState, SideState
from readiness.records.listing import JobLine
from readiness.records.overview.model import Jobs, Reason, Reasons, WrongPart
from readiness.records.past import WORST_FIRST, InTheWay, Past


def in_weeks(line: JobLine, at: datetime, weeks: int) -> bool:
    """Whether a job was worked on in so many weeks before that moment."""
    return line.last is not None and line.last > at - timedelta(weeks=weeks)


def wanted(lines: Iterable[JobLine], at: datetime, weeks: int) -> tuple[list[JobLine], list[JobLine]]:
    """Of the jobs there were at that moment those to be looked at: all that are open or of these weeks; those of these weeks."""
    there = [line for line in lines if not line.problem and line.opened is not None and line.opened <= at]
    return (
        [line for line in there if not line.ended or in_weeks(line, at, weeks)],
        [line for line in there if in_weeks(line, at, weeks)],
    )


def jobs(
    lines: Sequence[JobLine], states: Mapping[str, JobState], at: datetime, weeks: int, idle: int
) -> Jobs:
    """`lines`: all jobs, the latest touched first; `states`: of those that `wanted` names."""
    read = [(line, states[line.id]) for line in lines if line.id in states and not states[line.id].problem]
    still = [(line, state) for line, state in read if state.ended is None]
    lapsed = [line.id for line, state in still if any(map(_lapsed, state.sides))]
    late = at - timedelta(days=idle)
    untouched = [line.id for line, _ in reversed(still) if line.last is not None and line.last < late]
    recent = [(line, state) for line, state in read if in_weeks(line, at, weeks)]
    bad = [line.id for line in lines if line.problem or (line.id in states and states[line.id].problem)]
    return Jobs(
        all=len(lines), open=len(still), lapsed=tuple(lapsed),
        untouched=tuple(id for id in untouched if id not in set(lapsed)),
        without_go=tuple(line.id for line, state in recent if state.ended and any(map(_without, state.sides))),
        waivers=tuple(line.id for line, state in recent if "go-with-waivers" in state.words),
        unread=tuple(bad),
    )  # fmt: skip


def _lapsed(side: SideState) -> bool:
    return side.word == "lapsed" and side.in_range is None


def _without(side: SideState) -> bool:
    return side.word not in ("go", "go-with-waivers")


def reasons(lines: Sequence[JobLine], pasts: Mapping[str, Past]) -> Reasons:
    """How many of these jobs each check was in the way of, by its title."""
    told = [pasts[line.id] for line in lines if line.id in pasts and not pasts[line.id].problem]
    found: dict[str, Counter[InTheWay]] = {}
    parts: Counter[tuple[str, str]] = Counter()
    for job in told:
        by_title: dict[str, list[InTheWay]] = {}
        for trouble in job.troubles:
            by_title.setdefault(trouble.title, []).append(trouble.outcome)
        for title, outcomes in by_title.items():
            found.setdefault(title, Counter())[min(outcomes, key=WORST_FIRST.index)] += 1
        parts.update({(t.title, part) for t in job.troubles for part in t.parts})
    checks = [Reason(title, n.total(), n["fail"], n["too_close"]) for title, n in found.items()]
    often = [WrongPart(title, part, count) for (title, part), count in parts.items() if count > 1]
    return Reasons(
        len(told), sum(bool(job.troubles) for job in told),
        tuple(sorted(checks, key=lambda r: (-r.jobs, -r.failed, r.title))),
        tuple(sorted(often, key=lambda p: (-p.jobs, p.title, p.part))),
    )  # fmt: skip

"""Walking order: in which order the questions of a visit come, for every face that asks them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby

from readiness.checklist.model import Check, Checklist, Step
from readiness.checks.finding import Visit, ask
from readiness.checks.kind import SHARED, Place, Question


@dataclass(frozen=True, slots=True)
class Stop:
    """One question on the walk, with the first check and side that ask it."""

    check: Check
    side: str
    question: Question
    asked_by: tuple[tuple[Check, str], ...]
    """Every check with its side that the answer serves: one may serve two checks, or both sides."""

    @property
    def place(self) -> Place:
        """Where its answer lies."""
        q = self.question
        return (SHARED, "", q.key) if q.shared else (self.check.id, self.side, q.key)


def stations(checklist: Checklist, step: Step, sides: Sequence[str]) -> list[tuple[Check, str]]:
    """Check and side of everything that a step holds, as one walks: all of one side, then the other."""
    found: list[tuple[Check, str]] = []
    for per_side, group in groupby(map(checklist.check, step.checks), lambda c: c.per_side):
        together = list(group)
        found += [(check, side) for side in (sides if per_side else ("",)) for check in together]
    return found


def stops(visit: Visit, step: Step, now: datetime, sides: Sequence[str] = ()) -> list[Stop]:
    """Every question that a step asks now, in walking order; each once, however many checks it serves.

    For the sides named, or for all sides of the job.
    """
    found: dict[Place, Stop] = {}
    for check, side in stations(visit.checklist, step, sides or visit.job.sides):
        for question in ask(visit, check, side, now):
            stop = Stop(check, side, question, ((check, side),))
            known = found.get(stop.place)
            found[stop.place] = stop if known is None else _also(known, stop)
    return list(found.values())


def _also(known: Stop, stop: Stop) -> Stop:
    return Stop(known.check, known.side, known.question, known.asked_by + stop.asked_by)

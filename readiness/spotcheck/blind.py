"""What is shown of a reading before it is taken again. It is asked of a visit from which the first ones were taken out.

So no hint, no default and no bound can give one away: what is not there cannot be shown.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace
from datetime import datetime

from msgspec.structs import replace as changed

from readiness.checks.finding import Visit, ask
from readiness.checks.kind import SHARED, Place, Question
from readiness.checks.walking import Stop
from readiness.job import Reading
from readiness.spotcheck.candidates import needs_beside, without_hold
from readiness.spotcheck.compare import with_nothing_but


def question_of(visit: Visit, stop: Stop, hidden: Collection[Place], now: datetime) -> Question:
    """The question of a stop, as somebody sees it who knows nothing of what lies at the hidden places."""
    kept = tuple(r for r in visit.job.readings if (r.check, r.side, r.question) not in hidden)
    bare = replace(without_hold(visit), job=changed(visit.job, readings=kept))
    for question in ask(bare, stop.check, stop.side, now):
        if question.key == stop.question.key:
            return question
    return replace(stop.question, hint="", default="", explain=None)


def asked_beside(visit: Visit, stop: Stop, beside: Sequence[Reading], now: datetime) -> list[Question]:
    """What has to be read beside it, after these, as far as these tell; nothing once all is there."""
    wanted = needs_beside(stop)
    if not wanted:
        return []
    there = {r.question for r in beside}
    questions = ask(with_nothing_but(visit, beside), stop.check, stop.side, now)
    return [q for q in questions if q.key in wanted and q.key not in there]


def reading_place(stop: Stop, question: Question) -> Place:
    """Where an answer to a question of the same check lies."""
    return (SHARED, "", question.key) if question.shared else (*stop.place[:2], question.key)

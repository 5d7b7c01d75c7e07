"""A practice job answered through the same questions as a real one, by whoever answers."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from datetime import datetime

import msgspec

from readiness.checks import walking
from readiness.checks.entry import understood
from readiness.checks.finding import Visit
from readiness.checks.kind import Place
from readiness.checks.walking import Stop
from readiness.job import Evidence, Job, Reading
from readiness.practice.looking import best
from readiness.practice.sights import Said, State, found
from readiness.practice.world import World

JOB, BY = "practice", "Practice"
ROUNDS = 200
"""More than any walk of questions that ask for more has."""

Respond = Callable[[Visit, Stop], Reading | None]
"""An answer to a question, or None to leave it."""


def blank(world: World, at: datetime) -> Visit:
    """The visit of this car before anything is answered."""
    job = Job(job=JOB, sheet=world.sheet.sheet, bay=world.bay.bay, sides=world.sides, opened=at, by=BY)
    return Visit(world.checklist, world.sheet, world.bay, world.shop, world.instruments, job)


def filled(visit: Visit, respond: Respond, now: datetime) -> Visit:
    """Every question answered that `respond` answers, step by step, until none is new."""
    for step in visit.checklist.steps:
        asked: set[Place] = set(visit.readings)
        for _ in range(ROUNDS):
            new = [s for s in walking.stops(visit, step, now) if s.place not in asked]
            if not new:
                break
            asked |= {s.place for s in new}
            answers = (respond(visit, stop) for stop in new)
            visit = with_readings(visit, [r for r in answers if r is not None])
    return visit


def with_readings(visit: Visit, readings: Iterable[Reading]) -> Visit:
    job = msgspec.structs.replace(visit.job, readings=(*visit.job.readings, *readings))
    return replace(visit, job=job)


def said_in(visit: Visit) -> Said:
    """The words answered so far, by place."""
    return {place: str(rs[-1].value) for place, rs in visit.readings.items() if isinstance(rs[-1].value, str)}


def reading(
    visit: Visit, stop: Stop, text: str, at: datetime, tool: str = "", evidence: Evidence | None = None
) -> Reading:
    """A typed answer as it is kept. Raises units.UnitsError for one that is not understood."""
    division = visit.instruments[tool].division if tool else ""
    value, unit = understood(stop.question, text, visit.shop.units, division)
    check, side, key = stop.place
    return Reading(
        check=check, side=side, question=key, value=value, unit=unit, at=at, by=BY, text=text,
        evidence=evidence or stop.question.evidence, instrument=tool,
    )  # fmt: skip


def exactly(world: World, at: datetime, *, survey: bool = False) -> Respond:
    """Answers everything as it really is, with no error at all, in the name of the best instruments.

    The floor by laser, unless `survey` says that a survey that holds may serve.
    """

    def respond(visit: Visit, stop: Stop) -> Reading | None:
        if skipped(stop):
            return None
        check, side, key = stop.place
        there = found(world, stop.place, said_in(visit))
        if isinstance(there, State):
            answer = "laser" if key == "source" and not survey else there.answer
            return reading(visit, stop, answer, at)
        tool = best(world.instruments, there.measures) if there.measures else ""
        return Reading(
            check=check, side=side, question=key, value=there.true, unit=there.unit, at=at, by=BY,
            text="exact", evidence=stop.question.evidence, instrument=tool,
        )  # fmt: skip

    return respond


OF_USE = frozenset({"way", "radius", "height", "2", "barometer"})
"""Last words of optional questions that a careful person answers: how and how large a thing is, the turned level."""


def skipped(stop: Stop) -> bool:
    """Whether a question need not be answered and serves nobody here: a quick check of a survey, plates under feet."""
    head, last = stop.place[2].partition(".")[0], stop.place[2].rpartition(".")[2]
    return stop.question.optional and (head in ("quick", "packed") or last not in OF_USE)

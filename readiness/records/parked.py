"""Where a job's car is to stand in its bay, as readings of the check that asks for it."""

from __future__ import annotations

from datetime import datetime

from readiness import units
from readiness.checklist.model import Check, Checklist
from readiness.checks.place import CHALK, KIND, MARKS, PLAN
from readiness.job import Job, Reading, Standing, System
from readiness.records.journal import Journal

WHERE = "where"
"""The key of the question whether the car stands on its marks or on chalk."""


def standing_check(checklist: Checklist) -> Check | None:
    """The check that asks where the car stands; None where the checklist has none."""
    return next((c for c in checklist.checks if c.kind == KIND), None)


def readings_of(
    checklist: Checklist,
    place: Standing,
    *,
    by: str,
    at: datetime,
    system: System = "metric",
    tapes: str = "",
) -> tuple[Reading, ...]:
    """The place as readings: told, since nobody has measured it yet. None where no check asks for it.

    `tapes` says how to find it with a tape, and stays with the first of them as its note.
    """
    check = standing_check(checklist)
    if check is None:
        return ()
    values = {"plan.x": place.x, "plan.y": place.y, "plan.heading": place.heading}
    return tuple(
        Reading(
            check=check.id, question=key, value=values[key], unit=unit, at=at, by=by, evidence="told",
            text=units.show(values[key], unit, system), note="" if n else tapes,
        )
        for n, (key, unit) in enumerate(PLAN.items())
    )  # fmt: skip


def supposed(checklist: Checklist, place: Standing | None, at: datetime) -> tuple[Reading, ...]:
    """As if the car stood at a place already, or on the bay's own marks: to judge what would be found there."""
    check = standing_check(checklist)
    if check is None:
        return ()
    value = MARKS if place is None else CHALK
    stands = Reading(check=check.id, question=WHERE, value=value, at=at, by="-", evidence="seen")
    return (stands, *(readings_of(checklist, place, by="-", at=at) if place is not None else ()))


def place_kept(job: Job, checklist: Checklist) -> tuple[Reading, ...]:
    """The readings of the place that was worked out for this job; none where there is no such place.

    One that the car has left is none: it stays with what was found there.
    """
    check = standing_check(checklist)
    if check is None:
        return ()
    left = max((e.at for e in job.events if e.event in check.voided_by), default=None)
    mine = (r for r in job.readings if r.check == check.id and r.question in PLAN)
    return tuple(r for r in mine if left is None or r.at >= left)


def keep_place(
    journal: Journal, checklist: Checklist, place: Standing | None, *, by: str, at: datetime, system: System,
    tapes: str = "",
) -> None:  # fmt: skip
    """Keep the place in the journal instead of one worked out before; None: it is the bay's own again.

    Raises JournalError.
    """
    for old in place_kept(journal.job, checklist):
        journal.withdraw(old.number, "another place was chosen", by, at)
    if place is not None:
        for reading in readings_of(checklist, place, by=by, at=at, system=system, tapes=tapes):
            journal.record(reading)

"""Where a job's car is to stand in its bay, as readings of the check that asks for it."""

from __future__ import annotations

from datetime import datetime

from readiness import units
from readiness.checklist.model import Check, Checklist
from readiness.job import Job, Reading, Standing, System
from readiness.records.journal import Journal

KIND = "standing"
PLAN = "plan."
"""What the keys of a place that was worked out begin with."""


def standing_check(checklist: Checklist) -> Check | None:
    """The check that asks where the car stands; None where the checklist has none."""
    return next((c for c in checklist.checks if c.kind == KIND), None)


def readings_of(
    checklist: Checklist, place: Standing, *, by: str, at: datetime, system: System = "metric"
) -> tuple[Reading, ...]:
    """The place as readings: told, since nobody has measured it yet. None where no check asks for it."""
    check = standing_check(checklist)
    if check is None:
        return ()
    numbers = (("x", place.x, "m"), ("y", place.y, "m"), ("heading", place.heading, "deg"))
    return tuple(
        Reading(
            check=check.id, question=f"{PLAN}{name}", value=value, unit=unit, at=at, by=by, evidence="told",
            text=units.show(value, unit, system),
        )
        for name, value, unit in numbers
    )  # fmt: skip


def place_kept(job: Job, checklist: Checklist) -> tuple[Reading, ...]:
    """The readings of the place that was worked out for this job; none where there is no such place."""
    check = standing_check(checklist)
    mine = (r for r in job.readings if check is not None and r.check == check.id)
    return tuple(r for r in mine if r.question.startswith(PLAN))


def keep_place(
    journal: Journal, checklist: Checklist, place: Standing | None, *, by: str, at: datetime, system: System
) -> None:
    """Keep the place in the journal instead of one worked out before; None: it is the bay's own again.

    Raises JournalError.
    """
    for old in place_kept(journal.job, checklist):
        journal.withdraw(old.number, "another place was chosen", by, at)
    if place is not None:
        for reading in readings_of(checklist, place, by=by, at=at, system=system):
            journal.record(reading)

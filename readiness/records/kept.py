"""A whole job into a new journal, entry by entry in the order of their times."""

from __future__ import annotations

from pathlib import Path

from readiness.job import Attached, Ended, Event, Fix, Job, Reading, System, Waiver
from readiness.records.journal import Journal


def write_journal(job: Job, folder: Path, units: System | None = None) -> Path:
    """Keep a job as `<folder>/<job>.jsonl`. Raises JournalError if it exists.

    A job with an entry from before it was opened counts as opened then.
    """
    with Journal.create(
        folder, job=job.job, sheet=job.sheet, bay=job.bay, sides=job.sides, by=job.by,
        at=min([job.opened, *(e.at for e in _entries(job))]), plate=job.plate,
    ) as journal, journal.together():  # fmt: skip
        if units is not None:
            journal.set_units(units, job.by, journal.last_at)
        for entry in sorted(_entries(job), key=lambda e: e.at):
            _keep(journal, entry)
        return journal.path


Kept = Reading | Fix | Event | Waiver | Attached | Ended


def _entries(job: Job) -> list[Kept]:
    ended = [] if job.ended is None else [job.ended]
    return [*job.fixes, *job.events, *job.readings, *job.waivers, *job.attached, *ended]


def _keep(journal: Journal, entry: Kept) -> None:
    if isinstance(entry, Reading):
        journal.record(entry)
    elif isinstance(entry, Fix):
        journal.fix(entry)
    elif isinstance(entry, Event):
        journal.happen(entry)
    elif isinstance(entry, Waiver):
        journal.waive(entry)
    elif isinstance(entry, Attached):
        journal.attach(entry)
    else:
        journal.end(entry)

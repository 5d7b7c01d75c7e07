"""Rebuild demo/jobs/*.jsonl from demo/answers/*.yaml: python -m tests.build_demo_jobs

The journals are written by the program's own records, entry by entry in order of time, so that they
are what the wizard would have kept. Run it after a change to an answer, a sheet or a checklist's questions.
"""

from __future__ import annotations

from pathlib import Path

from readiness.job import Event, Fix, Job, Reading, Waiver
from readiness.records import places
from readiness.records.answers import read_answers
from readiness.records.journal import SUFFIX, Journal
from readiness.records.shop import ShopFolder


def build(shop: Path, into: Path) -> list[Path]:
    """Write one journal for each file of answers of the shop; journals already there are replaced."""
    folder = ShopFolder(shop)
    return [write(read_answers(path, folder), into) for path in answer_files(shop)]


def answer_files(shop: Path) -> list[Path]:
    return sorted((shop / "answers").glob("*.yaml"))


def write(job: Job, into: Path) -> Path:
    """The journal of one job."""
    path = into / f"{job.job}{SUFFIX}"
    path.unlink(missing_ok=True)
    with Journal.create(
        into, job=job.job, sheet=job.sheet, bay=job.bay, sides=job.sides, by=job.by, at=job.opened,
        plate=job.plate,
    ) as journal:  # fmt: skip
        for entry in entries(job):
            _keep(journal, entry)
    path.with_name(path.name + ".lock").unlink(missing_ok=True)
    return path


Kept = Reading | Fix | Event | Waiver


def entries(job: Job) -> list[Kept]:
    """Everything of the job in order of time; at one moment, readings before the rest."""
    every: list[Kept] = [*job.readings, *job.fixes, *job.events, *job.waivers]
    return sorted(every, key=lambda e: e.at)


def _keep(journal: Journal, entry: Kept) -> None:
    if isinstance(entry, Reading):
        journal.record(entry)
    elif isinstance(entry, Fix):
        journal.fix(entry)
    elif isinstance(entry, Event):
        journal.happen(entry)
    else:
        journal.waive(entry)


if __name__ == "__main__":
    for written in build(places.demo(), places.demo() / "jobs"):
        print(written)

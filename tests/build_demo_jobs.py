"""Rebuild demo/jobs/*.jsonl from demo/answers/*.yaml: python -m tests.build_demo_jobs

The journals are written by the program's own records, entry by entry in order of time, so that they
are what the wizard would have kept. Run it after a change to an answer, a sheet or a checklist's questions.
"""

from __future__ import annotations

from pathlib import Path

from readiness.job import Job
from readiness.records import places
from readiness.records.answers import read_answers
from readiness.records.journal import SUFFIX
from readiness.records.kept import write_journal
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
    write_journal(job, into)
    path.with_name(path.name + ".lock").unlink(missing_ok=True)
    return path


if __name__ == "__main__":
    for written in build(places.demo(), places.demo() / "jobs"):
        print(written)

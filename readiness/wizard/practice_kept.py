"""Between practice on the screen and what is on disk: the folder of one simulated car, and what is kept of it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from textual.content import Content

from readiness.practice import kept
from readiness.practice.exercise import exercise, folder_for, given
from readiness.practice.faults import VERSION
from readiness.practice.finished import finished
from readiness.practice.score import score
from readiness.practice.to_practise import checks, faults
from readiness.records.chained import JournalError
from readiness.records.journal import Journal
from readiness.report.practice_words import score_lines
from readiness.wizard.practice_session import PracticeSession

if TYPE_CHECKING:
    from readiness.practice.model import Marked

NOBODY = "Results are kept under a name; p says whose."


def session_for(
    to: Path, seed: int, level: int, sheet: str | None, person: str, clock: Callable[[], datetime]
) -> PracticeSession:
    """A simulated car in a shop of its own in the new folder `to`, what is given already answered.

    Raises ValueError for what there is no car of, ShopError, JournalError, OSError.
    """
    car = exercise(seed, level, sheet)
    folder = folder_for(car, to, clock())
    journal = Journal.create(
        folder.jobs_folder, job=f"car-{seed}", sheet=car.sheet, bay=car.bay, sides=car.sides, by=person, at=clock()
    )  # fmt: skip
    with journal.together():
        for reading in given(car, folder, journal.last_at, person):
            journal.record(reading)
    return PracticeSession(folder, journal, person, clock, exercise=car)


def keep(shop: Path, session: PracticeSession, marked: Marked, person: str) -> str:
    """Keep what one car came to under a person's name; a sentence that says where, or why not."""
    try:
        result = finished(session.exercise, person, session.clock(), marked, VERSION)
        notes = kept.keep(shop, result)
    except (JournalError, ValueError) as fault:
        return f"Not kept: {fault}"
    return " ".join((f"Kept for {person} in {kept.file_of(shop, person).relative_to(shop)}.", *notes))


def score_page(shop: Path, person: str, width: int) -> Content:
    """How a person stands so far. `width` in cells."""
    if not person:
        return Content(NOBODY)
    found = kept.everybody(shop)
    mine = found.people.get(person, ())
    lines = score_lines(score(person, mine, checks()), width, faults())
    return Content("\n".join([*lines, *found.notes]))

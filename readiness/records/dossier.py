"""Everything that a paper about a job is made of, read from the shop once: a report opens no file by itself."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from readiness.checks.entry import as_typed
from readiness.checks.finding import Visit
from readiness.checks.kind import Place, Question
from readiness.job import Fix, Reading, Waiver
from readiness.records.asked import asked_for
from readiness.records.attachments import Checked, check
from readiness.records.chained import Head
from readiness.records.history import Story, stories
from readiness.records.lines import Entry, body_of
from readiness.records.opening import Found, find_job

if TYPE_CHECKING:
    from readiness.records.signing import Vouched


@dataclass(frozen=True)
class Dossier:
    """One job with its history, what its files say today, and what its journal comes to."""

    visit: Visit
    stories: Mapping[Place, Story]
    """Every answer with what became of it; those of a file of answers were each given once."""
    questions: Mapping[Place, Question]
    """What was asked, for the answers that still stand."""
    head: Head | None
    """None for a file of answers: only a journal can be proved."""
    attachments: tuple[Checked, ...]
    signatures: tuple[Vouched, ...]
    """Checked today, oldest first; none where nobody signed."""
    warnings: tuple[str, ...]

    def label(self, place: Place) -> str:
        """What was asked at a place; its key where the question is not asked any more."""
        question = self.questions.get(place)
        return question.label.rstrip(",") if question is not None else place[2]

    def answer(self, reading: Reading) -> str:
        """What was answered, in the words of the question; a number as it was typed."""
        question = self.questions.get((reading.check, reading.side, reading.question))
        choices = question.choices if question is not None else ()
        return next((c.label for c in choices if c.value == reading.value), as_typed(reading))


def dossier(name: str, shop: Path | None, until: datetime | None = None) -> Dossier:
    """The dossier of a job, named as for `opening.find_job`; what became of answers later than `until` is left out.

    Raises JournalError, ShopError.
    """
    found = find_job(name, shop)
    job = found.visit.job
    journal = found.journal
    return Dossier(
        found.visit,
        stories(journal.entries, until)
        if journal is not None
        else as_given((*job.readings, *job.fixes, *job.waivers)),
        asked_for(found.visit),
        journal.head if journal is not None else None,
        tuple(check(a, found.folder.path) for a in job.attached),
        _signatures(found),
        (*found.warnings, *_changed(found)),
    )


KINDS: dict[type[Reading | Fix | Waiver], str] = {Reading: "reading", Fix: "fix", Waiver: "waiver"}
"""As a journal would name them."""


def as_given(told: Iterable[Reading | Fix | Waiver]) -> dict[Place, Story]:
    """The stories of a file of answers, which knows nothing that was taken back."""
    in_order = sorted(told, key=lambda what: what.at)
    return stories(Entry(n, what.at, KINDS[type(what)], body_of(what)) for n, what in enumerate(in_order, 1))


def _changed(found: Found) -> Iterator[str]:
    """What the job was judged by and is judged by no more, as its files say something else today."""
    if found.journal is not None and found.journal.grounds:
        from readiness.records.grounds import Today

        for told in Today(found.folder).changed(found.journal.grounds):
            yield f"{told} What stands here is judged by what it says today."


def _signatures(found: Found) -> tuple[Vouched, ...]:
    if found.journal is None or not found.journal.signatures:
        return ()
    from readiness.records import signing

    folder = found.folder
    return tuple(
        signing.check(s, found.visit.job.job, folder.path, folder.shop) for s in found.journal.signatures
    )

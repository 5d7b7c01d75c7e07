"""Which jobs of a shop somebody wants to see: what a line says of a job, and how it stands."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime

from msgspec import Struct

from readiness.checklist.mistakes import near
from readiness.jobstate import JobState, Word
from readiness.records.listing import JobLine


class Wanted(Struct, frozen=True, kw_only=True):
    """What a job must have, all of it; empty fields ask for nothing."""

    ended: bool | None = None
    words: frozenset[Word] = frozenset()
    """One of its sides has one of these."""
    bay: str = ""
    sheet: str = ""
    by: str = ""
    """Part of the name of somebody who entered something."""
    since: date | None = None
    """It was worked on that day or later."""
    until: date | None = None
    text: tuple[str, ...] = ()
    """Each is part of its number or plate."""

    @property
    def asks_for_state(self) -> bool:
        return bool(self.words)

    def line(self, line: JobLine) -> bool:
        """Whether the line of a job is of the wanted kind; one that cannot be read has only its number to go by."""
        if not all(_plain(t) in _plain(f"{line.id}\n{line.plate}") for t in self.text):
            return False
        if line.problem:
            return self == Wanted(text=self.text)
        return (
            self.ended in (None, line.ended)
            and self.bay in ("", line.bay)
            and self.sheet in ("", line.sheet)
            and any(
                self.by.casefold() in name.casefold() for name in ("", *line.people) if name or not self.by
            )
            and (self.since is None or _day(line.last) >= self.since)
            and (self.until is None or _day(line.opened) <= self.until)
        )

    def state(self, state: JobState) -> bool:
        return not self.words or bool(self.words & state.words)


def found_by(lines: Iterable[JobLine], text: str) -> list[JobLine]:
    """The jobs in which every word of a text is part of number, plate, sheet or a person's name."""
    words = [_plain(word) for word in text.split()]
    return [line for line in lines if all(word in _said(line) for word in words)]


def unknown(what: str, named: str, known: Iterable[str]) -> str:
    """A sentence for a name that no job bears: what was named, what is meant perhaps, what there is."""
    there = sorted(set(known) - {""})
    listed = (
        f"there: {', '.join(there[:12])}{', ...' if len(there) > 12 else ''}" if there else "there is none"
    )
    hint = near(named, there) or near(named, {word for name in there for word in name.split()})
    return f"No job has {what} '{named}' ({listed}). {hint}".rstrip()


def _said(line: JobLine) -> str:
    return _plain("\n".join((line.id, line.plate, line.sheet, *line.people)))


def _plain(text: str) -> str:
    """As people compare plates: without blanks, hyphens and capitals."""
    return text.casefold().replace(" ", "").replace("-", "")


def _day(at: datetime | None) -> date:
    """The day on this machine."""
    assert at is not None
    return at.astimezone().date()

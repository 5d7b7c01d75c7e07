"""Whether one journal is sound: a quick look first, that accuses nobody; what that doubts is opened, and that decides.

So there is one definition of a sound journal, which is `Journal.open`, and ten thousand of them take seconds.
"""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import Any, Literal

from msgspec import Struct

from readiness.job import Attached
from readiness.records.chained import Chained
from readiness.records.journal import Journal
from readiness.records.loading import MOST_BYTES
from readiness.records.on_disk import JournalError
from readiness.records.plain_file import NoFile, open_plain
from readiness.records.quick_look import Seen, quick_look
from readiness.records.replay import Grounds, Signed
from readiness.records.surveys import SurveyJournal, is_survey


class Chain(Struct, frozen=True):
    """What one journal comes to, from its first line to its last."""

    path: Path
    of: Literal["job", "survey", ""] = ""
    name: str = ""
    """The job's number or the survey's id, as the file says it."""
    lines: int = 0
    head: str = ""
    """SHA-256 of the last line, in hex."""
    last_at: datetime | None = None
    fault: str = ""
    """Why it cannot be trusted or read, whole sentences; empty for a sound one."""
    line: int = 0
    """Where the fault is; 0 for the file as a whole."""
    trouble: bool = False
    """It is this machine that cannot read it."""
    attached: tuple[Attached, ...] = ()
    signatures: tuple[Signed, ...] = ()
    grounds: tuple[Grounds, ...] = ()
    """What the job was judged by."""


def looked_through(path: Path) -> Chain:
    """A journal of a job or of a survey, checked as opening it would; raises nothing."""
    try:
        stream, found = open_plain(path)
        with stream:
            # a file that is written on meanwhile is looked at again
            data = stream.read(found.st_size + 1) if found.st_size <= MOST_BYTES else b""
    except NoFile as fault:
        return Chain(path, fault=f"{path} is {fault.strerror}, no journal.")
    except OSError as fault:
        why = (fault.strerror or type(fault).__name__).lower()
        return Chain(path, fault=f"{path} could not be read: {why}.", trouble=True)
    seen = quick_look(data)
    return _thoroughly(path) if seen is None else _seen(path, seen)


def _seen(path: Path, seen: Seen) -> Chain:
    return Chain(
        path, "job", seen.job, seen.lines, seen.head, seen.last_at,
        attached=seen.attached, signatures=seen.signatures, grounds=seen.grounds,
    )  # fmt: skip


def _thoroughly(path: Path) -> Chain:
    """By opening it."""
    try:
        if is_survey(path):
            with SurveyJournal.open(path, write=False) as survey:
                return _opened(survey, "survey", survey.surveying.id)
        with Journal.open(path, write=False) as journal:
            job = journal.job
            return _opened(journal, "job", job.job, job.attached, journal.signatures, journal.grounds)
    except JournalError as fault:
        trouble = isinstance(fault.__cause__, OSError)
        return Chain(path, fault=str(fault), line=fault.line, trouble=trouble)


def _opened(
    journal: Chained[Any], of: Literal["job", "survey"], name: str,
    attached: tuple[Attached, ...] = (), signatures: tuple[Signed, ...] = (), grounds: tuple[Grounds, ...] = (),
) -> Chain:  # fmt: skip
    head = journal.head
    odd = " ".join(journal.warnings).replace(journal.path.name, str(journal.path), 1)
    line = next((n for n in (head.lines, head.lines + 1) if f", line {n}, " in odd), 0)
    advice = (
        " The lines before it are sound. Opening the job or survey in the program puts that right."
        if odd
        else ""
    )
    return Chain(
        journal.path, of, name, head.lines, head.digest, journal.last_at, odd + advice, line,
        attached=attached, signatures=signatures, grounds=grounds,
    )  # fmt: skip

"""What a file of answers may say, before its answers are understood."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated

from msgspec import Meta, Struct

from readiness.job import Evidence, LaterTyped, Side, System


class Done(Struct, forbid_unknown_fields=True, kw_only=True, frozen=True):
    """What an entry about something that happened may say beside its own."""

    at: datetime | None = None
    by: str = ""


class FixDone(Done, forbid_unknown_fields=True, kw_only=True, frozen=True):
    check: str
    question: str = ""
    side: str = ""
    text: str = ""


class EventSeen(Done, forbid_unknown_fields=True, kw_only=True, frozen=True):
    event: str
    side: str = ""
    """Of an event that happens to one side only."""


class SetAside(Done, forbid_unknown_fields=True, kw_only=True, frozen=True):
    check: str
    reason: str
    side: str = ""


class FileAttached(Done, forbid_unknown_fields=True, kw_only=True, frozen=True):
    """A file that belongs to the job. Without its hash and size it is taken as it is now."""

    path: str
    """From the shop's folder, with forward slashes."""
    what: str = ""
    """What it shows."""
    sha256: Annotated[str, Meta(pattern="^[0-9a-f]{64}$")] | None = None
    """Of its bytes when it was attached, in hex."""
    size: Annotated[int, Meta(ge=0)] | None = None
    """In bytes, when it was attached."""


class JobEnded(Done, forbid_unknown_fields=True, kw_only=True, frozen=True):
    why: str = ""


class File(Struct, forbid_unknown_fields=True, kw_only=True, frozen=True):
    answers: str
    plate: str = ""
    sheet: str
    bay: str
    sides: tuple[Side, ...]
    by: str
    at: datetime
    units: System | None = None
    instruments: dict[str, str] = {}
    shared: LaterTyped = None
    checks: LaterTyped = None
    fixes: tuple[FixDone, ...] = ()
    events: tuple[EventSeen, ...] = ()
    not_applicable: tuple[SetAside, ...] = ()
    attached: tuple[FileAttached, ...] = ()
    ended: JobEnded | None = None
    """The job is over."""


class Circumstances(Struct, forbid_unknown_fields=True, kw_only=True, frozen=True):
    """One answer written out: its value and what differs from the rest of the file."""

    value: LaterTyped = None
    at: datetime | None = None
    by: str = ""
    evidence: Evidence | None = None
    told_by: str = ""
    instrument: str | None = None
    note: str = ""

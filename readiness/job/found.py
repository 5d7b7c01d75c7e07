"""What was found on one visit of one car: readings, fixes, events, waivers."""

from __future__ import annotations

from datetime import datetime

from msgspec import Struct

from readiness.job.words import Evidence

Value = float | str


class Reading(Struct, frozen=True, kw_only=True):
    """One answer: what was found, who found it, when, with what, and on what evidence."""

    check: str
    """The check's id, or 'shared' for an answer that every check may use."""
    question: str
    value: Value
    """A float in `unit` for quantities; the value of a choice or the text otherwise."""
    at: datetime
    by: str
    side: str = ""
    """'left' or 'right' for a check asked once a side, otherwise empty."""
    unit: str = ""
    text: str = ""
    """As it was typed."""
    evidence: Evidence = "measured"
    told_by: str = ""
    instrument: str = ""
    note: str = ""
    number: int = 0
    """Its line in the journal."""


class Fix(Struct, frozen=True, kw_only=True):
    """Something was put right; readings of that question before it no longer count."""

    check: str
    at: datetime
    by: str
    question: str = ""
    """Empty: the whole check; 'front': also 'front.left' and 'front.right'."""
    side: str = ""
    text: str = ""


class Event(Struct, frozen=True, kw_only=True):
    """Something happened that voids findings; `event` is a key of VOID_EVENTS."""

    event: str
    at: datetime
    by: str
    side: str = ""
    """Only of those in OF_ONE_SIDE; empty: it may have been either."""


class Waiver(Struct, frozen=True, kw_only=True):
    """A check that a person set aside, with the reason. It holds as long as the job."""

    check: str
    reason: str
    at: datetime
    by: str
    side: str = ""


class Lifted(Struct, frozen=True, kw_only=True):
    """A waiver that was taken back: until then it held."""

    waiver: Waiver
    at: datetime


class Setting(Struct, frozen=True, kw_only=True):
    """For which sides a job was, and in which bay, until it was changed."""

    sides: tuple[str, ...]
    bay: str
    until: datetime


class Attached(Struct, frozen=True, kw_only=True):
    """A file that belongs to the job, such as a photo or a printout. It stays where it is."""

    path: str
    """With forward slashes; relative to the shop's folder where it lies in it, otherwise as a whole."""
    sha256: str
    """Of its bytes when it was attached, in hex: tells later whether it is still the same."""
    size: int
    """Bytes."""
    at: datetime
    by: str
    what: str = ""
    """What it shows."""
    number: int = 0


class Ended(Struct, frozen=True, kw_only=True):
    """The job is over; why is said where it ends without a go or without its result."""

    at: datetime
    by: str
    why: str = ""
    number: int = 0


class Job(Struct, frozen=True, kw_only=True):
    """One car, one visit: everything answered so far, corrections already taken out."""

    job: str
    sheet: str
    bay: str
    sides: tuple[str, ...]
    opened: datetime
    by: str
    plate: str = ""
    readings: tuple[Reading, ...] = ()
    fixes: tuple[Fix, ...] = ()
    events: tuple[Event, ...] = ()
    waivers: tuple[Waiver, ...] = ()
    attached: tuple[Attached, ...] = ()
    ended: Ended | None = None
    lifted: tuple[Lifted, ...] = ()
    earlier: tuple[Setting, ...] = ()
    """What sides and bay were before, the oldest first."""

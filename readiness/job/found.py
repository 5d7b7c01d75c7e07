"""What was found on one visit of one car: readings, fixes, events, waivers."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Literal

from msgspec import Meta, Struct

from readiness.job.words import Evidence

Value = float | str
Line = Annotated[int, Meta(ge=1)]
"""Number of a line in the job's journal."""


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


class Drawn(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A reading that is to be taken again."""

    entry: Line
    """Its line; of a series the last one."""
    what: str
    """What was asked, in words: 'Tyres, left rear pressure'."""
    weight: Annotated[float, Meta(gt=0)]
    why: tuple[str, ...] = ()
    """What made it likelier than others, as clauses."""


class SpotCheck(Struct, frozen=True, kw_only=True):
    """A sample of the readings, drawn to be taken again by somebody who does not see the first ones."""

    at: datetime
    by: str
    seed: Annotated[int, Meta(ge=0, lt=2**32)]
    """Of the draw, so that it can be repeated."""
    of: int
    """How many readings could have been drawn."""
    drawn: tuple[Drawn, ...]
    """In the order in which they were drawn."""
    number: int = 0


Agreement = Literal["agrees", "differs", "not compared"]


class Compared(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Two measurements of one thing in one unit, each with its expanded uncertainty U = 2 u."""

    first: float
    first_u: float
    again: float
    again_u: float
    unit: str
    e_n: float
    how: str = ""
    """Under which circumstances both are compared, where it is not as they were read."""


class Beside(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What was read with it so that it can be compared: the air, the temperature of a tyre."""

    what: str
    value: Value
    unit: str = ""
    text: str = ""
    instrument: str = ""


class Again(Struct, frozen=True, kw_only=True):
    """A reading of a spot check that was taken again, blind; or why it was not."""

    spot_check: Line
    """The line that drew it."""
    entry: Line
    """The line of the reading that it checks."""
    at: datetime
    by: str
    what: str
    outcome: Agreement
    why: str = ""
    """Why it was not compared, or what takes from the comparison; sentences."""
    first_said: str = ""
    """What was recorded, and what was found now, as both are read."""
    said: str = ""
    value: Value | None = None
    unit: str = ""
    text: str = ""
    """As it was typed."""
    evidence: Evidence = "measured"
    instrument: str = ""
    first_instrument: str = ""
    note: str = ""
    compared: Compared | None = None
    beside: tuple[Beside, ...] = ()
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
    spot_checks: tuple[SpotCheck, ...] = ()
    again: tuple[Again, ...] = ()
    """Readings of spot checks that were taken again, the oldest first."""

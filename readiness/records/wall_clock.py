"""The times of a job as the clock on the wall shows them here, wherever they were entered.

A journal keeps each time with the zone of the machine that wrote it. Sentences name times of a job beside the time at
which somebody reads them, so both have to be of one clock.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from typing import TypeVar

from msgspec.structs import replace

from readiness.job import Again, Attached, Ended, Event, Fix, Job, Reading, SpotCheck, Waiver

Entry = TypeVar("Entry", Reading, Fix, Event, Waiver, Attached, Ended, SpotCheck, Again)


def on_the_wall(job: Job) -> Job:
    """The same job, its times in this machine's zone, summer time as it was then."""
    return replace(
        job,
        opened=_here(job.opened),
        readings=_all(job.readings),
        fixes=_all(job.fixes),
        events=_all(job.events),
        waivers=_all(job.waivers),
        attached=_all(job.attached),
        spot_checks=_all(job.spot_checks),
        again=_all(job.again),
        lifted=tuple(replace(e, waiver=_shown(e.waiver), at=_here(e.at)) for e in job.lifted),
        earlier=tuple(replace(s, until=_here(s.until)) for s in job.earlier),
        ended=None if job.ended is None else _shown(job.ended),
    )


def _all(entries: Iterable[Entry]) -> tuple[Entry, ...]:
    return tuple(map(_shown, entries))


def _shown(entry: Entry) -> Entry:
    return replace(entry, at=_here(entry.at))


def _here(at: datetime) -> datetime:
    try:
        return at.astimezone()
    except (OverflowError, ValueError, OSError):  # a year that no clock of this machine has
        return at

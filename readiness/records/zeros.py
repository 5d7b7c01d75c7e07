"""What the pairs of a job's level readings show of each level's zero error.

A level that is read, turned end for end and read again shows its slope with the other sign and its zero error with
the same: half the sum is the zero error (design: slope (r1 - r2) / 2, zero (r1 + r2) / 2).
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator
from datetime import datetime

from msgspec import Struct

from readiness.job import Event, Fix, Job, Reading
from readiness.records import lines
from readiness.records.replay import JobReplay

FIRST, TURNED = ".1", ".2"
UNIT = "mm/m"
MARK = re.compile(rb'"question":"[a-z]+\.[^"]*\.2"')
"""A journal without such a line holds no pair. Quotes inside a text are escaped, so this can only be the field itself."""


class ZeroSeen(Struct, frozen=True, array_like=True):
    """The zero error of one level in one job: the mean of so many pairs, in mm/m."""

    level: str
    at: datetime
    """When the last of the pairs was read."""
    zero: float
    pairs: int


def zeros_in(data: bytes) -> tuple[ZeroSeen, ...]:
    """What a journal's lines say; nothing where they do not hold together."""
    if not MARK.search(data):
        return ()
    replay = JobReplay()
    try:
        for entry in lines.decode(data).entries:
            replay.take(entry)
    except lines.LineFault:
        return ()
    return zeros_of(replay.job)


def zeros_of(job: Job) -> tuple[ZeroSeen, ...]:
    """One for each level of which a reading was turned, in the order of their ids."""
    found: dict[str, list[tuple[datetime, float]]] = {}
    for first, turned in _pairs(job):
        zero = (float(first.value) + float(turned.value)) / 2.0
        if math.isfinite(zero):
            found.setdefault(first.instrument, []).append((max(first.at, turned.at), zero))
    return tuple(
        ZeroSeen(level, max(at for at, _ in seen), math.fsum(z for _, z in seen) / len(seen), len(seen))
        for level, seen in sorted(found.items())
    )


def _pairs(job: Job) -> Iterator[tuple[Reading, Reading]]:
    """The last reading of each run with the last one turned, of one level, where nothing happened in between."""
    last = {(r.check, r.side, r.question): r for r in job.readings if _of_a_level(r)}
    for (check, side, question), turned in last.items():
        first = last.get((check, side, question.removesuffix(TURNED) + FIRST))
        if (
            question.endswith(TURNED) and first is not None and first.instrument == turned.instrument
            and not _something_between(first, turned, (*job.fixes, *job.events))
        ):  # fmt: skip
            yield first, turned


def _of_a_level(reading: Reading) -> bool:
    ends = reading.question.endswith((FIRST, TURNED))
    return ends and bool(reading.instrument) and reading.unit == UNIT and not isinstance(reading.value, str)


def _something_between(first: Reading, turned: Reading, happened: Iterable[Fix | Event]) -> bool:
    """What was put right or moved between the two may have changed the slope, which would look like a zero error."""
    early, late = sorted((first.at, turned.at))
    return any(early < h.at <= late for h in happened)

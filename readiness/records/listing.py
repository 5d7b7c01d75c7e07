"""The jobs of a shop at a glance, without checking every journal from end to end."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from datetime import datetime
from hashlib import sha256
from pathlib import Path

import msgspec
from msgspec import Struct

from readiness.checklist.mistakes import shortened
from readiness.job import YEARS
from readiness.records import lines
from readiness.records.chained import MOST_BYTES
from readiness.records.lines import LineFault
from readiness.records.replay import harmless
from readiness.records.zeros import ZeroSeen, zeros_in

_BY = re.compile(rb'"by":("(?:[^"\\]|\\.)*")')
"""Who entered a line. Quotes inside a text are escaped, so this can only be the field itself."""


class JobLine(Struct, frozen=True):
    """One job in a list. `problem` says why it cannot be opened; the fields after it are then bare."""

    id: str
    path: Path
    problem: str = ""
    sheet: str = ""
    bay: str = ""
    sides: tuple[str, ...] = ()
    plate: str = ""
    opened: datetime | None = None
    last: datetime | None = None
    """Time of the last entry."""
    by: str = ""
    """Who opened it."""
    people: tuple[str, ...] = ()
    """Everybody who entered something, in the order in which they first did."""
    ended: bool = False
    before: tuple[str, ...] = ()
    """Other bays in which it was before."""
    zeros: tuple[ZeroSeen, ...] = ()
    """What its level readings show of each level."""


class _Opened(Struct):
    sheet: str
    bay: str
    sides: tuple[str, ...]
    by: str = ""
    plate: str = ""


class _Changed(Struct):
    bay: str
    sides: tuple[str, ...]


class _Withdrawn(Struct):
    entry: int


def job_line(path: Path) -> JobLine:
    """What a list shows of a journal: its first and last line, the changes of sides or bay, people, end."""
    return glance(path)[0]


def glance(path: Path) -> tuple[JobLine, bytes]:
    """The same with the digest of the whole file; that is empty where it could not be read."""
    try:
        if not path.is_file():  # a pipe of that name would be waited for
            return JobLine(path.stem, path, "it is no file"), b""
        if path.stat().st_size > MOST_BYTES:
            return JobLine(path.stem, path, f"it is larger than {MOST_BYTES} bytes, so it is no journal"), b""
        data = path.read_bytes()
    except OSError as fault:
        why = (fault.strerror or type(fault).__name__).lower()
        return JobLine(path.stem, path, f"it cannot be read: {why}"), b""
    try:
        line = _said(path, data)
    except LineFault as fault:
        line = JobLine(path.stem, path, f"line {fault.number}: {fault.what}")
    except msgspec.MsgspecError as fault:
        line = JobLine(path.stem, path, f"its fields do not fit: {shortened(str(fault), 200)}")
    return line, sha256(data).digest()


def newest_first(found: Iterable[JobLine]) -> list[JobLine]:
    """The latest touched first; those that cannot be read last, by number."""
    return sorted(found, key=lambda j: (-j.last.timestamp() if j.last else 0.0, j.id))


def _said(path: Path, data: bytes) -> JobLine:
    head = lines.decode_one(data.partition(b"\n")[0], 1, "")
    opened = msgspec.convert(harmless(head.body), _Opened)
    whole = _whole(data)
    settings: list[_Opened | _Changed] = [opened, *_changes(whole)]
    last = _last_time(whole) or head.at
    if last.tzinfo is None or last.year not in YEARS:
        raise LineFault(1, f"its last time, {last.isoformat()}, is none of ours")
    return JobLine(
        path.stem, path, "", opened.sheet, settings[-1].bay, settings[-1].sides, opened.plate, head.at, last,
        opened.by, _people(whole), _ended(whole),
        tuple(dict.fromkeys(s.bay for s in settings if s.bay != settings[-1].bay)), zeros_in(whole),
    )  # fmt: skip


def _whole(data: bytes) -> bytes:
    """Without a last line that was cut off; one that lacks nothing but its end counts."""
    end = data.rfind(b"\n") + 1
    tail = data[end:]
    return data + b"\n" if tail and lines.glance(tail) is not None else data[:end]


def _changes(data: bytes) -> list[_Changed]:
    return [msgspec.convert(harmless(fields), _Changed) for _, fields in _of_kind(data, "changed")]


def _last_time(whole: bytes) -> datetime | None:
    """Of the last line that says one: a line that was cut off may have got its end from an editor."""
    for line in reversed(whole.rsplit(b"\n", 3)[1:]):
        fields = lines.glance(line)
        if fields is not None and "at" in fields:
            return msgspec.convert(fields["at"], datetime)
    return None


def _people(whole: bytes) -> tuple[str, ...]:
    names = (msgspec.json.decode(name, type=str) for name in dict.fromkeys(_BY.findall(whole)))
    return tuple(dict.fromkeys(name for found in names if (name := harmless(found).strip())))


def _ended(whole: bytes) -> bool:
    """Whether the job's end was kept and not taken back."""
    ends = {number for number, _ in _of_kind(whole, "ended")}
    if not ends:
        return False
    back = {msgspec.convert(fields, _Withdrawn).entry for _, fields in _of_kind(whole, "withdrawn")}
    return bool(ends - back)


def _of_kind(whole: bytes, kind: str) -> Iterator[tuple[int, dict[str, object]]]:
    """The lines of one kind with their numbers."""
    mark = (
        f'"kind":"{kind}"'.encode()
    )  # quotes inside a text are escaped, so this can only be the field itself
    at = whole.find(mark)
    while at >= 0:
        start, end = whole.rfind(b"\n", 0, at) + 1, whole.find(b"\n", at)
        fields = lines.glance(whole[start:end])
        if fields is not None:
            yield whole.count(b"\n", 0, start) + 1, fields
        at = whole.find(mark, end)

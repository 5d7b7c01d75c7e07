"""The jobs of a shop at a glance, without reading and checking every journal."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import msgspec
from msgspec import Struct

from readiness.records import lines
from readiness.records.lines import LineFault
from readiness.records.replay import harmless


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


class _Opened(Struct):
    sheet: str
    bay: str
    sides: tuple[str, ...]
    plate: str = ""


class _Changed(Struct):
    bay: str
    sides: tuple[str, ...]


def job_line(path: Path) -> JobLine:
    """What a list shows of a journal: first line, last line, and the last change of sides or bay."""
    try:
        data = path.read_bytes()
        head = lines.decode_one(data.partition(b"\n")[0], 1, "")
        opened = msgspec.convert(harmless(head.body), _Opened)
        changed = _last_change(data)
        return JobLine(
            path.stem, path, "", opened.sheet, changed.bay if changed else opened.bay,
            changed.sides if changed else opened.sides, opened.plate, head.at, _last_time(data) or head.at,
        )  # fmt: skip
    except LineFault as fault:
        return JobLine(path.stem, path, f"line {fault.number}: {fault.what}")
    except (OSError, msgspec.MsgspecError) as fault:
        return JobLine(path.stem, path, f"it cannot be read: {fault}")


def _last_change(data: bytes) -> _Changed | None:
    # quotes inside a text are escaped, so this can only be the field itself
    at = data.rfind(b'"kind":"changed"')
    if at < 0:
        return None
    line = data[data.rfind(b"\n", 0, at) + 1 :].partition(b"\n")[0]
    fields = lines.glance(line)
    return None if fields is None else msgspec.convert(harmless(fields), _Changed)


def _last_time(data: bytes) -> datetime | None:
    complete = data[: data.rfind(b"\n") + 1].rstrip(b"\n")
    fields = lines.glance(complete[complete.rfind(b"\n") + 1 :])
    return None if fields is None or "at" not in fields else msgspec.convert(fields["at"], datetime)

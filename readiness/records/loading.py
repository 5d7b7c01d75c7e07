"""A journal's file -> its entries and what they say, with everything checked that can be checked in it alone."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any, NamedTuple

from readiness.records import lines
from readiness.records.lines import LineFault, Lines
from readiness.records.on_disk import JournalError, disk
from readiness.records.replay import OtherJournal

MOST_BYTES = 5_000_000
"""Of a journal: some 15,000 lines. A larger file could take much memory and time to read."""
_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9_.-]{0,59}")
_WINDOWS_DEVICES = re.compile(r"(con|prn|aux|nul|com\d|lpt\d)(\..*)?", re.IGNORECASE)


class Loaded(NamedTuple):
    """A journal that was read."""

    data: bytes
    """The file as it stands."""
    lines: Lines
    replay: Any
    """What the entries say."""
    odd: str
    """What is odd about its last line, a sentence; empty where nothing is."""


def load(path: Path, replay: Any, what: str) -> Loaded:
    """Read a journal into a new replay; `what` it is of, in words. Raises JournalError, which names the line."""
    with disk(path, "read"):
        if path.stat().st_size > MOST_BYTES:
            raise JournalError(f"{path} is larger than {MOST_BYTES} bytes, so it is no journal.")
        data = path.read_bytes()
    try:
        found = lines.decode(data)
        for entry in found.entries:
            replay.take(entry)
    except OtherJournal as fault:
        raise JournalError(f"{path} cannot be opened here: {fault.what}.") from None
    except LineFault as fault:
        raise _not_trusted(path, fault, what) from None
    return Loaded(data, found, replay, f"{path.name}, line {found.odd}" if found.odd else "")


def _not_trusted(path: Path, fault: LineFault, what: str) -> JournalError:
    error = JournalError(
        f"{path}, line {fault.number}, cannot be trusted: {fault.what}. "
        f"Nothing of it was changed; restore the file from a copy or begin a new {what}."
    )
    error.line = fault.number
    return error


def check_name(name: str, what: str = "A job's number", example: str = "HB-0417") -> None:
    """Raises JournalError for a name that cannot be that of a file on every system."""
    if not _NAME.fullmatch(name) or name.endswith(".") or _WINDOWS_DEVICES.fullmatch(name):
        raise JournalError(
            f"{what} is the name of its file: up to 60 letters, digits, '-', '_' and '.', "
            f"beginning with a letter or digit, such as {example}."
        )

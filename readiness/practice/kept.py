"""What people practised, kept in the shop: a file a person, `practice/NAME.jsonl`, a line an exercise.

The lines are those of a journal (`records.lines`), and they are written as those are (`records.on_disk`). But each
stands for itself: a damaged one is named and left out, and takes no other with it. Whose they are stands in the
lines; the file's name only keeps people apart on every system.
"""

from __future__ import annotations

import re
import time
import unicodedata
from collections import defaultdict
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from datetime import datetime
from hashlib import sha256
from pathlib import Path
from typing import Final, NamedTuple

import msgspec
from msgspec.structs import replace

from readiness.practice.finished import Finished
from readiness.records import lines
from readiness.records.chained import MOST_BYTES, SUFFIX, HeldElsewhere, JournalError, disk
from readiness.records.holder import LONGEST, Hold
from readiness.records.lines import Entry, LineFault
from readiness.records.on_disk import OnDisk, set_aside, write_whole
from readiness.records.plain_file import open_plain
from readiness.records.replay import harmless

FOLDER: Final = "practice"
KIND: Final = "practised"
PATIENCE = 5.0
"""Seconds to wait for another program, which holds the file no longer than it takes to add a line."""
_AGAIN = 0.02


class Everybody(NamedTuple):
    """What was kept in a shop."""

    people: dict[str, tuple[Finished, ...]]
    """By name, each in the order of their times."""
    notes: tuple[str, ...]
    """What could not be read or was odd, a sentence each, with file and line."""


def plain_name(person: str) -> str:
    """A name on one line, written one way. Raises ValueError for none and for one too long."""
    name = " ".join(str(harmless(unicodedata.normalize("NFC", person))).split())
    if not name:
        raise ValueError("a name is needed")
    if len(name) > LONGEST:
        raise ValueError(f"a name has at most {LONGEST} characters, this one has {len(name)}")
    return name


def file_of(shop: Path, person: str) -> Path:
    """The file of a person: letters that every system knows, and digits that no other name has.

    Raises ValueError as `plain_name` does.
    """
    name = plain_name(person)
    letters = unicodedata.normalize("NFKD", name.casefold()).encode("ascii", "ignore").decode()
    readable = re.sub(r"[^a-z0-9]+", "-", letters).strip("-")[:40].strip("-")
    return shop / FOLDER / f"{readable or 'person'}-{sha256(name.encode()).hexdigest()[:10]}{SUFFIX}"


def keep(shop: Path, result: Finished) -> tuple[str, ...]:
    """Add an exercise to its person's file; it is on the disk when this returns. What was odd, a sentence each.

    Raises JournalError where it cannot be kept, and ValueError for a name that is none.
    """
    result = replace(result, by=plain_name(result.by), at=_with_zone(result))
    path = file_of(shop, result.by)
    with disk(path, "created"):
        path.parent.mkdir(parents=True, exist_ok=True)
    with _held(path, result) as hold:
        return (*hold.notices, *_add(path, result, hold))


def everybody(shop: Path) -> Everybody:
    """All that was kept in a shop. What cannot be read is told and left out."""
    found: dict[str, list[Finished]] = defaultdict(list)
    notes: list[str] = []
    try:
        files = sorted(p for p in (shop / FOLDER).iterdir() if p.name.endswith(SUFFIX))
    except FileNotFoundError:
        files = []
    except OSError as fault:
        files, notes = [], [f"{shop / FOLDER} cannot be read: {_why(fault)}."]
    for path in files:
        for read in _read(path):
            if isinstance(read, Finished):
                found[read.by].append(read)
            else:
                notes.append(read)
    in_order = sorted(found, key=lambda name: (name.casefold(), name))
    return Everybody({n: tuple(sorted(found[n], key=lambda r: r.at)) for n in in_order}, tuple(notes))


# --- reading -------------------------------------------------------------------------------------


def _read(path: Path) -> Iterator[Finished | str]:
    """Each exercise of a file, or a sentence for what is none."""
    try:
        data = _bytes(path)
    except OSError as fault:
        yield f"{path} cannot be read: {_why(fault)}."
        return
    whole, tail = _cut(data)
    before: bytes | None = b""
    for number, line in enumerate(whole, 1):
        try:
            yield _result(number, line)
        except LineFault as fault:
            yield f"{path}:{number}: this exercise does not count: {fault.what}."
            before = None
            continue
        if before is not None and _follows(line) != (lines.digest(before) if before else ""):
            yield f"{path}:{number}: lines before this one are missing or were put in; it counts all the same."
        before = line
    if tail:
        yield f"{path}:{len(whole) + 1}: the last line was cut off while it was written, and does not count."


def _bytes(path: Path) -> bytes:
    stream, found = open_plain(path)
    with stream:
        if found.st_size > MOST_BYTES:
            raise OSError(0, f"it is larger than {MOST_BYTES} bytes")
        return stream.read(MOST_BYTES + 1)


def _cut(data: bytes) -> tuple[list[bytes], bytes]:
    """The whole lines, and what follows them: a line that lacks nothing but its end is whole."""
    *whole, tail = data.split(b"\n")
    with suppress(LineFault):
        if tail:
            _result(len(whole) + 1, tail)
            return [*whole, tail], b""
    return whole, tail


def _result(number: int, line: bytes) -> Finished:
    """The exercise of a line, trusted by its own sum. Raises LineFault."""
    seen = lines.glance(line) or {}
    n, prev = seen.get("n"), seen.get("prev")
    entry = lines.decode_one(line, n if isinstance(n, int) else number, prev if isinstance(prev, str) else "")
    if entry.kind != KIND:
        raise LineFault(number, "it is none of practice, or a newer program wrote it")
    try:
        return msgspec.convert(harmless({**entry.body, "at": entry.at}), Finished)
    except msgspec.ValidationError as fault:
        raise LineFault(number, f"{str(fault)[:120]}, as of a newer program") from None


def _follows(line: bytes) -> str:
    """The digest that a sound line says of the line before it."""
    return str((lines.glance(line) or {}).get("prev"))


# --- writing -------------------------------------------------------------------------------------


@contextmanager
def _held(path: Path, result: Finished) -> Iterator[Hold]:
    """The file for oneself, after others that add to it have done so. Raises JournalError."""
    until = time.monotonic() + PATIENCE
    while True:
        try:
            with disk(path, "opened for writing"):
                hold = Hold(path, result.by, result.at)
            break
        except HeldElsewhere:
            if time.monotonic() > until:
                raise
            time.sleep(_AGAIN)
    try:
        yield hold
    finally:
        hold.release()


def _add(path: Path, result: Finished, hold: Hold) -> tuple[str, ...]:
    with disk(path, "read"):
        data = _bytes(path) if path.exists() else b""
    whole, tail = _cut(data)
    line = _line(path, whole, result)
    if len(data) + len(line) > MOST_BYTES:
        raise JournalError(f"{path} is full: move it away and keep it, then practise on.")
    with disk(path, "written"):
        if not data:
            write_whole(path, line)
            return ()
        file = OnDisk(path, data[: len(data) - len(tail)], hold)
        try:
            notes = _tidied(file, data, tail)
            file.write(line)
        finally:
            file.close()
    return notes


def _tidied(file: OnDisk, data: bytes, tail: bytes) -> tuple[str, ...]:
    """Leave the file with a line end: a torn line is set aside, a missing end is put there."""
    if tail:
        aside = set_aside(file.path, tail)
        file.cut(tail)
        return (
            f"{file.path.name}: an exercise before this one was cut off while it was written; what is left of it is kept in {aside.name}.",
        )
    if not data.endswith(b"\n"):
        file.write(b"\n")
    return ()


def _line(path: Path, whole: list[bytes], result: Finished) -> bytes:
    entry = Entry(len(whole) + 1, result.at, KIND, lines.body_of(result))
    line = lines.encode(entry, lines.digest(whole[-1]) if whole else "")
    try:
        _result(entry.n, line.rstrip(b"\n"))  # what cannot be read again is not kept
    except LineFault as fault:
        raise JournalError(f"This exercise cannot be kept in {path.name}: {fault.what}.") from None
    return line


def _with_zone(result: Finished) -> datetime:
    return result.at if result.at.tzinfo else result.at.astimezone()


def _why(fault: OSError) -> str:
    return (fault.strerror or type(fault).__name__).lower()

"""The lines of a journal: JSON, one entry a line, each chained to the line before it.

An entry is `{"n":…,"at":…,"kind":…, …,"prev":…,"sum":…}`. `prev` is the SHA-256 of the whole
previous line without its line end (empty on the first), `sum` the first 16 digits of the SHA-256 of
this line up to `,"sum"`. The chain finds a change anywhere before the last line, the sum also there.
Times have a zone and never go backwards.
"""

from __future__ import annotations

from datetime import datetime
from functools import cache
from hashlib import sha256
from typing import Any

import msgspec
from msgspec import Struct
from msgspec.structs import fields

from readiness import __version__
from readiness.checklist.mistakes import shortened
from readiness.job import YEARS

FORMAT = 2
"""2 knows attached files, signatures, the end of a job and spot checks; files of format 1 are read as they are."""
RESERVED = ("n", "at", "kind", "prev", "sum", "format", "program")
LONGEST = 200_000
"""Bytes of a line; a reading has some 300."""
_SUM = b',"sum":"'
_SUM_DIGITS = 16
_END = b'"}'


class LineFault(Exception):
    """A line is not what was once written; carries its number and what is wrong with it."""

    def __init__(self, number: int, what: str) -> None:
        super().__init__(what)
        self.number = number
        self.what = what


class Entry(Struct, frozen=True):
    """One line, read. `body` holds what belongs to its kind."""

    n: int
    at: datetime
    kind: str
    body: dict[str, Any]


class Lines(Struct, frozen=True):
    """A whole journal, read. `size` is the length of its good part in bytes; `torn` what follows it."""

    entries: tuple[Entry, ...]
    last: str
    """Digest of the last good line."""
    size: int
    torn: bytes
    ended: bool = True
    """Whether the last good line has its line end."""

    @property
    def odd(self) -> str:
        """What is odd about the last line, which is named first; empty where nothing is."""
        if self.torn:
            return f"{len(self.entries) + 1}, was cut off while it was written."
        return "" if self.ended else f"{len(self.entries)}, is whole but has no line end."


class Head(Struct, frozen=True):
    """The hash of a journal's last line, to which all lines before it are chained, and how many lines there are."""

    digest: str
    """SHA-256 in hex."""
    lines: int


@cache
def _fields_of(structure: Any) -> tuple[tuple[str, bool], ...]:
    """Names of a structure's fields, and whether each is written when empty."""
    return tuple((f.name, f.required) for f in fields(structure) if f.name not in ("at", "number"))


def body_of(what: Struct) -> dict[str, Any]:
    """What a line holds of something to be kept, beside its time and number, which every line has."""
    structure: Any = type(what)
    given = ((name, required, getattr(what, name)) for name, required in _fields_of(structure))
    return {name: value for name, required, value in given if required or value != ""}


def digest(line: bytes) -> str:
    """SHA-256 of a line, without its line end, in hex."""
    return sha256(line.rstrip(b"\n")).hexdigest()


def encode(entry: Entry, prev: str) -> bytes:
    """An entry as a line with its line end."""
    head = {"n": entry.n, "at": entry.at, "kind": entry.kind}
    if entry.n == 1:
        head |= {"format": FORMAT, "program": __version__}
    plain = msgspec.json.encode({**head, **entry.body, "prev": prev})[:-1]
    return plain + _SUM + sha256(plain).hexdigest()[:_SUM_DIGITS].encode() + _END + b"\n"


def decode(data: bytes) -> Lines:
    """All entries of a journal's bytes, with the chain checked.

    What follows the last line end is a write that was cut off, if it can be one, and comes back as `torn`; a line
    that lacks nothing but its end counts. Raises LineFault for every other departure from what was written.
    """
    *lines, tail = data.split(b"\n")
    whole = _SUM in tail and len(tail.rpartition(_SUM)[2]) >= _SUM_DIGITS + len(_END)
    if whole:
        lines.append(tail)
    entries: list[Entry] = []
    prev = ""
    for number, line in enumerate(lines, 1):
        entry, prev = _checked(number, line, prev)
        if entries and entry.at < entries[-1].at:
            raise LineFault(number, "its time is before that of the line before it")
        entries.append(entry)
    if not entries:
        raise LineFault(1, "it holds no complete first line")
    torn = b"" if whole else tail
    if not _can_be_torn(torn, len(lines) + 1):
        raise LineFault(
            len(lines) + 1, "it is neither whole nor the beginning of a line as the program writes it"
        )
    return Lines(tuple(entries), prev, len(data) - len(torn), torn, not whole)


def decode_one(line: bytes, number: int, prev: str) -> Entry:
    """One entry, given its number and the digest of the line before it. Raises LineFault."""
    return _checked(number, line.rstrip(b"\n"), prev)[0]


def _can_be_torn(tail: bytes, number: int) -> bool:
    """Whether this can be the beginning of line `number`; some systems fill what is missing with zero bytes."""
    written, begins = tail.rstrip(b"\0"), b'{"n":%d,"at":"' % number
    return written[: len(begins)] == begins[: len(written)]


def glance(line: bytes) -> dict[str, Any] | None:
    """The fields of a line without any check, for listings; None if it is no JSON."""
    return _fields(line)


def _fields(line: bytes) -> dict[str, Any] | None:
    if len(line) > LONGEST:
        return None
    try:
        fields = msgspec.json.decode(line)
    except (msgspec.DecodeError, UnicodeDecodeError, RecursionError):
        return None
    return fields if isinstance(fields, dict) else None


def _checked(number: int, line: bytes, prev: str) -> tuple[Entry, str]:
    """One line with its digest, for the next."""
    if len(line) > LONGEST:
        raise LineFault(number, f"it is longer than any entry ({LONGEST} bytes)")
    fields = _fields(line)
    if fields is None:
        raise LineFault(number, "it is no JSON, so it was changed after it was written")
    if number == 1:
        _check_format(fields)
    plain, found, rest = line.rpartition(_SUM)
    hashed = sha256(plain)
    if not found or rest != hashed.hexdigest()[:_SUM_DIGITS].encode() + _END:
        raise LineFault(number, "it does not match its own sum, so it was changed after it was written")
    if fields.get("prev") != prev:
        raise LineFault(number, "it does not follow the line before it, so one was changed or is missing")
    if fields.get("n") != number:
        raise LineFault(number, f"it is numbered {shortened(str(fields.get('n')), 40)}")
    if fields.get("kind") == "signed" and fields.get("head") != prev:
        raise LineFault(number, "it holds a signature of something else than the lines before it")
    try:
        at = msgspec.convert(fields["at"], datetime)
        kind = msgspec.convert(fields["kind"], str)
    except (KeyError, msgspec.ValidationError):
        raise LineFault(number, "it has no time or no kind") from None
    if at.tzinfo is None:
        raise LineFault(number, "its time has no zone")
    if at.year not in YEARS:
        raise LineFault(number, f"its time, {at.isoformat()}, is none of ours: look at the clock")
    hashed.update(_SUM + rest)
    body = {k: v for k, v in fields.items() if k not in RESERVED}
    return Entry(number, at, kind, body), hashed.hexdigest()


def _check_format(fields: dict[str, Any]) -> None:
    form = fields.get("format")
    if not isinstance(form, int):
        raise LineFault(1, "it does not say its format, so this is no journal")
    if form > FORMAT:
        raise LineFault(
            1,
            f"it has format {shortened(str(form), 40)}, written by a newer program; this one reads format {FORMAT}: update it",
        )

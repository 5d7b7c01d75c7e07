"""The lines of a journal: JSON, one entry a line, each chained to the line before it.

An entry is `{"n":…,"at":…,"kind":…, …,"prev":…,"sum":…}`. `prev` is the SHA-256 of the whole
previous line without its line end (empty on the first), `sum` the first 16 digits of the SHA-256 of
this line up to `,"sum"`. The chain finds a change anywhere before the last line, the sum also there.
"""

from __future__ import annotations

from datetime import datetime
from hashlib import sha256
from typing import Any

import msgspec
from msgspec import Struct

from readiness import __version__

FORMAT = 2
"""2 knows attached files, signatures and the end of a job; files of format 1 are read as they are."""
RESERVED = ("n", "at", "kind", "prev", "sum", "format", "program")
_SUM = b',"sum":"'
_SUM_DIGITS = 16


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


def digest(line: bytes) -> str:
    """SHA-256 of a line, without its line end, in hex."""
    return sha256(line.rstrip(b"\n")).hexdigest()


def encode(entry: Entry, prev: str) -> bytes:
    """An entry as a line with its line end."""
    head = {"n": entry.n, "at": entry.at, "kind": entry.kind}
    if entry.n == 1:
        head |= {"format": FORMAT, "program": __version__}
    plain = msgspec.json.encode({**head, **entry.body, "prev": prev})[:-1]
    return plain + _SUM + _sum(plain) + b'"}\n'


def decode(data: bytes) -> Lines:
    """All entries of a journal's bytes, with the chain checked.

    A last line without its line end, or that is no JSON, is a write that was cut off: it comes back
    as `torn`. Raises LineFault for every other departure from what was written.
    """
    lines = data.split(b"\n")
    tail = lines.pop()
    entries: list[Entry] = []
    prev, size = "", 0
    for number, line in enumerate(lines, 1):
        fields = _fields(line)
        if fields is None and number == len(lines) and not tail and number > 1:
            return Lines(tuple(entries), prev, size, data[size:])
        entries.append(_checked(number, line, fields, prev))
        prev, size = digest(line), size + len(line) + 1
    if not entries:
        raise LineFault(1, "it holds no complete first line")
    return Lines(tuple(entries), prev, size, tail)


def decode_one(line: bytes, number: int, prev: str) -> Entry:
    """One entry, given its number and the digest of the line before it. Raises LineFault."""
    plain = line.rstrip(b"\n")
    return _checked(number, plain, _fields(plain), prev)


def glance(line: bytes) -> dict[str, Any] | None:
    """The fields of a line without any check, for listings; None if it is no JSON."""
    return _fields(line)


def _fields(line: bytes) -> dict[str, Any] | None:
    try:
        fields = msgspec.json.decode(line)
    except (msgspec.DecodeError, UnicodeDecodeError, RecursionError):
        return None
    return fields if isinstance(fields, dict) else None


def _checked(number: int, line: bytes, fields: dict[str, Any] | None, prev: str) -> Entry:
    if fields is None:
        raise LineFault(number, "it is no JSON")
    if number == 1:
        _check_format(fields)
    plain, found, rest = line.rpartition(_SUM)
    if not found or rest != _sum(plain) + b'"}':
        raise LineFault(number, "it does not match its own sum, so it was changed after it was written")
    if fields.get("prev") != prev:
        raise LineFault(number, "it does not follow the line before it, so one was changed or is missing")
    if fields.get("n") != number:
        raise LineFault(number, f"it is numbered {fields.get('n')}")
    if fields.get("kind") == "signed" and fields.get("head") != prev:
        raise LineFault(number, "it holds a signature of something else than the lines before it")
    try:
        at = msgspec.convert(fields["at"], datetime)
        kind = msgspec.convert(fields["kind"], str)
    except (KeyError, msgspec.ValidationError):
        raise LineFault(number, "it has no time or no kind") from None
    return Entry(number, at, kind, {k: v for k, v in fields.items() if k not in RESERVED})


def _check_format(fields: dict[str, Any]) -> None:
    form = fields.get("format")
    if not isinstance(form, int):
        raise LineFault(1, "it does not say its format, so this is no journal")
    if form > FORMAT:
        raise LineFault(
            1, f"it has format {form}, written by a newer program; this one reads format {FORMAT}: update it"
        )


def _sum(plain: bytes) -> bytes:
    return sha256(plain).hexdigest()[:_SUM_DIGITS].encode()

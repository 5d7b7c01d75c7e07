"""A quick look through a job's journal, which sees that it is sound, or doubts.

What it takes as sound, `Journal.open` takes as sound too (tests/records/test_verify.py). It knows the lines that the program
writes and doubts all others, right or wrong. Lines are read into structures at once, and each is hashed once.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from functools import cache
from hashlib import sha256
from typing import Any, BinaryIO, Union

import msgspec
from msgspec import Struct, defstruct
from msgspec.structs import fields

from readiness.job import Attached, System
from readiness.records.lines import FORMAT, LONGEST, Entry, LineFault
from readiness.records.loading import MOST_BYTES
from readiness.records.replay import JobReplay, Signed, harmless
from readiness.units.names import KINDS

_END = len(',"sum":"0123456789abcdef"}\n')


class Seen(Struct, frozen=True):
    """A sound journal of a job."""

    job: str
    lines: int
    head: str
    """SHA-256 of the last line, in hex."""
    last_at: datetime
    attached: tuple[Attached, ...]
    """Those that were not withdrawn."""
    signatures: tuple[Signed, ...]


def quick_look(stream: BinaryIO) -> Seen | None:
    """What a sound journal comes to; None where there is the least doubt. Raises OSError."""
    try:
        return _look(stream)
    except (msgspec.MsgspecError, UnicodeDecodeError, RecursionError, LineFault):
        return None


def _look(stream: BinaryIO) -> Seen | None:
    decode_first, decode, reading = _decoders()
    rest, first, last = _Rest(), None, None
    number, prev, size = 0, "", 0
    while line := stream.readline(LONGEST + 1):
        number, size = number + 1, size + len(line)
        hashed, end = sha256(line[:-_END]), line[-_END:]
        if end != b',"sum":"%b"}\n' % hashed.hexdigest()[:16].encode() or size > MOST_BYTES:
            return None
        entry = decode(line) if first else decode_first(line)
        if entry.n != number or entry.prev != prev or entry.at.tzinfo is None:
            return None
        if last is None:
            first = entry
        elif entry.at < last:
            return None
        if type(entry) is reading:
            if entry.unit not in KINDS:
                return None
            rest.readings.add(number)
        elif not rest.take(entry):
            return None
        hashed.update(end[:-1])
        prev, last = hashed.hexdigest(), entry.at
    if first is None or last is None:
        return None
    return Seen(
        harmless(first.job), number, prev, last, tuple(rest.attached.values()), tuple(rest.signatures)
    )


class _Rest:
    """What the lines beside readings do to one another."""

    def __init__(self) -> None:
        self.readings: set[int] = set()
        """Numbers of those that were not withdrawn."""
        self.others: set[int] = set()
        """Numbers of other entries that can be withdrawn and were not."""
        self.attached: dict[int, Attached] = {}
        self.signatures: list[Signed] = []

    def take(self, line: Any) -> bool:
        """Whether it fits what came before it. May raise LineFault."""
        kind = line.__struct_config__.tag
        if kind in JobReplay.KEEPS:
            self.others.add(line.n)
            if kind == "attached":
                given = {name: harmless(getattr(line, name)) for name in ("path", "sha256", "by", "what")}
                self.attached[line.n] = Attached(**given, size=line.size, at=line.at, number=line.n)
            return True
        if kind == "withdrawn":
            self.attached.pop(line.entry, None)
            there = self.readings if line.entry in self.readings else self.others
            found = line.entry in there
            there.discard(line.entry)
            return found
        if kind == "note":
            return line.entry in self.readings
        if kind == "signed":
            self.signatures.append(_signed(line))
            return bool(line.head == line.prev)
        return kind != JobReplay.FIRST or bool(line.format <= FORMAT)


def _signed(line: Any) -> Signed:
    """As the replay takes it. Raises LineFault."""
    replay = JobReplay()
    body = {"by": line.by, "head": line.head, "signature": line.signature}
    replay.take(Entry(line.n, line.at, "signed", body))
    return replay.signatures[0]


@cache
def _decoders() -> tuple[Any, Any, Any]:
    """Of the first line, of all others, and the type of a reading, which most lines are."""
    by = ("by", str, "")
    job = [
        ("job", str),
        ("sheet", str),
        ("bay", str),
        ("sides", tuple[str, ...]),
        ("by", str),
        ("plate", str, ""),
    ]
    first = _line(JobReplay.FIRST, [("format", int), ("program", str, ""), *job])
    kept = {kind: _line(kind, _fields(structure)) for kind, structure in JobReplay.KEEPS.items()}
    others = [
        _line("withdrawn", [("entry", int), ("why", str, ""), by]),
        _line("note", [("entry", int), ("text", str), by]),
        _line("units", [("system", System), by]),
        _line("changed", [("sides", tuple[str, ...]), ("bay", str), by]),
        _line("signed", [("by", str), ("head", str), ("signature", str)]),
    ]
    later: Any = Union[(*kept.values(), *others)]  # of types that are made here
    return msgspec.json.Decoder(first).decode, msgspec.json.Decoder(later).decode, kept["reading"]


def _line(kind: str, more: Iterable[Any]) -> type[Struct]:
    """A line of this kind with nothing in it that is not known here."""
    head = [("n", int), ("at", datetime), ("prev", str), ("sum", str)]
    return defstruct(
        f"{kind}_line", [*head, *more], tag=kind, tag_field="kind", forbid_unknown_fields=True, kw_only=True, gc=False
    )  # fmt: skip


def _fields(structure: type[Struct]) -> list[Any]:
    """What an entry's structure holds beside the time and number that every line has."""
    wanted = (f for f in fields(structure) if f.name not in ("at", "number"))
    return [(f.name, f.type) if f.required else (f.name, f.type, f.default) for f in wanted]

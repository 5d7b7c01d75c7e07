"""A quick look through a job's journal, which sees that it is sound, or doubts.

What it takes as sound, `Journal.open` takes as sound too (tests/records/test_verify.py). It knows the lines that the program
writes and doubts all others, right or wrong. Lines are read into structures at once, and each is hashed once.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime
from functools import cache
from hashlib import sha256
from typing import Annotated, Any, Literal, Union

import msgspec
from msgspec import UNSET, Meta, Struct, UnsetType, defstruct
from msgspec.structs import fields

from readiness.job import YEARS, Again, Attached, Reading, SpotCheck, System
from readiness.records.lines import FORMAT, LONGEST, Entry, LineFault
from readiness.records.loading import MOST_BYTES
from readiness.records.replay import TIMED, Ground, Grounds, JobReplay, Signed, harmless
from readiness.units.names import KINDS

_Time = Annotated[datetime, Meta(tz=True)]
_END = len(',"sum":"0123456789abcdef"}')


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
    grounds: tuple[Grounds, ...]


def quick_look(data: bytes) -> Seen | None:
    """What a sound journal comes to; None where there is the least doubt."""
    *lines, after = data.split(b"\n")
    if (
        after
        or not lines
        or len(data) > MOST_BYTES
        or (len(data) > LONGEST and max(map(len, lines)) > LONGEST)
    ):
        return None
    try:
        return _look(lines)
    except (msgspec.MsgspecError, UnicodeDecodeError, RecursionError, LineFault):
        return None


def _look(lines: Sequence[bytes]) -> Seen | None:
    decode, opened, reading = _decoder()
    rest, prev = _Rest(), ""
    first = entry = decode(lines[0])
    if type(first) is not opened:
        return None
    last = first.at
    for number, line in enumerate(lines, 1):
        hashed, end = sha256(line[:-_END]), line[-_END:]
        if end != b',"sum":"%b"}' % hashed.hexdigest()[:16].encode():
            return None
        if number > 1:
            entry = decode(line)
        if entry.n != number or entry.prev != prev or entry.at < last:
            return None
        if type(entry) is not reading:
            if not rest.take(entry):
                return None
        elif not _took_place(entry):
            return None
        hashed.update(end)
        prev, last = hashed.hexdigest(), entry.at
    if first.at.year not in YEARS or last.year not in YEARS:
        return None
    told = tuple(rest.attached.values()), tuple(rest.signatures), tuple(rest.grounds)
    return Seen(harmless(first.job), len(lines), prev, last, *told)


class _Rest:
    """What the lines beside readings do to one another."""

    def __init__(self) -> None:
        self.kept: dict[int, bool] = {}
        """Number of a line that is no reading -> whether it can be withdrawn; readings are not listed."""
        self.attached: dict[int, Attached] = {}
        self.signatures: list[Signed] = []
        self.grounds: list[Grounds] = []
        self.to_come: dict[int, set[int]] = {}
        """Line of a spot check -> lines of its readings that were not taken again yet."""

    def take(self, line: Any) -> bool:
        """Whether it fits what came before it. May raise LineFault."""
        kind = line.__struct_config__.tag
        self.kept[line.n] = kind in JobReplay.KEEPS
        if kind == "attached":
            given = {name: harmless(getattr(line, name)) for name in ("path", "sha256", "by", "what")}
            self.attached[line.n] = Attached(**given, size=line.size, at=line.at, number=line.n)
        elif kind == "withdrawn":
            return self._withdrawn(line)
        elif kind == "note":
            return self._stands(line.entry, line.n)
        elif kind == "spot-check":
            return self._drawn(line)
        elif kind == "re-measured":
            return self._re_measured(line)
        elif kind == "signed":
            self.signatures.append(_signed(line))
            return bool(line.head == line.prev)
        elif kind == "judged-by":
            grounds = tuple(Ground(g.kind, harmless(g.id), g.digest) for g in line.grounds)
            self.grounds.append(Grounds(grounds, harmless(line.by), line.at, line.n))
        elif kind in ("fix", "event"):
            return _took_place(line)
        elif kind == JobReplay.FIRST:
            return bool(line.n == 1 and line.format <= FORMAT)
        return True

    def _stands(self, entry: int, before: int) -> bool:
        """Whether that is the line of a reading that was not taken back."""
        return 0 < entry < before and entry not in self.kept

    def _drawn(self, line: Any) -> bool:
        drawn = {d.entry for d in line.drawn}
        self.to_come[line.n] = drawn
        each_once = 0 < len(drawn) == len(line.drawn) <= line.of
        return each_once and all(self._stands(entry, line.n) for entry in drawn)

    def _re_measured(self, line: Any) -> bool:
        left = self.to_come.get(line.spot_check, set())
        there = line.entry in left
        left.discard(line.entry)
        units = (line.unit, line.compared.unit if line.compared else "", *(b.unit for b in line.beside))
        return there and all(unit in KINDS for unit in units)

    def _withdrawn(self, line: Any) -> bool:
        there = 0 < line.entry < line.n and self.kept.get(line.entry, True)
        self.kept[line.entry] = False
        self.attached.pop(line.entry, None)
        return there


def _took_place(line: Any) -> bool:
    """Whether a reading, fix or event did so at a time before it was entered, or then."""
    return line.taken is UNSET or (line.taken <= line.at and line.taken.year in YEARS)


def _signed(line: Any) -> Signed:
    """As the replay takes it. Raises LineFault."""
    replay = JobReplay()
    body = {"by": line.by, "head": line.head, "signature": line.signature}
    replay.take(Entry(line.n, line.at, "signed", body))
    return replay.signatures[0]


@cache
def _decoder() -> tuple[Any, Any, Any]:
    """Of every line; and the types of the first line, and of a reading, which most lines are.

    One for all of them, as that of a single type would do without the line's kind.
    """
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
    taken = [("taken", _Time | UnsetType, UNSET)]
    kept = {
        kind: _line(kind, [*_fields(structure), *(taken if structure in TIMED else ())])
        for kind, structure in JobReplay.KEEPS.items()
    }
    others = [
        _line("withdrawn", [("entry", int), ("why", str, ""), by]),
        _line("note", [("entry", int), ("text", str), by]),
        _line("units", [("system", System), by]),
        _line("changed", [("sides", tuple[str, ...]), ("bay", str), by]),
        _line("judged-by", [("grounds", tuple[Ground, ...]), ("by", str)]),
        _line("signed", [("by", str), ("head", str), ("signature", str)]),
        _line("spot-check", _fields(SpotCheck)),
        _line("re-measured", _fields(Again)),
    ]
    every: Any = Union[(first, *kept.values(), *others)]  # of types that are made here
    return msgspec.json.Decoder(every).decode, first, kept["reading"]


def _line(kind: str, more: Iterable[Any]) -> type[Struct]:
    """A line of this kind with nothing in it that is not known here."""
    head = [("n", int), ("at", _Time), ("prev", str), ("sum", str)]
    return defstruct(
        f"{kind}_line", [*head, *more], tag=kind, tag_field="kind", forbid_unknown_fields=True, kw_only=True, gc=False
    )  # fmt: skip


def _fields(structure: type[Struct]) -> list[Any]:
    """What an entry's structure holds beside the time and number that every line has."""
    wanted = (f for f in fields(structure) if f.name not in ("at", "number"))
    types = (
        (f, Literal[tuple(KINDS)] if (structure, f.name) == (Reading, "unit") else f.type) for f in wanted
    )
    return [(f.name, type) if f.required else (f.name, type, f.default) for f, type in types]

"""The entries of a journal -> what it says as it stands: corrections taken out, notes put in."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import datetime
from functools import cached_property
from typing import Annotated, Any, ClassVar, Literal

import msgspec
from msgspec import Meta, Struct
from msgspec.structs import replace

from readiness.checklist.mistakes import UNPRINTABLE, shortened, shown
from readiness.job import (
    YEARS,
    Again,
    Attached,
    Ended,
    Event,
    Fix,
    Job,
    Lifted,
    Reading,
    Setting,
    SpotCheck,
    System,
    Waiver,
)
from readiness.records.lines import Entry, LineFault
from readiness.units.names import KINDS

DEEPEST = 8
"""Lists and mappings within each other; the plan of a survey has three."""
_SIGNATURE = re.compile(r"[\x20-\x7e\n]{1,20000}")
"""Armoured text, whose line ends count."""
FIRST_KINDS = {"opened": "a job", "survey": "a survey"}
"""The kind of a journal's first entry -> what it is the journal of."""


SPOT_CHECKS = frozenset({"spot-check", "re-measured"})
"""What a spot check enters: a draw, and each reading that was taken again. Neither can be withdrawn, or one could go on
until it suits; both are entered after the end of a job too."""

TIMED: tuple[type[Any], ...] = (Reading, Fix, Event)
"""What may have taken place before it was entered."""


class Signed(Struct, frozen=True):
    """A signature under all lines before it; it changes nothing in the job and cannot be withdrawn."""

    by: str
    head: str
    """SHA-256 in hex of the line before, which is what was signed."""
    signature: str
    """As the signing program wrote it, line ends included."""
    at: datetime
    number: int


GroundKind = Literal["altitude", "sheet", "limits", "bay", "instrument"]


class Ground(Struct, frozen=True, array_like=True):
    """Something that a job is judged by, and a digest of what it said."""

    kind: GroundKind
    id: str
    digest: Annotated[str, Meta(pattern="^[0-9a-f]{64}$")]


class Grounds(Struct, frozen=True):
    """All of them at one moment; they change nothing in the job and cannot be withdrawn."""

    grounds: tuple[Ground, ...]
    by: str
    at: datetime
    number: int


class OtherJournal(LineFault):
    """A sound journal, but of something else."""

    def __init__(self, what: str) -> None:
        super().__init__(1, what)


class Replay:
    """What a journal says while its entries are taken in, one after the other."""

    FIRST: ClassVar[str]
    """Kind of the first entry, which says what the journal is of."""
    KEEPS: ClassVar[dict[str, type[Any]]]
    """Entry kind -> what it holds, for entries that can be withdrawn."""
    AS_WRITTEN: ClassVar[frozenset[str]] = frozenset()
    """Kinds whose fields see to it by themselves that they are harmless."""

    def __init__(self) -> None:
        self.units: System | None = None
        self._kept: dict[int, Any] = {}
        self._base: Any = None
        self._state: Any = None

    def check(self, entry: Entry) -> None:
        """Raises LineFault for an entry that could not be taken; nothing is changed either way."""
        other, named = type(self)(), entry.body.get("entry", 0)
        other._base = self._base
        other._kept = {named: self._kept[named]} if named in self._kept else {}
        other.take(entry)

    def remember(self) -> dict[str, Any]:
        """What `restore` needs to forget everything taken since."""
        return {**vars(self), "_kept": dict(self._kept)}

    def restore(self, remembered: dict[str, Any]) -> None:
        vars(self).update(remembered)

    def latest(self) -> tuple[int, Any] | None:
        """The last thing entered that was not withdrawn, with its number."""
        if not self._kept:
            return None
        number = max(self._kept)
        return number, self._kept[number]

    def kept(self, number: int) -> Struct | None:
        """What was entered under this number, unless it was withdrawn."""
        return self._kept.get(number)

    def take(self, entry: Entry) -> None:
        """Raises LineFault, and changes nothing, for an entry that does not fit."""
        if entry.n == 1 and entry.kind != self.FIRST and entry.kind in FIRST_KINDS:
            raise OtherJournal(
                f"it is the journal of {FIRST_KINDS[entry.kind]}, not of {FIRST_KINDS[self.FIRST]}"
            )
        if (entry.kind == self.FIRST) != (entry.n == 1) or entry.kind not in self._known:
            raise LineFault(entry.n, f"it has the kind {shown(entry.kind, 40)}, which does not belong there")
        try:
            plain = entry.kind in self.AS_WRITTEN
            self._known[entry.kind](entry if plain else replace(entry, body=harmless(entry.body)))
        except (KeyError, TypeError, msgspec.ValidationError) as fault:
            why = shortened(str(fault), 200)
            raise LineFault(entry.n, f"its fields do not fit its kind ({why})") from None
        self._state = None

    @cached_property
    def _known(self) -> dict[str, Callable[[Entry], None]]:
        """Entry kind -> what takes it in."""
        return {**self._special(), **dict.fromkeys(self.KEEPS, self._keep)}

    def _special(self) -> dict[str, Callable[[Entry], None]]:
        """Entry kind -> what takes it in, for entries that change what is there."""
        return {
            self.FIRST: self._opened,
            "withdrawn": self._withdrawn,
            "note": self._noted,
            "units": self._units,
        }

    def _opened(self, entry: Entry) -> None:
        raise NotImplementedError

    def _all(self, structure: type[Any]) -> tuple[Any, ...]:
        return tuple(k for k in self._kept.values() if type(k) is structure)

    def _keep(self, entry: Entry) -> None:
        kept = held(entry, self.KEEPS[entry.kind])
        self._check(kept)
        self._kept[entry.n] = kept

    def _check(self, kept: Any) -> None:
        """Raises TypeError for what is well formed and cannot have been entered."""
        if isinstance(kept, Reading) and kept.unit not in KINDS:
            raise TypeError("its unit is none that is known")

    def _withdrawn(self, entry: Entry) -> None:
        self._kept.pop(msgspec.convert(entry.body["entry"], int))

    def _noted(self, entry: Entry) -> None:
        number = msgspec.convert(entry.body["entry"], int)
        reading = self._kept[number]
        if not isinstance(reading, Reading):
            raise TypeError("a note belongs to a reading")
        self._kept[number] = replace(reading, note=msgspec.convert(entry.body["text"], str))

    def _units(self, entry: Entry) -> None:
        self.units = msgspec.convert(entry.body["system"], System)


class JobReplay(Replay):
    """A job."""

    FIRST = "opened"
    KEEPS: ClassVar[dict[str, type[Any]]] = {
        "reading": Reading, "fix": Fix, "event": Event, "waiver": Waiver, "attached": Attached, "ended": Ended,
    }  # fmt: skip
    AS_WRITTEN = frozenset({"signed"})

    def __init__(self) -> None:
        super().__init__()
        self.signatures: tuple[Signed, ...] = ()
        """All there are, oldest first."""
        self.grounds: tuple[Grounds, ...] = ()
        """What the job was judged by, whenever that was kept, oldest first."""
        self._lifted: tuple[Lifted, ...] = ()
        self._spot_checks: tuple[SpotCheck, ...] = ()
        self._again: tuple[Again, ...] = ()
        self._to_come: dict[int, frozenset[int]] = {}
        """Line of a spot check -> lines of its readings that were not taken again yet."""

    def check(self, entry: Entry) -> None:
        if entry.kind not in SPOT_CHECKS:
            return super().check(entry)
        other = JobReplay()
        other._base, other._kept, other._to_come = self._base, dict(self._kept), dict(self._to_come)
        return other.take(entry)

    def remember(self) -> dict[str, Any]:
        return {**super().remember(), "_to_come": dict(self._to_come)}

    @property
    def job(self) -> Job:
        """The job as it stands; the same object until the next entry."""
        if self._state is None:
            began = (kept.at for kept in self._kept.values() if isinstance(kept, TIMED))
            self._state = replace(
                self._base, readings=self._all(Reading), fixes=self._all(Fix),
                events=self._all(Event), waivers=self._all(Waiver), attached=self._all(Attached),
                ended=next(iter(self._all(Ended)), None), lifted=self._lifted,
                spot_checks=self._spot_checks, again=self._again, opened=min((self._base.opened, *began)),
            )  # fmt: skip
        job: Job = self._state
        return job

    def _special(self) -> dict[str, Callable[[Entry], None]]:
        return {**super()._special(), "changed": self._changed, "signed": self._signed,
                "judged-by": self._judged_by, "spot-check": self._drawn, "re-measured": self._re_measured}  # fmt: skip

    def _opened(self, entry: Entry) -> None:
        self._base = msgspec.convert({**entry.body, "opened": entry.at}, Job)

    def _changed(self, entry: Entry) -> None:
        now = msgspec.convert({**entry.body, "until": entry.at}, Setting)
        before = Setting(sides=self._base.sides, bay=self._base.bay, until=entry.at)
        earlier = (*self._base.earlier, *(() if now == before else (before,)))
        self._base = replace(self._base, sides=now.sides, bay=now.bay, earlier=earlier)

    def _withdrawn(self, entry: Entry) -> None:
        """A check counts again from then on; until then it was set aside, and what was read meanwhile was read so."""
        kept = self._kept.get(msgspec.convert(entry.body["entry"], int))
        super()._withdrawn(entry)
        if isinstance(kept, Waiver):
            self._lifted += (Lifted(waiver=kept, at=entry.at),)

    def _judged_by(self, entry: Entry) -> None:
        self.grounds += (msgspec.convert({**entry.body, "at": entry.at, "number": entry.n}, Grounds),)

    def _drawn(self, entry: Entry) -> None:
        check = msgspec.convert({**entry.body, "at": entry.at, "number": entry.n}, SpotCheck)
        drawn = frozenset(d.entry for d in check.drawn)
        if not drawn or len(drawn) < len(check.drawn) or len(drawn) > check.of:
            raise TypeError("it draws nothing, or one thing twice")
        if not all(isinstance(self._kept.get(n), Reading) for n in drawn):
            raise TypeError("it draws what is no reading that stands")
        self._spot_checks += (check,)
        self._to_come[entry.n] = drawn

    def _re_measured(self, entry: Entry) -> None:
        again = msgspec.convert({**entry.body, "at": entry.at, "number": entry.n}, Again)
        left = self._to_come.get(again.spot_check, frozenset())
        if again.entry not in left:
            raise TypeError("it is no reading that its spot check drew, or was taken again before")
        units = (again.unit, again.compared.unit if again.compared else "", *(b.unit for b in again.beside))
        if not all(unit in KINDS for unit in units):
            raise TypeError("its unit is none that is known")
        self._again += (again,)
        self._to_come[again.spot_check] = left - {again.entry}

    def _signed(self, entry: Entry) -> None:
        signed = msgspec.convert({**entry.body, "at": entry.at, "number": entry.n}, Signed)
        if not _SIGNATURE.fullmatch(signed.signature):
            raise TypeError("its signature is no plain text")
        self.signatures += (replace(signed, by=harmless(signed.by), head=harmless(signed.head)),)


def held(entry: Entry, structure: type[Any]) -> Any:
    """What an entry holds, at the time at which it took place: that may be before it was entered.

    A reading that was only put down anew was taken when the first one was, not later; what is typed in from paper took
    place when the paper says. Raises TypeError, msgspec.ValidationError.
    """
    at = entry.at
    if structure in TIMED and "taken" in entry.body:
        at = msgspec.convert(entry.body["taken"], datetime)
        if at.tzinfo is None or at > entry.at or at.year not in YEARS:
            raise TypeError("it was taken at no time before it was entered")
    return msgspec.convert({**entry.body, "at": at, "number": entry.n}, structure)


def harmless(what: Any, deep: int = 0) -> Any:
    """The same with a blank for each character that could steer a terminal or turn the writing round.

    The file keeps what was typed; what is read from it for a face is text that only shows itself.
    Raises msgspec.ValidationError for lists within lists that no entry has.
    """
    if isinstance(what, str):
        return UNPRINTABLE.sub(" ", what)
    if deep > DEEPEST:
        raise msgspec.ValidationError("lists within lists")
    if isinstance(what, dict):
        return {key: harmless(value, deep + 1) for key, value in what.items()}
    return [harmless(value, deep + 1) for value in what] if isinstance(what, list) else what

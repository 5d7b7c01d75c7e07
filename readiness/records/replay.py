"""The entries of a journal -> the job as it stands: corrections taken out, notes put in."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

import msgspec
from msgspec.structs import replace

from readiness.checklist.mistakes import UNPRINTABLE
from readiness.job import Event, Fix, Job, Reading, System, Waiver
from readiness.records.lines import Entry, LineFault

STRUCTURES: dict[str, type[Any]] = {"reading": Reading, "fix": Fix, "event": Event, "waiver": Waiver}
"""Entry kind -> what it holds."""


class Standing:
    """A job while its entries are taken in, one after the other."""

    def __init__(self, entries: Iterable[Entry] = ()) -> None:
        self.units: System | None = None
        self._kept: dict[int, Reading | Fix | Event | Waiver] = {}
        self._base: Job | None = None
        self._job: Job | None = None
        for entry in entries:
            self.take(entry)

    @property
    def job(self) -> Job:
        """The job as it stands; the same object until the next entry."""
        if self._job is None:
            assert self._base is not None
            self._job = replace(
                self._base, readings=self._all(Reading), fixes=self._all(Fix),
                events=self._all(Event), waivers=self._all(Waiver),
            )  # fmt: skip
        return self._job

    def copy(self) -> Standing:
        """One that takes entries without changing this one."""
        other = Standing()
        other.units, other._base, other._kept = self.units, self._base, dict(self._kept)
        return other

    def latest(self) -> tuple[int, Reading | Fix | Event | Waiver] | None:
        """The last thing entered that was not withdrawn, with its number."""
        if not self._kept:
            return None
        number = max(self._kept)
        return number, self._kept[number]

    def kept(self, number: int) -> Reading | Fix | Event | Waiver | None:
        """What was entered under this number, unless it was withdrawn."""
        return self._kept.get(number)

    def take(self, entry: Entry) -> None:
        """Raises LineFault, and changes nothing, for an entry that does not fit."""
        known = {**_SPECIAL, **dict.fromkeys(STRUCTURES, Standing._keep)}
        if (entry.kind == "opened") != (entry.n == 1) or entry.kind not in known:
            raise LineFault(entry.n, f"it has the kind '{entry.kind[:40]}', which does not belong there")
        try:
            known[entry.kind](self, replace(entry, body=harmless(entry.body)))
        except (KeyError, TypeError, msgspec.ValidationError) as fault:
            raise LineFault(entry.n, f"its fields do not fit its kind ({fault})") from None
        self._job = None

    def _all(self, structure: type[Any]) -> tuple[Any, ...]:
        return tuple(k for k in self._kept.values() if type(k) is structure)

    def _opened(self, entry: Entry) -> None:
        self._base = msgspec.convert({**entry.body, "opened": entry.at}, Job)

    def _keep(self, entry: Entry) -> None:
        fields = {**entry.body, "at": entry.at, "number": entry.n}
        self._kept[entry.n] = msgspec.convert(fields, STRUCTURES[entry.kind])

    def _withdrawn(self, entry: Entry) -> None:
        self._kept.pop(int(entry.body["entry"]))

    def _noted(self, entry: Entry) -> None:
        number = int(entry.body["entry"])
        reading = self._kept[number]
        if not isinstance(reading, Reading):
            raise TypeError("a note belongs to a reading")
        self._kept[number] = replace(reading, note=msgspec.convert(entry.body["text"], str))

    def _units(self, entry: Entry) -> None:
        self.units = msgspec.convert(entry.body["system"], System)

    def _changed(self, entry: Entry) -> None:
        assert self._base is not None
        sides = msgspec.convert(entry.body["sides"], tuple[str, ...])
        self._base = replace(self._base, sides=sides, bay=msgspec.convert(entry.body["bay"], str))


def harmless(what: Any) -> Any:
    """The same with a blank for each character that could steer a terminal or turn the writing round.

    The file keeps what was typed; what is read from it for a face is text that only shows itself.
    """
    if isinstance(what, str):
        return UNPRINTABLE.sub(" ", what)
    if isinstance(what, dict):
        return {key: harmless(value) for key, value in what.items()}
    return [harmless(value) for value in what] if isinstance(what, list) else what


_SPECIAL: dict[str, Callable[[Standing, Entry], None]] = {
    "opened": Standing._opened,
    "withdrawn": Standing._withdrawn,
    "note": Standing._noted,
    "units": Standing._units,
    "changed": Standing._changed,
}

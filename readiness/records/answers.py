"""A job's answers as a YAML file that people write by hand.

    answers: HB-0417            # the job's number
    plate: ZZ 417
    sheet: tern-rear-corner
    bay: bay-2
    sides: [left]
    by: A. Finch
    at: 2026-03-31 14:05        # of every answer that says no other time
    units: metric               # optional; what a bare number means
    instruments: {pressure: gauge-1, depth: tread-1}
    shared: {air: 21 C}
    checks:
      tyres:
        parked: stood
        pressure.lf: 231 kPa
        pressure.lr: [219 kPa, 221 kPa]      # a series
        tread.lf: {value: 5 mm, at: 2026-03-31 14:20, by: B. Wren, instrument: tread-2, note: inner rib}
      clear_area left: {kit.1: out}
    fixes: [{check: tyres, question: pressure.lr, at: 2026-03-31 14:10, text: inflated}]
    events: [{event: door_opened, at: 2026-03-31 14:12}]
    not_applicable: [{check: centre_marks, reason: the procedure does not use them}]    # set aside: no plain go

Answers are understood by the questions that the checks ask, as in the wizard.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any, NamedTuple

from msgspec import Struct
from msgspec.structs import replace as changed

from readiness.checklist.load import in_order, opened
from readiness.checklist.mistakes import FileMistakes, listed, near, shown
from readiness.checklist.nodes import Items, Text
from readiness.checklist.walk import INVALID, Spot, Walker
from readiness.checks.entry import understood
from readiness.checks.finding import Visit
from readiness.checks.kind import SHARED, Place, Question
from readiness.job import VOID_EVENTS, Event, Evidence, Fix, Job, LaterTyped, Reading, Side, System, Waiver
from readiness.records.answers_head import judge_head, judge_waivers, known_or_wrong
from readiness.records.answers_text import write_answers
from readiness.records.asked import Asked
from readiness.records.shop import ShopFolder
from readiness.units import UnitsError

__all__ = ["Answers", "load_answers", "read_answers", "write_answers"]


class Answers(NamedTuple):
    """A file of answers: the job, and the units it chose (None: the shop's)."""

    job: Job
    units: System | None


class _Done(Struct, forbid_unknown_fields=True, kw_only=True, frozen=True):
    """What an entry under fixes, events and not_applicable may say beside its own."""

    at: datetime | None = None
    by: str = ""


class _Fix(_Done, forbid_unknown_fields=True, kw_only=True, frozen=True):
    check: str
    question: str = ""
    side: str = ""
    text: str = ""


class _Event(_Done, forbid_unknown_fields=True, kw_only=True, frozen=True):
    event: str


class _Waiver(_Done, forbid_unknown_fields=True, kw_only=True, frozen=True):
    check: str
    reason: str
    side: str = ""


class _File(Struct, forbid_unknown_fields=True, kw_only=True, frozen=True):
    answers: str
    plate: str = ""
    sheet: str
    bay: str
    sides: tuple[Side, ...]
    by: str
    at: datetime
    units: System | None = None
    instruments: dict[str, str] = {}
    shared: LaterTyped = None
    checks: LaterTyped = None
    fixes: tuple[_Fix, ...] = ()
    events: tuple[_Event, ...] = ()
    not_applicable: tuple[_Waiver, ...] = ()


class _Circumstances(Struct, forbid_unknown_fields=True, kw_only=True, frozen=True):
    """One answer written out: its value and what differs from the rest of the file."""

    value: LaterTyped = None
    at: datetime | None = None
    by: str = ""
    evidence: Evidence | None = None
    told_by: str = ""
    instrument: str | None = None
    note: str = ""


FILE, CIRCUMSTANCES = _File, _Circumstances
"""What a file of answers may say, for its schema."""


@dataclass(frozen=True)
class _Given:
    """One answer in the file that is not understood yet."""

    place: Place
    value: Spot
    around: _Circumstances


def read_answers(path: Path, folder: ShopFolder) -> Job:
    """The job that a file of answers describes. Raises FileMistakes with all that is wrong."""
    return load_answers(path, folder).job


def load_answers(path: Path, folder: ShopFolder) -> Answers:
    """The same with the units that the file chose."""
    spot = opened(path, "answers")
    file = Walker().decode(spot, _File)
    if not judge_head(spot, folder):
        _stop(spot)
    if file is INVALID:
        file = _as_far_as_known(spot)
    visit = folder.visit(_empty_job(file), file.units)
    job = _Reader(file, spot, visit).job()
    _stop(spot)
    return Answers(job, file.units)


def _stop(spot: Spot) -> None:
    if spot.mistakes:
        raise FileMistakes(in_order(spot.mistakes))


def _empty_job(file: _File) -> Job:
    return Job(
        job=file.answers, sheet=file.sheet, bay=file.bay, sides=file.sides, opened=file.at, by=file.by,
        plate=file.plate,
    )  # fmt: skip


def _as_far_as_known(spot: Spot) -> _File:
    """What stands in for a file with mistakes, so that its answers are looked at in the same run."""
    sides: Any = tuple(side.text for side in spot.at("sides").items())
    sheet, bay = spot.at("sheet").text, spot.at("bay").text
    return _File(answers="", sheet=sheet, bay=bay, sides=sides, by="", at=datetime.now().astimezone())


class _Reader:
    """Understands the answers of one file, noting mistakes where they stand."""

    def __init__(self, file: _File, spot: Spot, visit: Visit) -> None:
        self.file = file
        self.spot = spot
        self.visit = visit
        self.asked = Asked(visit)

    def job(self) -> Job:
        pending = [*self._shared(), *self._checks()]
        readings: list[Reading] = []
        while pending:
            # one answer of each series a round, so that every question asked on the way is met
            ready: dict[Place, _Given] = {}
            for given in pending:
                if given.place in self.asked.questions:
                    ready.setdefault(given.place, given)
            if not ready:
                break
            taken = [r for g in ready.values() if (r := self._reading(g)) is not None]
            readings += taken
            pending = [g for g in pending if ready.get(g.place) is not g]
            self.asked.add(taken)
        self._unknown(pending)
        return changed(
            self.visit.job, readings=tuple(readings), fixes=self._fixes(), events=self._events(),
            waivers=self._waivers(),
        )  # fmt: skip

    # --- finding the answers ---------------------------------------------------------------------

    def _shared(self) -> Iterator[_Given]:
        if self.spot.has("shared"):
            yield from self._answers(self.spot.at("shared"), SHARED, "")

    def _checks(self) -> Iterator[_Given]:
        if not self.spot.has("checks"):
            return
        places = {self._name(check.id, side): (check.id, side) for check, side in self.asked.places()}
        here = self.spot.at("checks")
        if not list(here.entries()):
            here.wrong("no keys and values", f"checks by id: {listed(places)}")
        for key, value in here.once():
            if key.text in places:
                yield from self._answers(value, *places[key.text])
            else:
                here.on(key).wrong(
                    f"no such check, {shown(key.text)}", f"one of {listed(places)}", near(key.text, places)
                )

    def _name(self, check: str, side: str) -> str:
        return check if side in ("", "single") else f"{check} {side}"

    def _answers(self, spot: Spot, check: str, side: str) -> Iterator[_Given]:
        if not list(spot.entries()):
            spot.wrong("no keys and values", "answers by question")
        for key, value in spot.once():
            yield from self._series((check, side, key.text), value, _Circumstances())

    def _series(self, place: Place, spot: Spot, around: _Circumstances) -> Iterator[_Given]:
        if isinstance(spot.node, Items):
            for item in spot.items():
                yield from self._series(place, item, around)
        elif isinstance(spot.node, Text):
            yield _Given(place, spot, around)
        else:
            inner = Walker().decode(spot, _Circumstances)
            if inner is not INVALID and not spot.has("value"):
                spot.named("value").wrong("nothing", "the answer")
            elif inner is not INVALID:
                yield from self._series(place, spot.at("value"), inner)

    # --- understanding one -----------------------------------------------------------------------

    def _reading(self, given: _Given) -> Reading | None:
        check, side, key = given.place
        question, around, text = self.asked.questions[given.place], given.around, given.value.text
        tool = self._instrument(question, given)
        division = self.visit.instruments[tool].division if tool in self.visit.instruments else ""
        try:
            value, unit = understood(question, text, self.visit.shop.units, division)
        except UnitsError as error:
            given.value.wrong(shown(text), f"an answer to '{question.label}'", str(error))
            return None
        return Reading(
            check=check, question=key, side=side, value=value, unit=unit, text=text,
            at=around.at or self.file.at, by=around.by or self.file.by,
            evidence=around.evidence or question.evidence, told_by=around.told_by,
            instrument=tool, note=around.note,
        )  # fmt: skip

    def _instrument(self, question: Question, given: _Given) -> str:
        if given.around.instrument is None:
            return self.file.instruments.get(question.measures, "") if question.instrumented else ""
        if given.around.instrument and given.around.instrument not in self.visit.instruments:
            known = listed(self.visit.instruments)
            given.value.wrong(f"the instrument {shown(given.around.instrument)}", f"one of {known}")
        return given.around.instrument

    def _unknown(self, left: list[_Given]) -> None:
        for given in left:
            check, side, key = given.place
            known = self.asked.keys(check, side)
            hint = near(key, known)
            if (SHARED, "", key) in self.asked.questions and check != SHARED:
                hint = f"'{key}' belongs under 'shared'."
            expected = f"one of {listed(known)}" if known else "no answer here"
            if not known and not hint:
                hint = "What is asked once for the car stands under 'shared'."
            given.value.wrong(f"an answer to {shown(key)}, which is not asked", expected, hint)

    # --- what else happened ----------------------------------------------------------------------

    def _fixes(self) -> tuple[Fix, ...]:
        self._places_of("fixes")
        return tuple(
            Fix(
                check=f.check,
                question=f.question,
                side=self._side(f.check, f.side),
                text=f.text,
                **self._who(f),
            )
            for f in self.file.fixes
        )

    def _waivers(self) -> tuple[Waiver, ...]:
        self._places_of("not_applicable")
        judge_waivers(self.spot, {c.id: c for c, _ in self.asked.places()})
        return tuple(
            Waiver(check=w.check, side=self._side(w.check, w.side), reason=w.reason, **self._who(w))
            for w in self.file.not_applicable
        )

    def _events(self) -> tuple[Event, ...]:
        for here in self.spot.at("events").items() if self.spot.has("events") else ():
            known_or_wrong(here.at("event"), VOID_EVENTS, "event")
        return tuple(Event(event=e.event, **self._who(e)) for e in self.file.events)

    def _who(self, done: _Done) -> dict[str, Any]:
        return {"at": done.at or self.file.at, "by": done.by or self.file.by}

    def _side(self, check: str, side: str) -> str:
        """'single' may be left out in a file."""
        places = {s for c, s in self.asked.places() if c.id == check}
        return "single" if places == {"single"} else side

    def _places_of(self, key: str) -> None:
        places = [(c.id, s) for c, s in self.asked.places()]
        for here in self.spot.at(key).items() if self.spot.has(key) else ():
            check = here.at("check")
            if not known_or_wrong(check, dict.fromkeys(c for c, _ in places), "check"):
                continue
            side = here.at("side") if here.has("side") else here.named("side")
            given = side.text if here.has("side") else ""
            sides = [s for c, s in places if c == check.text]
            if self._side(check.text, given) not in sides:
                expected = f"one of {listed(sides)}" if any(sides) else "no side"
                side.wrong(shown(given) if given else "nothing", expected)

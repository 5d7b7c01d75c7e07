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
    attached: [{path: papers/printout.txt, what: the tester's last page}]
    ended: {at: 2026-03-31 15:30, why: handed over}

Answers are understood by the questions that the checks ask, as in the wizard.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any, NamedTuple

from msgspec.structs import replace as changed

from readiness.checklist.load import in_order, opened
from readiness.checklist.mistakes import FileMistakes, listed, near, shown
from readiness.checklist.nodes import Items, Text
from readiness.checklist.spot import Spot
from readiness.checklist.walk import INVALID, Walker
from readiness.checks.entry import understood
from readiness.checks.finding import Visit
from readiness.checks.kind import SHARED, Place, Question
from readiness.job import Job, Reading, System
from readiness.records.answers_file import Circumstances, File
from readiness.records.answers_happened import Happened
from readiness.records.answers_head import judge_head
from readiness.records.answers_text import write_answers
from readiness.records.asked import Asked
from readiness.records.shop import ShopFolder
from readiness.units import UnitsError

__all__ = ["Answers", "load_answers", "read_answers", "write_answers"]

MOST_AGAIN = 100
"""Answers to one question in a file."""


class Answers(NamedTuple):
    """A file of answers: the job, and the units it chose (None: the shop's)."""

    job: Job
    units: System | None


@dataclass(frozen=True)
class _Given:
    """One answer in the file that is not understood yet."""

    place: Place
    value: Spot
    around: Circumstances


def read_answers(path: Path, folder: ShopFolder) -> Job:
    """The job that a file of answers describes. Raises FileMistakes with all that is wrong."""
    return load_answers(path, folder).job


def load_answers(path: Path, folder: ShopFolder) -> Answers:
    """The same with the units that the file chose."""
    spot = opened(path, "answers")
    file = Walker().decode(spot, File)
    if not judge_head(spot, folder):
        _stop(spot)
    if file is INVALID:
        file = _as_far_as_known(spot)
    visit = folder.visit(_empty_job(file), file.units)
    job = _Reader(file, spot, visit, folder.path).job()
    _stop(spot)
    return Answers(job, file.units)


def _stop(spot: Spot) -> None:
    if spot.mistakes:
        raise FileMistakes(in_order(spot.mistakes))


def _empty_job(file: File) -> Job:
    return Job(
        job=file.answers, sheet=file.sheet, bay=file.bay, sides=file.sides, opened=file.at, by=file.by,
        plate=file.plate,
    )  # fmt: skip


def _as_far_as_known(spot: Spot) -> File:
    """What stands in for a file with mistakes, so that its answers are looked at in the same run."""
    sides: Any = tuple(side.text for side in spot.at("sides").items())
    sheet, bay = spot.at("sheet").text, spot.at("bay").text
    return File(answers="", sheet=sheet, bay=bay, sides=sides, by="", at=datetime.now().astimezone())


class _Reader:
    """Understands the answers of one file, noting mistakes where they stand."""

    def __init__(self, file: File, spot: Spot, visit: Visit, folder: Path) -> None:
        self.file = file
        self.spot = spot
        self.visit = visit
        self.asked = Asked(visit)
        self.happened = Happened(file, spot, tuple(self.asked.places()), folder)

    def job(self) -> Job:
        pending = [*self._not_too_often((*self._shared(), *self._checks()))]
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
        return changed(self.visit.job, readings=tuple(readings), **self.happened.all())

    # --- finding the answers ---------------------------------------------------------------------

    def _not_too_often(self, given: Iterable[_Given]) -> Iterator[_Given]:
        """Those of a series that is too long for a person to have read are left out, and that is a mistake."""
        count: Counter[Place] = Counter()
        for one in given:
            count[one.place] += 1
            if count[one.place] <= MOST_AGAIN:
                yield one
            elif count[one.place] == MOST_AGAIN + 1:
                one.value.wrong("one more answer", f"at most {MOST_AGAIN} to one question")

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
            yield from self._series((check, side, key.text), value, Circumstances())

    def _series(self, place: Place, spot: Spot, around: Circumstances) -> Iterator[_Given]:
        if isinstance(spot.node, Items):
            for item in spot.items():
                yield from self._series(place, item, around)
        elif isinstance(spot.node, Text):
            yield _Given(place, spot, around)
        else:
            inner = Walker().decode(spot, Circumstances)
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

"""What a spot check found, as a YAML file that people write by hand beside the car.

    spot_check: HB-0418          # the job's number
    by: Tamsin Vale
    instruments: {pressure: gauge-2}
    shared: {air: 19.5 C}        # of the readings that are compared at one temperature
    checks:
      tyres:
        parked: stood
        pressure.lr: 219 kPa
        tread.rf: {value: 4.1 mm, instrument: tread-2, note: inner rib}
      bracket left: {tilt: {left_out: the bumper is on again}}

What is left blank, or not there, is still to come.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from pathlib import Path

from msgspec import Struct

from readiness.checklist.load import in_order
from readiness.checklist.mistakes import FileMistakes, listed, near, shown
from readiness.checklist.nodes import Entries, Text, read
from readiness.checklist.spot import Spot
from readiness.checklist.walk import INVALID, Walker
from readiness.checks.kind import SHARED, Place, Question
from readiness.job import Again, Drawn, LaterTyped, Reading
from readiness.records.spot_checks import Asked, Item, LeftOut, Skipped, Typed

FIRST = "spot_check"


class File(Struct, forbid_unknown_fields=True, kw_only=True, frozen=True):
    """What such a file may say."""

    spot_check: str
    by: str = ""
    instruments: dict[str, str] = {}
    """What is measured -> the instrument that measured it, where an answer names none."""
    shared: LaterTyped = None
    checks: LaterTyped = None


class Found(Struct, forbid_unknown_fields=True, kw_only=True, frozen=True):
    """One answer written out."""

    value: LaterTyped = None
    instrument: str = ""
    note: str = ""
    left_out: str = ""
    """Why it could not be taken again."""


class FileAnswers:
    """Answers from a file. What is wrong in it is gathered; `stop` raises it."""

    def __init__(self, path: Path) -> None:
        """Raises FileMistakes for what is no such file."""
        self.spot = Spot(read(path), "", path, [])
        if not self.spot.has(FIRST):
            self.spot.wrong(
                f"no key {FIRST}", f"what a spot check found, with '{FIRST}: JOB' as its first key"
            )
        file = Walker().decode(self.spot, File)
        self.stop()
        assert isinstance(file, File)
        self.file = file
        self.found: list[tuple[Drawn, Again]] = []
        """What came of the answers, in order."""
        self._given = {name: spot for name, spot in self._all() if not _blank(spot)}
        self.stop()

    def stop(self) -> None:
        """Raises FileMistakes if there is one."""
        if self.spot.mistakes:
            raise FileMistakes(in_order(self.spot.mistakes))

    def judge(self, job: str, known: Collection[Place]) -> None:
        """Note another job, and answers that nobody asked for."""
        if self.file.spot_check != job:
            self.spot.at(FIRST).wrong(shown(self.file.spot_check), f"the job that was named, {job}")
        names = {place: name_of(place) for place in known}
        for name, spot in self._given.items():
            if name not in names.values():
                expected = f"one of {listed(sorted(names.values()))}" if names else "nothing more"
                spot.wrong(
                    f"an answer to {shown(name)}, which was not drawn",
                    expected,
                    near(name, list(names.values())),
                )

    def _all(self) -> Iterator[tuple[str, Spot]]:
        for key, spot in _entries(self.spot.at("shared")) if self.spot.has("shared") else ():
            yield name_of((SHARED, "", key.text)), spot
        for check, held in _entries(self.spot.at("checks")) if self.spot.has("checks") else ():
            for key, spot in _entries(held):
                yield f"{check.text}: {key.text}", spot

    # --- as one who is asked ---------------------------------------------------------------------

    def begin(self, item: Item, question: Question) -> None:
        if name_of(item.stop.place) not in self._given:
            raise Skipped

    def answer(self, asked: Asked) -> Typed:
        spot = self._given.get(name_of(asked.place))
        if spot is None:
            item = self._given[name_of(asked.item.stop.place)]
            item.wrong(
                f"no answer to {name_of(asked.place)}", f"'{asked.question.label}' beside it, to compare by"
            )
            raise Skipped
        if isinstance(spot.node, Text):
            return Typed(spot.text, self._tool(asked, ""))
        found = Walker().decode(spot, Found)
        if found is INVALID:
            raise Skipped
        assert isinstance(found, Found)
        if found.left_out.strip():
            raise LeftOut(found.left_out.strip())
        return Typed(spot.at("value").text, self._tool(asked, found.instrument), found.note)

    def _tool(self, asked: Asked, named: str) -> str:
        best = asked.offers[0].id if asked.offers else ""
        return named or self.file.instruments.get(asked.question.measures, best)

    def refused(self, asked: Asked, why: str) -> None:
        spot = self._given[name_of(asked.place)]
        spot = spot if isinstance(spot.node, Text) else spot.at("value")
        spot.wrong(shown(spot.text), f"an answer to '{asked.question.label}'", why)
        raise Skipped

    def sure(self, asked: Asked, reading: Reading) -> bool:
        return True

    def outcome(self, drawn: Drawn, again: Again) -> None:
        self.found.append((drawn, again))


def _entries(spot: Spot) -> Iterator[tuple[Text, Spot]]:
    """Keys and values; a mistake is noted where something else stands."""
    if not isinstance(spot.node, Entries) and (spot.text.strip() or not isinstance(spot.node, Text)):
        spot.wrong(shown(spot.text) if spot.text else "a list", "answers by question")
    yield from spot.once()


def _blank(spot: Spot) -> bool:
    """Not filled in yet."""
    if isinstance(spot.node, Text):
        return not spot.text.strip()
    return isinstance(spot.node, Entries) and not any(
        value.text.strip() for key, value in spot.entries() if key.text in ("value", "left_out")
    )


def name_of(place: Place) -> str:
    """'tyres: pressure.lr', 'bracket left: tilt', 'shared: air'."""
    check, side, key = place
    return f"{check if side in ('', 'single') else f'{check} {side}'}: {key}"


def blank_file(job: str, by: str, asked: Collection[Asked]) -> str:
    """Such a file, to be filled in."""
    from json import dumps

    held: dict[str, list[str]] = {}
    for one in asked:
        where, _, key = name_of(one.place).partition(": ")
        tool = f", instrument: {dumps(one.offers[0].id, ensure_ascii=False)}" if one.offers else ""
        line = f"{key}: {{value: ''{tool}}}"
        if line not in held.setdefault(where, []):
            held[where].append(line)
    lines = [f"spot_check: {dumps(job, ensure_ascii=False)}", f"by: {dumps(by, ensure_ascii=False)}"]
    lines += ["shared:", *(f"  {line}" for line in held.pop(SHARED))] if SHARED in held else []
    lines += ["checks:"] if held else []
    for where, answers in held.items():
        lines += [f"  {where}:", *(f"    {line}" for line in answers)]
    return "".join(f"{line}\n" for line in lines)

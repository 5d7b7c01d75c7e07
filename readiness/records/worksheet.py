"""What a worksheet says: the questions of a sheet in walking order, with what is known before anybody has read a thing."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime

from readiness.checklist.describe import limits_in_words
from readiness.checklist.model import Check, Step
from readiness.checks.aim.layout import Row, rows
from readiness.checks.clear_area.plan_view import plan_view
from readiness.checks.clear_area.things import bay_things
from readiness.checks.finding import Visit, find
from readiness.checks.instruments import first_in_date
from readiness.checks.kind import Choice, Place, Question
from readiness.checks.picture import Picture
from readiness.checks.place import Where
from readiness.checks.walking import Stop, stations, stops
from readiness.job import Bay, Instrument, Sheet, System
from readiness.records.blank_visit import (
    NOWHERE,
    all_steps,
    blank_visit,
    reading_of,
    usual_answers,
    with_perfect_tools,
    with_readings,
)
from readiness.records.reading_limits import ReadingLimits, reading_limits
from readiness.records.sheets import Opened


@dataclass(frozen=True, slots=True)
class Detour:
    """What is asked beside the usual once a choice is answered otherwise."""

    choice: Choice
    questions: tuple[Question, ...]


@dataclass(frozen=True, slots=True)
class Line:
    """One question on the paper."""

    number: int
    """Counted over the whole sheet; the same answer twice keeps both its lines."""
    question: Question
    limits: ReadingLimits | None = None
    instrument: Instrument | None = None
    """The one that the shop usually takes."""
    same_as: int = 0
    """The line that this one repeats; 0 for none."""
    detours: tuple[Detour, ...] = ()


@dataclass(frozen=True, slots=True)
class Block:
    """The questions of one check on one side; of a check that asks nothing, none."""

    check: Check
    side: str
    lines: tuple[Line, ...]
    limits: tuple[str, ...]
    """Those that no line of its own shows, as sentences."""
    as_on: str = ""
    """The side for which the same was said already."""


@dataclass(frozen=True, slots=True)
class Leg:
    """A step of the walk."""

    step: Step
    blocks: tuple[Block, ...]
    after: bool = False
    """It comes after the calibration."""

    @property
    def cautions(self) -> tuple[str, ...]:
        """Those of its checks, each once."""
        return tuple(dict.fromkeys(c.strip() for b in self.blocks for c in b.check.cautions))


@dataclass(frozen=True, slots=True)
class Worksheet:
    sheet: Sheet
    bay: Bay | None
    sides: tuple[str, ...]
    system: System
    legs: tuple[Leg, ...]
    plan: Picture
    tapes: tuple[Row, ...]
    at: datetime

    @property
    def lines(self) -> tuple[Line, ...]:
        return tuple(line for leg in self.legs for block in leg.blocks for line in block.lines)

    @property
    def instruments(self) -> tuple[Instrument, ...]:
        """Those that the lines name, each once."""
        return tuple({i.id: i for line in self.lines if (i := line.instrument) is not None}.values())


def worksheet(found: Opened, bay: Bay | None, sides: Sequence[str], now: datetime) -> Worksheet:
    """The worksheet of a sheet in a bay for these sides; without a bay nothing of a bay is on it. Raises ShopError."""
    blank = blank_visit(found, bay, sides, now)
    return Worksheet(
        found.sheet, bay, tuple(sides), blank.shop.units, tuple(_Writer(blank, now).legs()),
        _plan(found.sheet, bay, sides, blank.shop.units), rows(found.sheet, sides), now,
    )  # fmt: skip


def _plan(sheet: Sheet, bay: Bay | None, sides: Sequence[str], system: System) -> Picture:
    """Car, zones and targets, and where a bay is named what stands in it, the car on its marks."""
    there = bay or NOWHERE
    things = bay_things(there, Where(there.standing))
    drawn = plan_view(sheet, there, there.standing, sides, things, system=system)
    return drawn if bay is not None else tuple(s for s in drawn if s.role != "bay")


class _Writer:
    """Numbers the questions and finds what is known of each."""

    def __init__(self, blank: Visit, now: datetime) -> None:
        self.now = now
        self.blank = blank
        self.usual = usual_answers(with_perfect_tools(blank), now)
        self.asked = {step.id: stops(self.usual, step, now) for step in all_steps(blank)}
        self.asked_by: dict[Place, list[tuple[Check, str]]] = {}
        for stop in (s for on_step in self.asked.values() for s in on_step):
            self.asked_by.setdefault(stop.place, []).extend(stop.asked_by)
        self.numbers: dict[Place, int] = {}
        self.count = 0

    def legs(self) -> Iterator[Leg]:
        after = self.blank.checklist.closing
        for step in all_steps(self.blank):
            yield Leg(step, tuple(self._blocks(step)), step in after)

    def _blocks(self, step: Step) -> Iterator[Block]:
        stations_before: list[tuple[Check, str]] = []
        for check, side in stations(self.usual.checklist, step, self.usual.job.sides):
            mine = [s for s in self.asked[step.id] if (s.check.id, s.side) == (check.id, side)]
            lines = tuple(self._line(stop, step) for stop in mine)
            before = next((s for c, s in stations_before if c.id == check.id), "")
            yield Block(check, side, lines, self._limits(check, side, lines), before)
            stations_before.append((check, side))

    def _line(self, stop: Stop, step: Step) -> Line:
        self.count += 1
        question = stop.question
        if stop.place in self.numbers:
            return Line(self.count, question, same_as=self.numbers[stop.place])
        self.numbers[stop.place] = self.count
        day = self.now.date()
        tool = (
            first_in_date(self.blank.instruments, question.measures, day) if question.instrumented else None
        )
        limits = reading_limits(self.usual, stop, self.asked_by[stop.place], self.now)
        return Line(self.count, question, limits, tool, detours=tuple(self._detours(stop, step)))

    def _detours(self, stop: Stop, step: Step) -> Iterator[Detour]:
        given = self.usual.readings.get(stop.place)
        known = {s.place for s in self.asked[step.id]}
        for choice in stop.question.choices:
            if given is None or choice.value != given[-1].value:
                otherwise = with_readings(self.usual, [reading_of(self.usual, stop, choice.value, self.now)])
                answered = usual_answers(otherwise, self.now, (step,))
                new = [s.question for s in stops(answered, step, self.now) if s.place not in known]
                if new:
                    yield Detour(choice, tuple(new))

    def _limits(self, check: Check, side: str, lines: Sequence[Line]) -> tuple[str, ...]:
        """All limits of a check in words, unless each of its numbers shows them in its own line."""
        parts = find(self.usual, check, side, self.now).parts
        shown = {x.question.part or x.question.key for x in lines if x.limits is not None or x.same_as}
        judged = {p.key for p in parts if p.low is not None or p.high is not None}
        if judged <= shown and judged:
            return ()
        return tuple(words for words, _ in limits_in_words(check, self.usual.shop.units))

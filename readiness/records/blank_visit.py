"""A sheet in a bay before anything was answered, and the usual answers: those that pass and lead no farther."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date, datetime

from msgspec.structs import replace as changed

from readiness import units
from readiness.checklist.model import Step
from readiness.checks.finding import Visit, ask, find
from readiness.checks.instruments import first_in_date
from readiness.checks.kind import Place, Question
from readiness.checks.walking import Stop, stops
from readiness.job import Bay, Instrument, Job, Point, Reading, Shop, Standing, Value
from readiness.records.sheets import Opened

NOWHERE = Bay(
    bay="",
    title="",
    outline=tuple(Point(x=x, y=y) for x, y in ((-50.0, -50.0), (50.0, -50.0), (50.0, 50.0), (-50.0, 50.0))),
    standing=Standing(x=0.0, y=0.0),
)
"""No bay in particular: room enough, and nothing known of its floor and its things."""
PERFECT = " perfect"
"""Id of an instrument that there is not; no shop can have it, since ids are words."""
MOST_ANSWERS = 2000
"""More than any checklist asks for; a kind that never stops asking must not hang the program."""


def blank_visit(found: Opened, bay: Bay | None, sides: Sequence[str], now: datetime) -> Visit:
    """A visit with no answer. A sheet's file outside of any shop has no instruments. Raises ShopError."""
    folder = found.folder
    shop = folder.shop if found.has_shop else Shop(shop="", altitude=0.0)
    there = bay or NOWHERE
    job = Job(job="", sheet=found.sheet.sheet, bay=there.bay, sides=tuple(sides), opened=now, by="")
    tools = folder.instruments if found.has_shop else {}
    return Visit(found.checklist, found.sheet, there, shop, tools, job)


def with_perfect_tools(visit: Visit) -> Visit:
    """The visit with an instrument without error for whatever the shop has none for, so that bare limits show."""
    has = {i.measures for i in visit.instruments.values()}
    perfect = (
        Instrument(
            id=f"{PERFECT} {measures}", title="", measures=measures, accuracy=f"0 {unit}", resolution=f"0 {unit}",
            due=date.max,
        )
        for measures, unit in units.MEASURES.items()
        if measures not in has
    )  # fmt: skip
    return replace(visit, instruments={**visit.instruments, **{i.id: i for i in perfect}})


def all_steps(visit: Visit) -> tuple[Step, ...]:
    """The steps before the calibration and those after it."""
    return (*visit.checklist.steps, *visit.checklist.closing)


def usual_answers(visit: Visit, now: datetime, steps: Sequence[Step] = ()) -> Visit:
    """The visit with the usual answer to every question that must be answered and is not, of these steps or of all.

    Numbers stand in the middle of what is plausible: they say nothing of the car, but no further question comes.
    """
    for _ in range(MOST_ANSWERS):
        stop = _first_open(visit, now, steps or all_steps(visit))
        if stop is None:
            break
        visit = with_readings(visit, [reading_of(visit, stop, _usual(visit, stop, now), now)])
    return visit


def _first_open(visit: Visit, now: datetime, steps: Sequence[Step]) -> Stop | None:
    for step in steps:
        for stop in stops(visit, step, now):
            if not stop.question.optional and stop.place not in visit.readings:
                return stop
    return None


def with_readings(visit: Visit, readings: Iterable[Reading]) -> Visit:
    """The visit with readings added, or in place of those of the same questions."""
    new = {_place(r): r for r in readings}
    kept = (r for r in visit.job.readings if _place(r) not in new)
    return replace(visit, job=changed(visit.job, readings=(*kept, *new.values())))


def reading_of(visit: Visit, stop: Stop, value: Value, now: datetime) -> Reading:
    """An answer as the wizard would keep it, with the instrument that it would offer."""
    check, side, key = stop.place
    question = stop.question
    number = question.type == "quantity"
    tool = first_in_date(visit.instruments, question.measures, now.date()) if number else None
    return Reading(
        check=check, side=side, question=key, value=value, unit=question.unit if number else "", at=now, by="",
        evidence=question.evidence, instrument=tool.id if tool else "",
    )  # fmt: skip


def _usual(visit: Visit, stop: Stop, now: datetime) -> Value:
    question = stop.question
    if question.type == "text":
        return question.default or "-"
    if question.type == "quantity":
        return _middle(question)
    offered = [c.value for c in question.choices if c.value == question.default]
    return offered[0] if offered else _easiest(visit, stop, now)


def _easiest(visit: Visit, stop: Stop, now: datetime) -> str:
    """The first answer that passes; where none does, the one after which the check asks least."""

    def trouble(nth: int) -> tuple[bool, int, int]:
        reading = reading_of(visit, stop, stop.question.choices[nth].value, now)
        answered = with_readings(visit, [reading])
        if _passes(answered, stop, now):
            return False, 0, nth
        asked = ask(answered, stop.check, stop.side, now)
        return True, sum(not q.optional for q in asked), nth

    return stop.question.choices[min(range(len(stop.question.choices)), key=trouble)].value


def _passes(visit: Visit, stop: Stop, now: datetime) -> bool:
    """Whether the part that this question decides passes."""
    key = stop.question.part or stop.question.key
    parts = find(visit, stop.check, stop.side, now).parts
    return any(p.key == key and p.outcome == "pass" for p in parts)


def _middle(question: Question) -> float:
    low = 0.0 if question.low is None else question.low
    high = low + 1.0 if question.high is None else question.high
    return (low + high) / 2.0


def _place(reading: Reading) -> Place:
    return reading.check, reading.side, reading.question

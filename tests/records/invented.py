"""Jobs filled with random answers, taken through the same questions as a person would be asked."""

from __future__ import annotations

import random
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

from msgspec.structs import replace as changed

from readiness.checks.entry import understood
from readiness.checks.finding import Visit, ask
from readiness.checks.kind import SHARED, Question
from readiness.job import Attached, Ended, Event, Fix, Job, Reading, Waiver
from readiness.records.demo import copy_demo
from readiness.records.shop import ShopFolder

AT = datetime(2026, 5, 4, 9, 0, tzinfo=timezone(timedelta(hours=2)))
"""When the demo shop of these tests stands still."""

SHEETS = {
    "tern-rear-corner": ("left", "right"),
    "pipit-front": ("single",),
    "godwit-camera": ("single",),
    "dunlin-surround": ("single",),
}


def demo_shop(to: Path) -> ShopFolder:
    return copy_demo(to / "shop", AT)


def opened(sheet: str = "tern-rear-corner", name: str = "HB-9000", bay: str = "bay-1") -> Job:
    return Job(job=name, sheet=sheet, bay=bay, sides=SHEETS[sheet], opened=AT, by="A. Test", plate="ZZ 900")


def filled(folder: ShopFolder, job: Job, seed: int = 0, rounds: int = 4) -> Job:
    """The job with an answer to every question, in rounds as questions appear."""
    chance, at = random.Random(seed), AT
    for _ in range(rounds):
        visit = folder.visit(job)
        taken = {(r.check, r.side, r.question) for r in job.readings}
        for check in (*visit.checklist.walk(), *visit.checklist.close_walk()):
            for side in job.sides if check.per_side else ("",):
                for question in ask(visit, check, side, at):
                    place = (SHARED, "", question.key) if question.shared else (check.id, side, question.key)
                    if place in taken:
                        continue
                    taken.add(place)
                    at += timedelta(seconds=1)
                    reading = _answer(visit, question, place, at, chance)
                    job = changed(job, readings=(*job.readings, reading))
    return job


def busy(folder: ShopFolder, job: Job, seed: int = 0) -> Job:
    """A filled job in which things went wrong too: repeats, a fix, an event, a waiver, notes, told answers."""
    job = filled(folder, job, seed)
    late = max(r.at for r in job.readings) + timedelta(minutes=1)
    again = [changed(r, at=late, note='once more: #2, "so"') for r in job.readings if r.check == "tyres"]
    told = [
        changed(r, evidence="told", told_by="the owner", by="B. Test")
        if r.question.startswith("tread")
        else r
        for r in job.readings
    ]
    late += timedelta(minutes=1)
    return changed(
        job,
        readings=(*told, *again),
        fixes=(Fix(check="tyres", question="pressure.lf", at=late, by="A. Test", text="inflated: 230"),),
        events=(Event(event="door_opened", at=late, by="B. Test"),),
        waivers=(
            Waiver(check="centre_marks", reason="the procedure does not use them", at=late, by="A. Test"),
        ),
        attached=(
            Attached(
                path="photos/1: left.jpg", sha256="0f" * 32, size=7, what="'left' #1", at=late, by="B. Test"
            ),
        ),
        ended=Ended(at=late + timedelta(minutes=1), by="B. Test", why="handed over: all well"),
    )


def _answer(
    visit: Visit, question: Question, place: tuple[str, str, str], at: datetime, chance: random.Random
) -> Reading:
    text = typed(question, chance)
    value, unit = understood(question, text, visit.shop.units)
    tool = next((i.id for i in visit.instruments.values() if i.measures == question.measures), "")
    return Reading(
        check=place[0], side=place[1], question=place[2], value=value, unit=unit, text=text, at=at,
        by="A. Test", evidence=question.evidence, instrument=tool if question.instrumented else "",
    )  # fmt: skip


def typed(question: Question, chance: random.Random) -> str:
    """Something that answers the question, as a person would type it."""
    if question.type == "choice":
        return chance.choice(question.choices).key
    if question.type == "text":
        return question.default or "215/60 R17 96H"
    low = 0.0 if question.low is None else question.low
    high = low + 10 if question.high is None else question.high
    return f"{chance.uniform(low, high):.2f} {question.unit}".strip()


NOW = AT.astimezone(UTC) + timedelta(minutes=20)

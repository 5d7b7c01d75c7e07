"""Invented visits for tests, in short notation.

    scene(check("stance", limits), {"height.lf": "412 mm", "height.lr": ("408 mm", "409 mm")})

An answer is typed text, put through the same way as in the wizard (the check's own questions,
units.parse), or `given(...)` where time, instrument or evidence matter; a tuple is a series. Where
nothing else is said, an answer is taken at AT with the first instrument that measures it. An answer
that the check never asks for is a mistake of the test and raises.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

import msgspec
from msgspec.structs import replace as changed

from readiness.checklist.model import Check, Checklist, Step
from readiness.checks import kinds
from readiness.checks.entry import understood
from readiness.checks.finding import Visit
from readiness.checks.kind import SHARED, Judgement, Part, Question, Scene
from readiness.job import (
    Axles,
    Bay,
    Carried,
    Dimensions,
    Document,
    Event,
    Evidence,
    Fix,
    Fuel,
    Instrument,
    Job,
    Load,
    Marks,
    Placard,
    Place,
    Point,
    Pressures,
    Reading,
    RideHeights,
    Sensor,
    Sheet,
    Shop,
    Standing,
    Station,
    Target,
    Waiver,
)

AT = datetime(2026, 5, 4, 9, 0, tzinfo=UTC)
"""When every answer is taken unless a test says otherwise."""
NOW = AT + timedelta(minutes=10)
"""When scenes are judged unless a test says otherwise."""

SHOP = Shop(shop="Invented shop", altitude=0.0, people=("A. Test",))

BAY = Bay(
    bay="bay-1",
    title="Invented bay",
    outline=tuple(Point(x=x, y=y) for x, y in ((-4, -4), (9, -4), (9, 4), (-4, 4))),
    standing=Standing(x=0.0, y=0.0),
)

SHEET = Sheet(
    sheet="invented-estate",
    title="Invented estate, rear corner radar",
    car="Invented estate",
    powertrain="petrol",
    checklist="invented",
    document=Document(reference="INV-001"),
    placard=Placard(
        size=Axles(front="205/55 R16 91V", rear="205/55 R16 91V"),
        pressure=Pressures(front=230.0, rear=250.0),
    ),
    dimensions=Dimensions(
        wheelbase=2.7, track_front=1.55, track_rear=1.53, length=4.6, width=1.82, front_overhang=0.9
    ),
    fuel=Fuel(kind="petrol", tank=50.0, tank_at=0.4, level=1.0),
    load=Load(
        carried=(Carried(name="spare wheel", mass=14.0, x=-0.6), Carried(name="tool roll", mass=3.0, x=-0.7)),
        stations=(
            Station(name="front seats", x=1.3),
            Station(name="rear seat", x=0.5),
            Station(name="boot floor", x=-0.5),
        ),
    ),
    ride_heights=RideHeights(kind="hub_to_arch", front=390.0, rear=380.0),
    marks=Marks(front=3.55, rear=-0.95),
    sensors=(Sensor(id="radar", at=Place(x=-0.8, y=0.65, z=0.6)),),
    targets=(
        Target(
            id="reflector", at=Place(x=-3.0, y=1.5, z=0.6), feet=(Point(x=-3.2, y=1.5), Point(x=-2.8, y=1.5))
        ),
    ),
)


def _tool(id: str, measures: str, accuracy: str, resolution: str) -> Instrument:
    return Instrument(
        id=id, title=f"invented {id}", measures=measures, accuracy=accuracy, resolution=resolution,
        due=date(2026, 12, 31),
    )  # fmt: skip


INSTRUMENTS = {
    i.id: i
    for i in (
        _tool("gauge", "pressure", "1 kPa", "1 kPa"),
        _tool("thermometer", "temperature", "1 degC", "0.1 degC"),
        _tool("depth-gauge", "depth", "0.1 mm", "0.1 mm"),
        _tool("tape", "length", "1 mm", "1 mm"),
        _tool("laser-meter", "distance", "0.01 m", "0.001 m"),
        _tool("laser", "height", "1 mm", "0.5 mm"),
        _tool("level", "slope", "0.2 mm/m", "0.05 mm/m"),
        _tool("scales", "mass", "0.5 kg", "0.1 kg"),
        _tool("light-meter", "illuminance", "5 %", "1 lx"),
        _tool("voltmeter", "voltage", "0.05 V", "0.01 V"),
        _tool("angle-gauge", "angle", "0.2 deg", "0.1 deg"),
        _tool("paint-gauge", "thickness", "10 um", "1 um"),
    )
}


@dataclass(frozen=True)
class Given:
    """One typed answer with its circumstances; `minutes` after AT. No instrument: ''."""

    text: str
    minutes: float = 0.0
    instrument: str | None = None
    evidence: Evidence | None = None
    by: str = "A. Test"


def given(text: str, **circumstances: Any) -> Given:
    return Given(text, **circumstances)


Answer = str | Given
Answers = Mapping[str, Answer | tuple[Answer, ...]]
Place_ = str | tuple[str, str]
"""A check's id, or its id and the side."""

# --- checks and checklists -----------------------------------------------------------------------


def check(kind: str, limits: Any = None, **more: Any) -> Check:
    """A check of a kind; `limits` as the kind's structure or as a mapping of its fields."""
    typed = kinds()[kind].Limits
    if limits is None or isinstance(limits, Mapping):
        limits = msgspec.convert(dict(limits or {}), typed)
    words: dict[str, Any] = {
        "id": kind, "title": kind.replace("_", " ").capitalize(), "hold": 60.0, "why": "why", "how": "how",
        "mistakes": ("mistake",), "remedy": f"Put {kind} right.",
    }  # fmt: skip
    return Check(kind=kind, limits=limits, **{**words, **more})


def checklist(*checks: Check, **more: Any) -> Checklist:
    """A checklist of one step with these checks in this walking order."""
    step = Step(id="all", title="All", checks=tuple(c.id for c in checks))
    return Checklist(
        checklist="invented",
        title="Invented",
        **{"sides": ("single",), "steps": (step,), **more},
        checks=checks,
    )


# --- visits --------------------------------------------------------------------------------------


def visit(
    *checks: Check,
    readings: Mapping[Place_, Answers] | None = None,
    sheet: Sheet = SHEET,
    bay: Bay = BAY,
    shop: Shop = SHOP,
    instruments: Mapping[str, Instrument] = INSTRUMENTS,
    sides: tuple[str, ...] = ("single",),
    fixes: Iterable[Fix] = (),
    events: Iterable[Event] = (),
    waivers: Iterable[Waiver] = (),
    now: datetime | None = None,
    **listed: Any,
) -> Visit:
    """A visit with these checks and answers; `readings` goes from check id (and side) to answers.

    With `now`, what is entered later is left out.
    """
    job = Job(
        job="invented-job", sheet=sheet.sheet, bay=bay.bay, sides=sides, opened=AT - timedelta(minutes=30),
        by="A. Test",
    )  # fmt: skip
    made = Visit(checklist(*checks, **listed), sheet, bay, shop, instruments, job)
    by_id = {c.id: c for c in checks}
    for place, answers in (readings or {}).items():
        check_id, side = (place, "") if isinstance(place, str) else place
        made = _answered(made, by_id[check_id], side, answers)
    happened = changed(made.job, fixes=tuple(fixes), events=tuple(events), waivers=tuple(waivers))
    made = replace(made, job=happened)
    return made if now is None else made.until(now)


def scene(
    one: Check, readings: Answers | None = None, *, side: str = "", now: datetime = NOW, **more: Any
) -> Scene:
    """The scene of one check with its answers; the other arguments are those of `visit`."""
    made = visit(one, readings={(one.id, side): readings or {}}, now=now, **more)
    return made.scene(one, side, now)


def judged(one: Check, readings: Answers | None = None, **more: Any) -> Judgement:
    """What the check's kind says of these answers."""
    return kinds()[one.kind].judge(scene(one, readings, **more), one.limits)


def asked(one: Check, readings: Answers | None = None, **more: Any) -> dict[str, Question]:
    """What the check asks after these answers, by key."""
    return {q.key: q for q in kinds()[one.kind].ask(scene(one, readings, **more), one.limits)}


def part(judgement: Judgement, key: str) -> Part:
    """The part of that key; a KeyError lists what there is."""
    parts = {p.key: p for p in judgement.parts}
    if key not in parts:
        raise KeyError(f"{key}: this judgement has {', '.join(parts)}")
    return parts[key]


def _answered(made: Visit, one: Check, side: str, answers: Answers) -> Visit:
    """Answers given in as many rounds as it takes for the questions that depend on others to appear.

    Nothing has lapsed yet while they are given.
    """
    left, lasting = dict(answers), changed(one, hold=1e6)
    while left:
        questions = {q.key: q for q in kinds()[one.kind].ask(made.scene(lasting, side, AT), one.limits)}
        known = [k for k in left if k in questions]
        if not known:
            raise KeyError(f"{one.id} does not ask for {', '.join(left)}; it asks for {', '.join(questions)}")
        taken = [r for k in known for r in _series(made, one, side, questions[k], left.pop(k))]
        made = _with(made, taken)
    return made


def _series(
    made: Visit, one: Check, side: str, question: Question, answer: Answer | tuple[Answer, ...]
) -> list[Reading]:
    series = answer if isinstance(answer, tuple) else (answer,)
    return [_reading(made, one, side, question, a if isinstance(a, Given) else Given(a)) for a in series]


def _reading(made: Visit, one: Check, side: str, question: Question, a: Given) -> Reading:
    value, unit = understood(question, a.text, made.shop.units)
    tool = a.instrument
    if tool is None:
        tool = next((i.id for i in made.instruments.values() if i.measures == question.measures), "")
    return Reading(
        check=SHARED if question.shared else one.id, question=question.key, value=value,
        at=AT + timedelta(minutes=a.minutes), by=a.by, side="" if question.shared else side, unit=unit,
        text=a.text, evidence=a.evidence or question.evidence, instrument=tool,
    )  # fmt: skip


def _with(made: Visit, readings: Iterable[Reading]) -> Visit:
    return replace(made, job=changed(made.job, readings=(*made.job.readings, *readings)))

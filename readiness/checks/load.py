"""Fuel and load: how far the load on each axle lies from what the procedure asks.

Fuel that is missing, things the procedure counts as carried but that are not there, and things found in
the car each change the load on both axles by the lever law; what lies behind the rear axle lifts the front.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import combinations
from typing import ClassVar

from msgspec import Struct

from readiness.checks.common import AIR, positive_problems
from readiness.checks.kind import YES_NO, Answer, Choice, Judgement, Question, Scene
from readiness.checks.parts import magnitude_part, missing_part
from readiness.checks.words import capital
from readiness.job import Kilogram, Station
from readiness.measure.axle import axle_change, ballast
from readiness.measure.fuel import mass_kg
from readiness.measure.uncertain import Estimate, Traced, from_half_width

KIND = "load"

GAUGE_A = 1 / 16
"""Half width of a fuel gauge, as a part of the tank; common practice, no published source."""
GUESSED_A = 2.0
"""kg; half width of a mass that was judged by hand, not weighed; common practice, no published source."""
STATION_A = 0.15
"""m; half width of where a thing's middle lies at its station; common practice, no published source."""
NO_THERMOMETER = Estimate(15.0, from_half_width(15.0))
"""°C, where the air was not read. Fuel counts as warm as the air: one degree is a thousandth of its mass."""
AXLES = ("front", "rear")
MOST_EXTRAS = 20
LETTERS = "abcdefghijklmnopqrstuvwxyz0123456789"
ENOUGH = 0.5
"""kg; less ballast than this is not worth naming."""


class Limits(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What may stand under `limits:` of a check of kind `load`; either way."""

    front_change: Kilogram
    """On the front axle, against what the procedure asks."""
    rear_change: Kilogram

    WORDS: ClassVar[dict[str, str]] = {
        "front_change": "load on the front axle at most {} from what the procedure asks",
        "rear_change": "load on the rear axle at most {} from what the procedure asks",
    }

    def problems(self) -> Iterator[tuple[str, str, str]]:
        """What is wrong, as (field path, found, expected)."""
        yield from positive_problems(self)


# --- asking --------------------------------------------------------------------------------------


def ask(scene: Scene, limits: Limits) -> list[Question]:
    questions = []
    if scene.sheet.fuel.kind != "none":
        questions.append(
            Question("fuel", "Fuel gauge", unit="fraction", low=0, high=1, accuracy=GAUGE_A, evidence="seen",
                     part="rear", hint=f"ignition on; the procedure asks for {_share(scene, scene.sheet.fuel.level)}")
        )  # fmt: skip
    for n, thing in enumerate(scene.sheet.load.carried, 1):
        questions.append(
            Question(f"carried.{n}", f"{capital(thing.name)} in the car", "choice", choices=YES_NO,
                     evidence="seen", part="rear", hint=f"{scene.show(thing.mass, 'kg')} at its own place")
        )  # fmt: skip
    questions.append(
        Question("extra", "Anything else in the car", "choice", choices=YES_NO, evidence="seen", part="rear",
                 hint="look in the boot, under the seats, on the roof")
    )  # fmt: skip
    return questions + _ask_extras(scene)


def _ask_extras(scene: Scene) -> list[Question]:
    asked: list[Question] = []
    for n in _extras(scene):
        asked += _ask_extra(scene, n)
    return asked


def _extras(scene: Scene) -> list[int]:
    """Numbers of the things found in the car, as far as they are asked about."""
    if scene.word("extra") != "yes":
        return []
    numbers = [1]
    while scene.word(f"extra.{numbers[-1]}.more") == "yes" and len(numbers) < MOST_EXTRAS:
        numbers.append(numbers[-1] + 1)
    return numbers


def _ask_extra(scene: Scene, n: int) -> list[Question]:
    places = tuple(Choice(key, s.name, s.name) for key, s in _keyed(_stations(scene)).items())
    return [
        Question(f"extra.{n}.name", f"Thing {n}: what", "text", evidence="seen", hint="such as tool chest"),
        Question(f"extra.{n}.mass", f"Thing {n}: mass", unit="kg", measures="mass", low=0.1, high=500,
                 accuracy=GUESSED_A, part="rear",
                 hint=f"weighed; without scales, judged to {scene.show(GUESSED_A, 'kg')}"),
        Question(f"extra.{n}.station", f"Thing {n}: where", "choice", choices=places, evidence="seen", part="rear"),
        Question(f"extra.{n}.more", "Anything else", "choice", choices=YES_NO, evidence="seen", part="rear"),
    ]  # fmt: skip


def _stations(scene: Scene) -> tuple[Station, ...]:
    """The sheet's stations, or the axles and the middle where it names none."""
    if scene.sheet.load.stations:
        return scene.sheet.load.stations
    wheelbase = scene.sheet.dimensions.wheelbase
    return (
        Station(name="over the front axle", x=wheelbase),
        Station(name="between the axles", x=wheelbase / 2),
        Station(name="over the rear axle", x=0.0),
    )


def _keyed(stations: tuple[Station, ...]) -> dict[str, Station]:
    """One key a station: a letter of its name where one is free, otherwise the next free letter or digit."""
    keyed: dict[str, Station] = {}
    for station in stations:
        own = [c for c in station.name.casefold() if c in LETTERS]
        key = next((c for c in (*own, *LETTERS) if c not in keyed), "")
        if key:
            keyed[key] = station
    return keyed


# --- what changes the load -----------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Cause:
    """A mass in kg that is there and should not be, or the other way round (negative), at x in m."""

    key: str
    """Names its errors."""
    words: str
    mass: Estimate
    x: Estimate
    undo: str
    """What puts it right, as a clause that begins with a capital."""
    tool: str = ""
    """What it was weighed with: the same scales are wrong by the same amount each time."""


_Change = tuple[Traced, Traced]
"""Change of load on the front and rear axle in kg."""


def judge(scene: Scene, limits: Limits) -> Judgement:
    answers = _answers(scene)
    missing = [a for a in answers if not a.ready]
    if missing:
        ordered = (*missing, *(a for a in answers if a.ready))
        return Judgement(tuple(missing_part(axle, f"Load on the {axle} axle", *ordered) for axle in AXLES))
    causes = _causes(scene)
    change = _summed(_change_by(scene, c) for c in causes)
    readings = tuple(r for a in answers for r in a.readings)
    parts = []
    for axle, limit, by in zip(AXLES, (limits.front_change, limits.rear_change), change, strict=True):
        label = f"{'Load too much' if by.value >= 0 else 'Load missing'} on the {axle} axle"
        parts.append(
            magnitude_part(scene, axle, label, by.estimate, "kg", limit, readings=readings,
                           remedy=_remedy(scene, causes, change, axle))
        )  # fmt: skip
    return Judgement(tuple(parts), _notes(scene, causes))


def changes_by_cause(scene: Scene) -> Mapping[str, tuple[Traced, Traced]] | None:
    """What each thing that is there or missing does to the front and the rear axle, in kg over what the procedure asks.

    By 'fuel', 'carried 2', 'thing 1'; None while answers are missing. Errors: 'load: fuel, mass', 'load: <tool>' of
    all that was weighed with it, 'load: thing 1, mass' and 'load: thing 1, place'; what is moved ahead takes from the
    rear axle what it gives to the front.
    """
    if not all(a.ready for a in _answers(scene)):
        return None
    return {c.key: _change_by(scene, c) for c in _causes(scene)}


def _answers(scene: Scene) -> list[Answer]:
    answers = []
    if scene.sheet.fuel.kind != "none":
        answers.append(scene.answer("fuel", accuracy=GAUGE_A))
    answers += [scene.answer(f"carried.{n}") for n, _ in enumerate(scene.sheet.load.carried, 1)]
    answers.append(scene.answer("extra"))
    for n in _extras(scene):
        answers += [
            scene.answer(f"extra.{n}.name"),
            scene.answer(f"extra.{n}.mass", accuracy=GUESSED_A),
            scene.answer(f"extra.{n}.station"),
            scene.answer(f"extra.{n}.more"),
        ]
    return answers


def _causes(scene: Scene) -> list[_Cause]:
    causes = []
    if scene.sheet.fuel.kind != "none":
        causes.append(_fuel_cause(scene))
    for n, thing in enumerate(scene.sheet.load.carried, 1):
        if scene.word(f"carried.{n}") == "no":
            causes.append(
                _Cause(f"carried {n}", f"{thing.name} not in the car", Estimate(-thing.mass), Estimate(thing.x),
                       f"Put the {thing.name} ({scene.show(thing.mass, 'kg')}) back in its place")
            )  # fmt: skip
    return causes + [_extra_cause(scene, n) for n in _extras(scene)]


def _fuel_cause(scene: Scene) -> _Cause:
    """Fuel over or under what the procedure asks, at the temperature of the bay's air."""
    fuel = scene.sheet.fuel
    level = scene.answer("fuel", accuracy=GAUGE_A).estimate
    assert level is not None
    litres = level.shifted(-fuel.level).scaled(fuel.tank)
    air = scene.answer(AIR.key, shared=True).estimate or NO_THERMOMETER
    mass = mass_kg(litres, air, fuel.kind)
    amount = f"{scene.show(round(abs(litres.value)), 'L')} of {fuel.kind}"
    if litres.value < 0:
        return _Cause("fuel", f"{amount} missing", mass, Estimate(fuel.tank_at), f"Fill in about {amount}")
    undo = f"Let a licensed hand draw off {amount}, or ask the procedure whether a fuller tank is allowed"
    return _Cause("fuel", f"{amount} too much", mass, Estimate(fuel.tank_at), undo)


def _extra_cause(scene: Scene, n: int) -> _Cause:
    name, where = scene.word(f"extra.{n}.name"), scene.word(f"extra.{n}.station")
    mass = scene.answer(f"extra.{n}.mass", accuracy=GUESSED_A).estimate
    x = next((s.x for s in _stations(scene) if s.name == where), None)
    assert mass is not None
    if x is None:
        raise ValueError(f"extra.{n}.station is '{where}', which is no station of this sheet")
    size, tool = scene.show(mass.value, "kg"), scene.series(f"extra.{n}.mass")[-1].instrument
    return _Cause(f"thing {n}", f"{name} ({size}, {where})", mass, Estimate(x, from_half_width(STATION_A)),
                  f"Take the {name} ({size}, {where}) out of the car", tool)  # fmt: skip


def _summed(changes: Iterable[_Change]) -> _Change:
    """The sum over all causes. Masses from the same scales share their error (JCGM 100 5.2.2, inputs
    correlated with coefficient 1; clause from memory); all else is independent."""
    together = list(changes)
    front, rear = (Traced(0.0).plus(*(c[k] for c in together)) for k in (0, 1))
    return front, rear


def _change_by(scene: Scene, cause: _Cause) -> _Change:
    """What one cause does to both axles; where it lies takes from one what it gives to the other."""
    wheelbase = scene.sheet.dimensions.wheelbase
    weighed = Traced.of(f"load: {cause.tool or f'{cause.key}, mass'}", cause.mass)
    lever = cause.mass.value * cause.x.u / wheelbase
    place = Traced(0.0, {f"load: {cause.key}, place": lever} if lever else {})
    to_front, to_rear = axle_change(1.0, cause.x.value, wheelbase)
    return weighed.scaled(to_front).plus(place), weighed.scaled(to_rear).minus(place)


# --- what to do about it -------------------------------------------------------------------------


def _remedy(scene: Scene, causes: list[_Cause], change: _Change, axle: str) -> str:
    """Undo what pushes this axle the wrong way, largest first, or put ballast in its stead."""
    wheelbase, k = scene.sheet.dimensions.wheelbase, AXLES.index(axle)
    total = change[k].value
    pushes = [(axle_change(c.mass.value, c.x.value, wheelbase)[k], c) for c in causes]
    wrong = sorted((p for p in pushes if p[0] * total > 0), key=lambda p: -abs(p[0]))
    steps = "; ".join(c.undo if n == 0 else c.undo[:1].lower() + c.undo[1:] for n, (_, c) in enumerate(wrong))
    instead = _ballast(scene, -change[0].value, -change[1].value)
    clauses = [c for c in (steps, f"or put {instead}" if instead else "") if c]
    return f"{', '.join(clauses)}; then answer here again." if clauses else ""


def _ballast(scene: Scene, front: float, rear: float) -> str:
    """Ballast that gives both axles what they lack: '12 kg on rear seat and 3 kg on boot floor'.

    Two stations meet both axles exactly; of the pairs that need nothing taken out, the one that needs
    ballast in fewest places, then the nearest together, is named. Empty where no pair does.
    """
    wheelbase = scene.sheet.dimensions.wheelbase
    found = []
    for a, b in combinations(_stations(scene), 2):
        if a.x == b.x:
            continue
        masses = ballast(front, rear, (a.x, b.x), wheelbase)
        if min(masses) < -ENOUGH or sum(masses) < ENOUGH:
            continue
        used = [(m, s) for m, s in zip(masses, (a, b), strict=True) if m >= ENOUGH]
        found.append((len(used), abs(a.x - b.x), used))
    if not found:
        return ""
    _, _, used = min(found, key=lambda f: f[:2])
    return " and ".join(f"{scene.show(m, 'kg')} of ballast at {s.name}" for m, s in used)


# --- words ---------------------------------------------------------------------------------------


def _notes(scene: Scene, causes: list[_Cause]) -> tuple[str, ...]:
    wheelbase = scene.sheet.dimensions.wheelbase
    notes = []
    for c in causes:
        if abs(c.mass.value) < ENOUGH / 10:
            continue
        front, rear = axle_change(c.mass.value, c.x.value, wheelbase)
        notes.append(f"{capital(c.words)}: front {_signed(scene, front)}, rear {_signed(scene, rear)}.")
    return tuple(notes)


def _signed(scene: Scene, kg: float) -> str:
    return f"{'+' if kg >= 0 else '-'}{scene.show(abs(kg), 'kg')}"


def _share(scene: Scene, level: float) -> str:
    return "a full tank" if level == 1 else f"{scene.show(level, 'fraction')} of the tank"

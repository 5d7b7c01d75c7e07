"""Tyres: cold pressure, side to side, size, load index and tread, wheel by wheel round the car.

The pressure that counts is the cold equivalent at the temperature of the bay's air, by the gas law
with absolute pressures and temperatures. A car that stood here three hours or more has tyres at the
bay's temperature; one from the road needs the temperature of each tyre, and that widens u.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar

from msgspec import Struct

from readiness.checks.car import wheel_numbers
from readiness.checks.common import AIR
from readiness.checks.kind import YES_NO, Alike, Answer, Choice, Judgement, Part, Question, Scene
from readiness.checks.parts import magnitude_part, missing_part, number_part
from readiness.checks.tyres.cold import BAROMETER_U, ROAD, STOOD, Cold, at_temperature, colds_of
from readiness.job import WHEEL_NAMES, WHEELS, Kilopascal, Millimetre
from readiness.measure.uncertain import Estimate, combined

KIND = "tyres"

PARKED = (
    Choice("s", STOOD, "stood here three hours or more"),
    Choice("r", ROAD, "from the road"),
)


class Limits(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What may stand under `limits:` of a check of kind `tyres`."""

    pressure_below: Kilopascal
    """How far the cold equivalent may lie under the placard."""
    pressure_above: Kilopascal
    side_difference: Kilopascal
    """Between left and right on one axle, cold."""
    least_tread: Millimetre
    tread_difference: Millimetre
    """Between left and right on one axle."""

    WORDS: ClassVar[dict[str, str]] = {
        "pressure_below": "cold pressure at most {} under the placard",
        "pressure_above": "cold pressure at most {} over the placard",
        "side_difference": "left and right at most {} apart, cold",
        "least_tread": "tread at least {}",
        "tread_difference": "tread left and right at most {} apart",
    }

    def problems(self) -> Iterator[tuple[str, str, str]]:
        """What is wrong, as (field path, found, expected)."""
        for name in ("pressure_below", "pressure_above", "least_tread"):
            if getattr(self, name) < 0:
                yield name, f"{getattr(self, name):g}", "zero or more"
        if self.pressure_below == self.pressure_above == 0:
            yield "pressure_below", "0, as pressure_above", "room for the gauge on one side or the other"
        for name in ("side_difference", "tread_difference"):
            if not getattr(self, name) > 0:
                yield name, f"{getattr(self, name):g}", "more than zero"


def ask(scene: Scene, limits: Limits) -> list[Question]:
    questions = [
        Question("parked", "How long has it stood", "choice", choices=PARKED, evidence="told",
                 hint="cold means not driven for at least three hours"),
        AIR,
        _barometer(scene),
        Question("sizes", "All four as the placard", "choice", choices=YES_NO, evidence="seen",
                 hint=_placard_sizes(scene), part="size"),
    ]  # fmt: skip
    for wheel in WHEELS:
        questions += _ask_wheel(scene, wheel)
    return questions


def judge(scene: Scene, limits: Limits) -> Judgement:
    colds = colds_of(scene)
    treads = {w: scene.answer(f"tread.{w}") for w in WHEELS}
    parts = [_size_part(scene)]
    parts += [_pressure_part(scene, limits, w, colds[w]) for w in WHEELS]
    parts += [_side_part(scene, limits, axle, colds) for axle in ("front", "rear")]
    parts += [_tread_part(scene, limits, w, treads[w]) for w in WHEELS]
    parts += [_tread_side_part(scene, limits, axle, treads) for axle in ("front", "rear")]
    return Judgement(tuple(parts), _notes(scene), wheel_numbers(scene, parts, "pressure", "kPa"))


# --- read again at another hour ------------------------------------------------------------------


def read_beside(question: str) -> tuple[str, ...]:
    """What a pressure has to be read with to be compared with that of another hour."""
    name, _, wheel = question.partition(".")
    return ("parked", AIR.key, f"temperature.{wheel}") if name == "pressure" else ()


def alike(then: Scene, again: Scene, question: str) -> Alike | None:
    """Both pressures as the gauge would show them at the air temperature of the first hour."""
    wheel, air = question.partition(".")[2], then.answer(AIR.key, shared=True).estimate
    if air is None:
        return None
    first, second = (at_temperature(scene, wheel, air.value) for scene in (then, again))
    if first is None or second is None:
        return None
    return Alike(first, second, f"both at {then.show(air.value, AIR.unit)}, the air when it was read first")


# --- asking --------------------------------------------------------------------------------------


def _ask_wheel(scene: Scene, wheel: str) -> list[Question]:
    name = WHEEL_NAMES[wheel]
    asked = []
    if scene.word("sizes") == "no":
        asked.append(
            Question(f"size.{wheel}", f"{name}: size", "text", evidence="seen", pattern=_size_fault,
                     hint="as on the side wall, such as 215/60 R17 96H", part="size",
                     default=_size_before(scene, wheel))
        )  # fmt: skip
    if scene.word("parked") == ROAD:
        asked.append(
            Question(f"temperature.{wheel}", f"{name}: tyre", unit="degC", measures="temperature",
                     low=-30, high=90, hint="inside shoulder of the tread, where it is warmest")
        )  # fmt: skip
    asked.append(
        Question(f"pressure.{wheel}", f"{name}: pressure", unit="kPa", measures="pressure", low=100,
                 high=500, hint=f"placard {scene.show(_placard(scene, wheel), 'kPa')} cold; gauge straight on the valve", part=f"pressure.{wheel}")
    )  # fmt: skip
    asked.append(
        Question(f"tread.{wheel}", f"{name}: tread", unit="mm", measures="depth", low=0, high=14,
                 hint="main groove, the shallowest of three places", part=f"tread.{wheel}")
    )  # fmt: skip
    return asked


def _size_before(scene: Scene, wheel: str) -> str:
    """The size read last on the way round the car; a wrong size seldom comes alone."""
    before = WHEELS[: WHEELS.index(wheel)]
    return next((size for w in reversed(before) if (size := scene.word(f"size.{w}"))), "")


def _barometer(scene: Scene) -> Question:
    from readiness.measure.atmosphere import looks_like_sea_level, reduced_to_station, standard_pressure

    altitude = scene.shop.altitude
    expected = standard_pressure(altitude)

    def explain(value: float) -> str:
        if not looks_like_sea_level(value, altitude):
            return ""
        return (
            f"{scene.show(value, 'kPa')} is a weather report's figure, reduced to sea level; at "
            f"{scene.show(altitude, 'm')} that stands for {scene.show(reduced_to_station(value, altitude), 'kPa')} "
            "here. Type that, or leave it empty and the altitude serves."
        )

    return Question(
        "barometer", "Barometer here", unit="kPa", low=expected - 5, high=expected + 5, optional=True,
        accuracy=BAROMETER_U * 3**0.5, shared=True, explain=explain,
        hint=f"station pressure; empty: {scene.show(expected, 'kPa')} from the altitude",
    )  # fmt: skip


def _placard_sizes(scene: Scene) -> str:
    size = scene.sheet.placard.size
    return size.front if size.front == size.rear else f"front {size.front}, rear {size.rear}"


def _size_fault(text: str) -> str:
    from readiness.measure.tyre import parse_size

    try:
        parse_size(text)
    except ValueError as fault:
        return str(fault)
    return ""


# --- pressure ------------------------------------------------------------------------------------


def _placard(scene: Scene, wheel: str) -> float:
    pressure = scene.sheet.placard.pressure
    return pressure.front if wheel.endswith("f") else pressure.rear


def _to_set(scene: Scene, limits: Limits, wheel: str, u: float) -> float:
    """The cold pressure to set: the placard's, or the nearest that counts with this gauge."""
    placard, guard = _placard(scene, wheel), scene.factor * u
    least, most = placard - limits.pressure_below + guard, placard + limits.pressure_above - guard
    return min(max(placard, least), most) if least <= most else (least + most) / 2


def _pressure_part(scene: Scene, limits: Limits, wheel: str, c: Cold) -> Part:
    key, name = f"pressure.{wheel}", WHEEL_NAMES[wheel].capitalize()
    if c.cold is None:
        return missing_part(key, name, *c.needed)
    placard, gauge = _placard(scene, wheel), c.gauge_now(_to_set(scene, limits, wheel, c.cold.u))
    return number_part(
        scene, key, f"{name}, cold,", c.cold, "kPa",
        low=placard - limits.pressure_below, high=placard + limits.pressure_above,
        remedy=f"Set the gauge to {scene.show(round(gauge), 'kPa')} now, then read again.",
        readings=tuple(r for a in c.needed for r in a.readings),
    )  # fmt: skip


def _side_part(scene: Scene, limits: Limits, axle: str, colds: dict[str, Cold]) -> Part:
    left, right = (colds["lf"], colds["rf"]) if axle == "front" else (colds["lr"], colds["rr"])
    key, label = f"side.{axle}", f"{axle.capitalize()} pressure, left against right,"
    if left.cold is None or right.cold is None:
        return missing_part(key, label, *left.needed, *right.needed)
    gap = abs(left.cold.value - right.cold.value)
    return magnitude_part(
        scene, key, label, Estimate(gap, combined(left.cold.u, right.cold.u)), "kPa",
        limits.side_difference, remedy=f"Set both {axle} tyres to the same pressure, then read both again.",
        readings=(*left.pressure.readings, *right.pressure.readings),
    )  # fmt: skip


# --- size and tread ------------------------------------------------------------------------------


def _size_part(scene: Scene) -> Part:
    all_as_placard = scene.answer("sizes")
    if not all_as_placard.ready:
        return missing_part("size", "Tyre sizes", all_as_placard)
    if all_as_placard.word == "yes":
        return Part("size", "Tyre sizes", "pass", f"All four are {_placard_sizes(scene)}, as the placard says.",
                    _placard_sizes(scene), readings=all_as_placard.readings)  # fmt: skip
    answers = {w: scene.answer(f"size.{w}") for w in WHEELS}
    readings = (*all_as_placard.readings, *(r for a in answers.values() for r in a.readings))
    if not all(a.ready for a in answers.values()):
        return missing_part("size", "Tyre sizes", *answers.values())
    fault = _fault_of_sizes(scene, {w: a.word for w, a in answers.items()})
    shown = ", ".join(f"{w} {a.word}" for w, a in answers.items())
    if fault:
        return Part("size", "Tyre sizes", "fail", fault, shown, readings=readings,
                    remedy="Fit the placard's size, the same on both wheels of an axle, then start with the tyres again.")  # fmt: skip
    return Part(
        "size", "Tyre sizes", "pass", "Sizes and load indices meet the placard.", shown, readings=readings
    )


def _fault_of_sizes(scene: Scene, fitted: dict[str, str]) -> str:
    """The first thing wrong with the sizes, as a sentence; empty if they meet the placard."""
    from readiness.measure.tyre import diameter_mm, load_capacity_kg, parse_size

    placard = scene.sheet.placard.size
    for wheel, text in fitted.items():
        size, asked = parse_size(text), parse_size(placard.front if wheel.endswith("f") else placard.rear)
        name = WHEEL_NAMES[wheel].capitalize()
        if (size.width, size.aspect, size.rim) != (asked.width, asked.aspect, asked.rim):
            off = (diameter_mm(size) - diameter_mm(asked)) / 2
            return (
                f"{name} is {text}, the placard says {asked}: its radius differs by {scene.show(off, 'mm')}."
            )
        if asked.load_index is not None and (size.load_index or 0) < asked.load_index:
            has = (
                f"{size.load_index} ({load_capacity_kg(size.load_index):.0f} kg)"
                if size.load_index
                else "not known"
            )
            return (
                f"{name}: load index {has}, the placard asks for {asked.load_index} "
                f"({load_capacity_kg(asked.load_index):.0f} kg) or more."
            )
    return ""


def _tread_part(scene: Scene, limits: Limits, wheel: str, tread: Answer) -> Part:
    key, label = f"tread.{wheel}", f"{WHEEL_NAMES[wheel].capitalize()} tread"
    if not tread.ready or tread.estimate is None:
        return missing_part(key, label, tread)
    return number_part(scene, key, label, tread.estimate, "mm", low=limits.least_tread,
                       remedy="Replace the tyres of this axle, then start with the tyres again.",
                       readings=tread.readings)  # fmt: skip


def _tread_side_part(scene: Scene, limits: Limits, axle: str, treads: dict[str, Answer]) -> Part:
    left, right = (treads["lf"], treads["rf"]) if axle == "front" else (treads["lr"], treads["rr"])
    key, label = f"tread.{axle}", f"{axle.capitalize()} tread, left against right,"
    if left.estimate is None or right.estimate is None:
        return missing_part(key, label, left, right)
    gap = Estimate(
        abs(left.estimate.value - right.estimate.value), combined(left.estimate.u, right.estimate.u)
    )
    return magnitude_part(scene, key, label, gap, "mm", limits.tread_difference,
                          remedy="Fit tyres of like wear on this axle: the car leans by half the difference.",
                          readings=(*left.readings, *right.readings))  # fmt: skip


# --- beside the judgement ------------------------------------------------------------------------


def _notes(scene: Scene) -> tuple[str, ...]:
    if scene.word("parked") == ROAD:
        return (
            "The tyres are warm: pressures are converted to the bay's air, and the tyre temperature widens the uncertainty.",
        )
    return ()

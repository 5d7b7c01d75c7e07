"""Instruments: those that the current readings name must be known, in date and fine enough.

Nothing is asked; the readings of the other checks say what was used. An instrument is in date on the
last day of its calibration too. It is fine enough when its accuracy, at each of its readings, is not
coarser than the checklist needs.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date

from msgspec import Struct

from readiness import units
from readiness.checks import kinds
from readiness.checks.kind import SHARED, Judgement, Part, Question, Scene
from readiness.checks.parts import unit_of_difference
from readiness.checks.words import capital
from readiness.job import WHEEL_NAMES, Instrument, Reading

KIND = "instruments"

ROUNDING = 1e-9
"""Share by which two accuracies may differ and still be the same, after their units were converted."""


class Need(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What an instrument has to be good for."""

    measures: str
    """A key of units.MEASURES."""
    accuracy: str
    """The coarsest that will do: text with a unit, '3 kPa', or a share of the reading, '5 %'."""
    purpose: str


class Limits(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What may stand under `limits:` of a check of kind `instruments`."""

    needs: tuple[Need, ...]

    def problems(self) -> Iterator[tuple[str, str, str]]:
        """What is wrong, as (field path, found, expected)."""
        for n, need in enumerate(self.needs, 1):
            if need.measures not in units.MEASURES:
                yield f"needs[{n}].measures", f"'{need.measures}'", f"one of {', '.join(units.MEASURES)}"
            elif not _positive(need):
                expected = (
                    f"a {need.measures} such as '1 {units.MEASURES[need.measures]}', or a share such as '5 %'"
                )
                yield f"needs[{n}].accuracy", f"'{need.accuracy}'", expected


def first_in_date(instruments: Mapping[str, Instrument], measures: str, day: date) -> Instrument | None:
    """The instrument that is offered before one was chosen: the first that is in date, else the first of all."""
    fitting = [i for i in instruments.values() if i.measures == measures]
    return next((i for i in fitting if i.due >= day), fitting[0] if fitting else None)


def ask(scene: Scene, limits: Limits) -> list[Question]:
    return []


def judge(scene: Scene, limits: Limits) -> Judgement:
    used = _used(scene)
    parts = [_date_part(scene, id_, readings) for id_, readings in used.items()]
    known = [(scene.instruments[id_], readings) for id_, readings in used.items() if id_ in scene.instruments]
    for n, need in enumerate(limits.needs, 1):
        parts += _need_parts(scene, n, need, [(i, rs) for i, rs in known if i.measures == need.measures])
    if not parts:
        parts = [Part("instruments", "Instruments", "not_done", "No reading names an instrument yet.")]
    return Judgement(tuple(parts))


# --- which instruments ---------------------------------------------------------------------------


def _used(scene: Scene) -> dict[str, tuple[Reading, ...]]:
    """Instrument id -> the current readings that name it, in the order in which they were taken."""
    found: dict[str, list[Reading]] = {}
    for reading in sorted(_current(scene), key=lambda r: (r.at, r.check, r.side, r.question)):
        if reading.instrument:
            found.setdefault(reading.instrument, []).append(reading)
    return {id_: tuple(readings) for id_, readings in found.items()}


def _current(scene: Scene) -> Iterator[Reading]:
    """Readings of the whole job that still count for the check that asked for them."""
    checks = {c.id: c for c in scene.checks}
    for (check, side, question), readings in scene.readings.items():
        if not any(r.instrument for r in readings):
            continue
        if check == SHARED:
            yield from scene.answer(question, shared=True).readings
        elif check in checks:
            yield from scene.of(checks[check], side).series(question)


# --- in date -------------------------------------------------------------------------------------


def _date_part(scene: Scene, id_: str, readings: tuple[Reading, ...]) -> Part:
    key, instrument = f"date.{id_}", scene.instruments.get(id_)
    if instrument is None:
        return Part(
            key, id_, "fail",
            f"{_what(scene, readings)} names the instrument '{id_}', which the shop does not have.",
            id_, readings=readings,
            remedy="Name the instrument that was used, or add this one to the shop's instruments.",
        )  # fmt: skip
    last = max(r.at.date() for r in readings)
    label, due = f"{instrument.title} in date", f"{instrument.due:%Y-%m-%d}"
    if last <= instrument.due:
        reason = f"{instrument.title} ({id_}) is in date until {due}."
        return Part(key, label, "pass", reason, due, readings=readings)
    late = tuple(r for r in readings if r.at.date() > instrument.due)
    return Part(
        key, label, "fail",
        f"{instrument.title} ({id_}) was due for calibration on {due}, before it was read on {last:%Y-%m-%d}: "
        f"{_what(scene, late)}.",
        due, readings=readings, remedy=_use_another(scene, instrument, late),
    )  # fmt: skip


# --- fine enough ---------------------------------------------------------------------------------


def _need_parts(
    scene: Scene, n: int, need: Need, used: list[tuple[Instrument, tuple[Reading, ...]]]
) -> list[Part]:
    if used:
        return [_fine_part(scene, f"need.{n}.{i.id}", need, i, readings) for i, readings in used]
    if _read_before(scene, need):
        reason = f"The readings for {need.purpose} count no more."
        return [Part(f"need.{n}", f"Accuracy for {need.purpose}", "lapsed", reason)]
    if _set_aside(scene, need):
        reason = f"Nothing is read for {need.purpose}: that was set aside."
        return [Part(f"need.{n}", f"Accuracy for {need.purpose}", "pass", reason)]
    return [
        Part(f"need.{n}", f"Accuracy for {need.purpose}", "not_done",
             f"No reading that counts names an instrument for {need.purpose} yet.",
             remedy=f"Take the readings for {need.purpose} and name the instrument.")
    ]  # fmt: skip


def _read_before(scene: Scene, need: Need) -> bool:
    """Whether there are readings for it, of which none counts any more."""
    fitting = {i.id for i in scene.instruments.values() if i.measures == need.measures}
    return any(r.instrument in fitting for rs in scene.readings.values() for r in rs)


def _set_aside(scene: Scene, need: Need) -> bool:
    """Whether everything that such an instrument would have been read for was set aside."""
    if not scene.job.waivers:
        return False
    kind_of = kinds()
    asking = [
        there.set_aside
        for check in scene.checks
        for there in (scene.of(check, side) for side in (scene.job.sides if check.per_side else ("",)))
        if any(q.measures == need.measures for q in kind_of[check.kind].ask(there, check.limits))
    ]
    return bool(asking) and all(asking)


def _fine_part(
    scene: Scene, key: str, need: Need, instrument: Instrument, readings: tuple[Reading, ...]
) -> Part:
    label, unit = f"{instrument.title} for {need.purpose}", units.MEASURES[need.measures]
    try:
        good, most = _worst(instrument, need, readings)
    except units.UnitsError:
        reason = f"{_what(scene, readings)} is no {need.measures}, but names {instrument.title}."
        remedy = "Name the instrument that was used."
        return Part(key, label, "fail", reason, remedy=remedy, readings=readings)
    fine = good <= most * (1 + ROUNDING)
    words = (
        f"{instrument.title} ({instrument.id}, in date until {instrument.due:%Y-%m-%d}) is good to "
        f"±{scene.show(good, unit_of_difference(unit))}; {need.purpose} needs ±{scene.show(most, unit_of_difference(unit))}"
    )
    return Part(
        key, label, "pass" if fine else "fail", f"{words}." if fine else f"{words} or better.", good,
        unit_of_difference(unit), high=most, margin=most - good, readings=readings,
        remedy="" if fine else _use_another(scene, instrument, readings, need),
    )  # fmt: skip


def _worst(instrument: Instrument, need: Need, readings: tuple[Reading, ...]) -> tuple[float, float]:
    """The instrument's half width and the one needed, at the reading where they compare worst."""
    unit = units.MEASURES[need.measures]
    at = [(_half_width(instrument.accuracy, r, unit), _half_width(need.accuracy, r, unit)) for r in readings]
    return max(at, key=lambda pair: pair[0] - pair[1])


def _half_width(text: str, reading: Reading, unit: str) -> float:
    """A half width in `unit` at one reading, from text such as '3 kPa' or '5 %'."""
    return units.accuracy(text, unit, units.convert(float(reading.value), reading.unit, unit))


# --- words ---------------------------------------------------------------------------------------


def _what(scene: Scene, readings: tuple[Reading, ...]) -> str:
    """The readings meant, by the check's title and the question: 'Tyres (pressure left front) and 2 more'."""
    titles = {c.id: c.title for c in scene.checks}
    named = (f"{titles[r.check]} ({_plain(r)})" if r.check in titles else _plain(r) for r in readings)
    first, *others = dict.fromkeys(named)
    return capital(first) + (f" and {len(others)} more" if others else "")


def _plain(reading: Reading) -> str:
    """A question's key as words: 'pressure left front' for pressure.lf."""
    return " ".join(WHEEL_NAMES.get(word, word) for word in reading.question.split("."))


def _use_another(
    scene: Scene, instrument: Instrument, readings: tuple[Reading, ...], need: Need | None = None
) -> str:
    day = scene.now.date()
    others = [
        i for i in scene.instruments.values()
        if i.id != instrument.id and i.measures == instrument.measures and i.due >= day
        and (need is None or _fine(i, readings, need))
    ]  # fmt: skip
    use = f"{others[0].title} ({others[0].id})" if others else f"another {instrument.measures} instrument"
    fit = " that is in date" + (" and fine enough" if need else "")
    again = f"Read {_what(scene, readings)} again with {use}{'' if others else fit}"
    return f"{again}, as a correction of the old reading."


def _fine(instrument: Instrument, readings: tuple[Reading, ...], need: Need) -> bool:
    good, most = _worst(instrument, need, readings)
    return good <= most * (1 + ROUNDING)


def _positive(need: Need) -> bool:
    try:
        return units.accuracy(need.accuracy, units.MEASURES[need.measures], 1.0) > 0
    except units.UnitsError:
        return False

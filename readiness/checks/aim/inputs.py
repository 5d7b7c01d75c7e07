"""What the other checks of the visit know of car and bay, as raw causes of a sensor's aim; and what they lack."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta

from readiness.checks import centre_marks, floor, stance, tyres
from readiness.checks.floor.heights import Heights
from readiness.checks.kind import Scene
from readiness.checks.stance import estimate
from readiness.checks.tyres import radius
from readiness.job import WHEELS, Reading
from readiness.measure.uncertain import Traced

KEYS = {
    centre_marks.KIND: tuple(f"{end}.{side}" for end in ("front", "rear") for side in ("left", "right")),
    stance.KIND: tuple(f"height.{w}" for w in WHEELS),
    tyres.KIND: tuple(f"pressure.{w}" for w in WHEELS),
}
"""The answers of each check that the aim rests on; the floor says its own."""
NOUNS = {
    floor.KIND: "the floor", centre_marks.KIND: "the centre marks", stance.KIND: "how the body sits",
    tyres.KIND: "the tyre pressures",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Lack:
    """Something that is not known: what, and what to do, as words after its title."""

    noun: str
    todo: str
    lapsed: bool = False

    @property
    def words(self) -> str:
        return f"{self.noun} ({self.todo})"


@dataclass(frozen=True)
class Inputs:
    """Raw causes but those of the floor (see `measure.aim`), the floor's heights, and what is lacking."""

    raw: Mapping[str, Traced] = field(default_factory=dict)
    heights: Heights = field(default_factory=Heights)
    lacking: tuple[Lack, ...] = ()
    notes: tuple[str, ...] = ()
    readings: tuple[Reading, ...] = ()
    until: datetime | None = None
    """When the first of what it rests on ends."""

    def plus(self, other: Inputs) -> Inputs:
        ends = [u for u in (self.until, other.until) if u is not None]
        return replace(
            self, raw={**self.raw, **other.raw}, lacking=(*self.lacking, *other.lacking),
            notes=(*self.notes, *other.notes), readings=(*self.readings, *other.readings),
            until=min(ends, default=None),
        )  # fmt: skip


def gathered(scene: Scene) -> Inputs:
    """Floor, centre marks, the body with what the tyres do to it, and the thrust angle where it counts."""
    return _floor(scene).plus(_marks(scene)).plus(_body(scene)).plus(_thrust(scene))


def floor_lack(scene: Scene, noun: str) -> Lack:
    """That one place of the floor is not known."""
    beside = scene.beside(floor.KIND)
    return Lack(noun, f"answer {beside.check.title}" if beside else "this checklist has no check of it")


# --- one check at a time -------------------------------------------------------------------------


def _floor(scene: Scene) -> Inputs:
    beside = scene.beside(floor.KIND)
    if beside is None:
        return _lacks(scene, floor.KIND)
    heights = floor.heights_of(beside)
    feet = tuple(r for answers in heights.feet.values() for a in answers for r in a.readings)
    used = tuple(dict.fromkeys((*heights.readings, *feet)))
    known = Inputs(heights=heights, readings=used, until=_ends(beside, used, heights.until))
    if heights.surface is not None and not heights.open_loop:
        return known
    lapsed = heights.lapsed or any(a.missing == "lapsed" for a in heights.missing)
    wrong = bool(heights.open_loop or (heights.why and not heights.missing))
    return replace(known, lacking=(_lack(beside, floor.KIND, lapsed=lapsed, wrong=wrong),))


def _marks(scene: Scene) -> Inputs:
    beside = scene.beside(centre_marks.KIND)
    found = centre_marks.offsets(beside) if beside is not None else None
    if beside is None or found is None:
        return _lacks(scene, centre_marks.KIND)
    front, rear = found
    return _used(beside, {"mark.front": front, "mark.rear": rear})


def _body(scene: Scene) -> Inputs:
    """Measured heights; the tyres on top where the heights do not hold them, or alone where there are none."""
    beside = scene.beside(stance.KIND)
    found = stance.deviations(beside) if beside is not None else None
    if beside is not None and found is not None:
        body = _used(beside, {f"body.{w}": t for w, t in found.items()}).plus(_estimate(beside))
        return body if stance.body_kind(beside) == "floor_to_arch" else body.plus(_tyres(scene))
    if beside is not None and stance.body_kind(beside) is not None and not beside.set_aside:
        return _lacks(scene, stance.KIND)
    note = "How the body sits on its springs was not measured: it is taken as the sheet has it."
    return Inputs(notes=(note,)).plus(_tyres(scene))


def _estimate(beside: Scene) -> Inputs:
    """That the heights were not read, where they were not."""
    if all(beside.answer(key).ready for key in KEYS[stance.KIND]):
        return Inputs()
    note = "How the body sits was not measured: it is an estimate from load and springs."
    return Inputs(notes=(note,), readings=beside.answer(estimate.KEY).readings)


def _tyres(scene: Scene) -> Inputs:
    beside = scene.beside(tyres.KIND)
    found = radius.deviations(scene)
    if beside is not None and found is not None:
        return _used(beside, {f"tyre.{w}": t for w, t in found.items()})
    if beside is not None and beside.set_aside:
        return Inputs(notes=("The tyres were set aside: they are taken to be at the placard's pressure.",))
    return _lacks(scene, tyres.KIND)


def _thrust(scene: Scene) -> Inputs:
    if scene.sheet.refers_to != "thrust_line":
        return Inputs()
    answer = scene.answer("thrust", shared=True)
    if answer.estimate is None:
        todo = answer.problem or "answer it here"
        return Inputs(
            lacking=(Lack("the thrust angle", todo, answer.missing == "lapsed"),), readings=answer.readings
        )
    return Inputs({"thrust": Traced.of("thrust angle", answer.estimate)}, readings=answer.readings)


# --- what all have in common ---------------------------------------------------------------------


def _used(beside: Scene, raw: Mapping[str, Traced]) -> Inputs:
    readings = _readings(beside)
    return Inputs(raw, readings=readings, until=_ends(beside, readings, None))


def _readings(beside: Scene) -> tuple[Reading, ...]:
    return tuple(r for key in KEYS[beside.check.kind] for r in beside.answer(key).readings)


def _ends(beside: Scene, readings: tuple[Reading, ...], until: datetime | None) -> datetime | None:
    held = timedelta(minutes=beside.check.hold)
    return min([r.at + held for r in readings] + ([until] if until else []), default=None)


def _lacks(scene: Scene, kind: str) -> Inputs:
    beside = scene.beside(kind)
    if beside is None:
        return Inputs(lacking=(Lack(NOUNS[kind], "this checklist has no check of it"),))
    lapsed = any(beside.answer(key).missing == "lapsed" for key in KEYS.get(kind, ()))
    readings = _readings(beside) if kind in KEYS else ()
    return Inputs(lacking=(_lack(beside, kind, lapsed=lapsed),), readings=readings)


def _lack(beside: Scene, kind: str, *, lapsed: bool, wrong: bool = False) -> Lack:
    title = beside.check.title
    if beside.set_aside:
        todo = f"{title} was set aside: answer it"
    elif lapsed:
        todo = f"read {title} again"
    else:
        todo = f"put {title} right" if wrong else f"answer {title}"
    return Lack(NOUNS[kind], todo, lapsed)

"""Clear area: how far everything in the bay stands from the sheet's keep-clear zones, in plan.

Zones are drawn in car axes for the left side and mirrored for the right. What stands in the bay comes
from the bay's file; the technician's own kit and anything else is asked. In a metal-free zone only
what is or may be metal counts, in any other zone everything. Touching counts as in.

Where things stand is asked once for the car (the answers are shared), and judged for each side.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import ClassVar

from msgspec import Struct

from readiness.checks.clear_area.clearances import Pair, Zones, capital, pair_part, pairs_of, zone_name
from readiness.checks.clear_area.plan_view import bay_outline, plan_view, reach
from readiness.checks.clear_area.things import (
    SET_UP_U,
    Thing,
    bay_things,
    place_questions,
    typed_thing,
    zone_shape,
)
from readiness.checks.common import name_problems
from readiness.checks.kind import WORST_FIRST, YES_NO, Answer, Choice, Judgement, Part, Question, Scene
from readiness.checks.parts import missing_part, number_part
from readiness.checks.picture import Line, Picture
from readiness.job import Metre, Point, Standing, Zone
from readiness.measure.overlap import TOUCH
from readiness.measure.plan import Area, reach_beyond
from readiness.measure.uncertain import Estimate

KIND = "clear_area"

OUT, NEAR = "out", "near"
METAL = (Choice("y", "yes", "yes"), Choice("n", "no", "no"), Choice("u", "unknown", "not sure"))
NEAREST = 4
"""Things that get a part of their own in each zone; the rest stand farther off."""
MOST_OTHERS = 20


class Limits(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What may stand under `limits:` of a check of kind `clear_area`."""

    margin: Metre
    """Least clearance between a thing and a zone."""
    kit: tuple[str, ...] = ()
    """The technician's own kit, asked one by one."""

    WORDS: ClassVar[dict[str, str]] = {"margin": "everything at least {} clear of the zones"}

    def problems(self) -> Iterator[tuple[str, str, str]]:
        """What is wrong, as (field path, found, expected)."""
        yield from name_problems("kit", self.kit)
        if self.margin < 0:
            yield "margin", f"{self.margin:g} m", "zero or more"


def ask(scene: Scene, limits: Limits) -> list[Question]:
    far = reach(scene, limits.margin)
    where = f"farther than {far} from car and target"
    questions: list[Question] = []
    for key, plain in _kit(limits):
        name = capital(plain)
        choices = (Choice("o", OUT, f"outside, {where}"), Choice("n", NEAR, "near"))
        questions.append(
            Question(
                key,
                name,
                "choice",
                choices=choices,
                evidence="seen",
                part=key,
                shared=True,
                hint=f"where does the {plain} stand now",
            )
        )
        if scene.word(key, shared=True) == NEAR:
            questions += place_questions(key, name, radius=False)
    questions.append(
        Question("other", "Anything else near", "choice", choices=YES_NO, evidence="seen", part="other", shared=True,
                 hint=f"not {where}, and not in the bay's plan: a bin, a jack, another car")
    )  # fmt: skip
    for n in _others(scene):
        questions += _ask_other(scene, n)
    return questions


def judge(scene: Scene, limits: Limits) -> Judgement:
    zones = [(zone, zone_shape(zone, scene.side)) for zone in scene.sheet.zones]
    typed = _typed(scene, limits)
    things = [*(t.found for t in typed if isinstance(t.found, Thing)), *bay_things(scene)]
    if not zones:
        return Judgement((_no_zones(scene),), picture=plan_view(scene, zones, things))
    pairs = sorted(
        pairs_of(scene, limits.margin, zones, things), key=lambda p: (WORST_FIRST.index(p.call), p.clear)
    )
    worst = {t.key: next((p for p in pairs if p.thing.key == t.key), None) for t in typed}
    own = [_own_part(scene, limits, t, worst[t.key]) for t in typed]
    shown, notes = _by_zone(scene, zones, [p for p in pairs if p is not worst.get(p.thing.key)], pairs)
    small = list(_too_small(scene))
    parts = [*own, _other_part(scene), *(pair_part(scene, limits.margin, p) for p in shown), *small]
    parts.sort(key=_urgency)
    out = frozenset(p.key.removesuffix("/bay") for p in small)
    return Judgement(tuple(parts), notes, _picture(scene, zones, things, pairs, out))


# --- asking --------------------------------------------------------------------------------------


def _kit(limits: Limits) -> list[tuple[str, str]]:
    return [(f"kit.{n}", name) for n, name in enumerate(limits.kit, 1)]


def _others(scene: Scene) -> Iterator[int]:
    """Numbers of the other things named so far, and of the one to name next."""
    more = scene.word("other", shared=True)
    for n in range(1, MOST_OTHERS + 1):
        if more != "yes":
            return
        yield n
        more = scene.word(f"other.{n}.more", shared=True)


def _ask_other(scene: Scene, n: int) -> list[Question]:
    key = f"other.{n}"
    name = capital(scene.word(f"{key}.name", shared=True) or f"Thing {n}")
    return [
        Question(f"{key}.name", f"Thing {n}: what is it", "text", evidence="seen", part=key, shared=True),
        *place_questions(key, name, radius=True),
        Question(f"{key}.metal", f"{name}: metal", "choice", choices=METAL, evidence="seen", part=key, shared=True,
                 hint="metal anywhere in it counts"),
        Question(f"{key}.more", "Anything else near", "choice", choices=YES_NO, evidence="seen",
                 part="other", shared=True),
    ]  # fmt: skip


# --- parts ---------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Typed:
    """A thing that was asked for: placed, outside the area (None), or with answers missing."""

    key: str
    name: str
    said: Answer
    """The answer that says whether it is there."""
    found: Thing | tuple[Answer, ...] | None


def _typed(scene: Scene, limits: Limits) -> list[_Typed]:
    found = []
    for key, name in _kit(limits):
        said = scene.answer(key, shared=True)
        placed = typed_thing(scene, key, name) if said.word == NEAR else None if said.ready else (said,)
        found.append(_Typed(key, name, said, placed))
    for n in _others(scene):
        key = f"other.{n}"
        name, metal = (
            scene.word(f"{key}.name", shared=True) or f"thing {n}",
            scene.word(f"{key}.metal", shared=True) or "unknown",
        )
        found.append(
            _Typed(key, name, scene.answer(f"{key}.metal", shared=True), typed_thing(scene, key, name, metal))
        )
    return found


def _own_part(scene: Scene, limits: Limits, typed: _Typed, worst: Pair | None) -> Part:
    """The part of a thing that was asked for: its worst clearance, if it matters to any zone."""
    label = capital(typed.name)
    if typed.found is None:
        return Part(
            typed.key, label, "pass", f"{label} is outside the area.", OUT, readings=typed.said.readings
        )
    if not isinstance(typed.found, Thing):
        return missing_part(typed.key, label, *typed.found)
    readings = (*typed.said.readings, *typed.found.readings)
    if worst is not None:
        return replace(pair_part(scene, limits.margin, worst), key=typed.key, label=label, readings=readings)
    why = "is not metal" if typed.found.metal == "no" else "lies below or above the zones"
    return Part(typed.key, label, "pass", f"{label} {why}, so it does not matter.", readings=readings)


def _other_part(scene: Scene) -> Part:
    key, label = "other", "Other things near"
    asked = ["other", *(f"other.{n}.more" for n in _others(scene))]
    answers = [scene.answer(k, shared=True) for k in asked]
    if not all(a.ready for a in answers):
        return missing_part(key, label, *answers)
    readings = tuple(r for a in answers for r in a.readings)
    if answers[-1].word == "yes":
        reason = f"There is more to name, and {MOST_OTHERS} things are the most taken here."
        remedy = "Clear the area, then answer this step again."
        return Part(key, label, "not_done", reason, remedy=remedy, readings=readings)
    named = len(answers) - 1
    reason = f"All other things near are named: {named}." if named else "Nothing else stands near."
    return Part(key, label, "pass", reason, answers[0].word, readings=readings)


def _no_zones(scene: Scene) -> Part:
    return Part(
        "zones", "Keep-clear zones", "not_done",
        f"Sheet {scene.sheet.sheet} has no keep-clear zones (field 'zones'), so nothing can be judged.",
        remedy="Enter the zones of the maker's procedure under 'zones' in the sheet.",
    )  # fmt: skip


def _too_small(scene: Scene) -> Iterator[Part]:
    """A part for each zone that reaches out of the bay, where nobody has looked what stands."""
    for zone in scene.sheet.zones:
        beyond = _beyond(zone, scene.side, scene.bay.outline, scene.bay.standing)
        if beyond > TOUCH:
            name, size = zone_name(zone), scene.show(beyond, "m")
            part = number_part(scene, f"{zone.id}/bay", f"{capital(zone.id)} in the bay", Estimate(beyond, SET_UP_U), "m", high=0.0,
                               remedy="Choose a larger bay, or another place or way round in this one.")  # fmt: skip
            yield replace(
                part,
                reason=f"{capital(name)} reaches {size} out of {scene.bay.title}: it has no room there.",
            )


@lru_cache(maxsize=256)  # sheet and bay stay the same from answer to answer
def _beyond(zone: Zone, side: str, outline: tuple[Point, ...], standing: Standing) -> float:
    return reach_beyond(zone_shape(zone, side), Area(bay_outline(outline, standing)))


def _by_zone(
    scene: Scene, zones: Zones, rest: list[Pair], pairs: list[Pair]
) -> tuple[list[Pair], tuple[str, ...]]:
    """The nearest of each zone among the pairs that have no part yet, and notes on those left out."""
    shown: list[Pair] = []
    notes = []
    for zone, _ in zones:
        here = [p for p in rest if p.zone is zone]
        shown += here[:NEAREST]
        if left := here[NEAREST:]:
            clear = scene.show(min(p.clear for p in left), "m")
            count = "1 more stands" if len(left) == 1 else f"{len(left)} more stand"
            notes.append(f"{count} farther from {zone_name(zone)}, none nearer than {clear}.")
        if not any(p.zone is zone for p in pairs):
            notes.append(f"Nothing that matters to {zone_name(zone)} is known to stand here.")
    return shown, tuple(notes)


def _picture(
    scene: Scene, zones: Zones, things: list[Thing], pairs: list[Pair], out: frozenset[str]
) -> Picture:
    if not pairs:
        return plan_view(scene, zones, things, out)
    wrong = [p for p in pairs if p.call != "pass"]
    marked = out.union(k for p in wrong for k in (p.zone.id, p.thing.key))
    tightest = min(pairs, key=lambda p: p.clear)
    line = Line("clearance", tightest.gap, scene.show(tightest.clear, "m"), tightest.call != "pass")
    return (*plan_view(scene, zones, things, marked), line)


def _urgency(part: Part) -> tuple[int, float]:
    """Worst outcome first, then the smallest clearance."""
    return WORST_FIRST.index(part.outcome), math.inf if part.margin is None else part.margin

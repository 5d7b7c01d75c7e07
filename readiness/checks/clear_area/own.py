"""What a person tells of: the own kit, one by one, and anything else near that the bay's file does not know."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Literal

from msgspec import Struct

from readiness.checks.clear_area.placing import (
    BAY,
    TAPES,
    Placed,
    Unplaced,
    from_bay,
    from_car,
    placed_from_bay,
    placed_from_car,
    way_of,
    way_question,
)
from readiness.checks.clear_area.things import Thing
from readiness.checks.clear_area.two_tapes import by_tapes, placed_by_tapes
from readiness.checks.kind import Answer, Choice, Question, Scene
from readiness.checks.words import capital
from readiness.job import Metre
from readiness.measure.plan import Capsule, DiscAt, PointAt, Shape

OUT, NEAR = "out", "near"
NOTHING, THING, LONG, STEEL = "no", "yes", "long", "steel"
MORE = (
    Choice("n", NOTHING, "no"),
    Choice("y", THING, "yes: a bin, a jack, another car"),
    Choice("l", LONG, "something long: a pipe, a ladder"),
    Choice("s", STEEL, "steel in the floor or part of a lift"),
)
METAL = (Choice("y", "yes", "yes"), Choice("n", "no", "no"), Choice("u", "unknown", "not sure"))
MOST_OTHERS = 20
SIZE_A = 0.02
"""m; half width of a size by eye or as the checklist has it; common practice, no published source."""
WIDEST, HIGHEST = 3.0, 5.0


class Kit(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One piece of the technician's own kit, as big as it usually is."""

    name: str
    radius: Metre
    """Of the circle that holds it, seen from above."""
    height: Metre
    metal: Literal["yes", "no", "unknown"] = "unknown"
    people: bool = False
    """A person works at it."""


@dataclass(frozen=True, slots=True)
class Told:
    """A thing that was asked for: placed, outside the area (None), or not to be placed."""

    key: str
    name: str
    said: Answer
    """The answer that says whether it is there."""
    found: Thing | Unplaced | None


# --- asking --------------------------------------------------------------------------------------


def ask_kit(scene: Scene, kit: tuple[Kit, ...], where: str) -> list[Question]:
    questions: list[Question] = []
    for key, one in _numbered(kit):
        name = capital(one.name)
        choices = (Choice("o", OUT, f"outside, {where}"), Choice("n", NEAR, "near"))
        questions.append(
            Question(key, name, "choice", choices=choices, evidence="seen", part=key, shared=True,
                     hint=f"where is the {one.name} now")
        )  # fmt: skip
        if scene.word(key, shared=True) == NEAR:
            questions += _place_questions(scene, key, name, "its middle", one.height)
            questions += _size_questions(scene, key, name, one)
    return questions


def ask_others(scene: Scene, where: str) -> list[Question]:
    first = Question("other", "Anything else near", "choice", choices=MORE, evidence="seen", part="other", shared=True,
                     hint=f"not {where}, and not in the bay's plan")  # fmt: skip
    return [first, *(q for n, kind in others(scene) for q in _ask_other(scene, n, kind))]


def others(scene: Scene) -> Iterator[tuple[int, str]]:
    """Numbers of the other things named so far and of the one to name next, and what kind of thing each is."""
    more = scene.word("other", shared=True)
    for n in range(1, MOST_OTHERS + 1):
        if more not in _HINTS:  # nothing, or no word that was ever offered
            return
        yield n, more
        more = scene.word(f"other.{n}.more", shared=True)


def _ask_other(scene: Scene, n: int, kind: str) -> list[Question]:
    key = f"other.{n}"
    name = capital(scene.word(f"{key}.name", shared=True) or f"Thing {n}")
    asked = [
        Question(f"{key}.name", f"Thing {n}: what is it", "text", evidence="seen", part=key, shared=True,
                 default="steel in the floor" if kind == STEEL else "", hint=_HINTS[kind])
    ]  # fmt: skip
    asked += _place_questions(scene, key, name, "the middle of one end" if kind == LONG else "its middle")
    if kind == LONG:
        asked += _place_questions(scene, f"{key}.end", "Other end", "the middle of the other end")
    asked += _size_questions(scene, key, name, None, kind)
    metal = Question(f"{key}.metal", f"{name}: metal", "choice", choices=METAL, evidence="seen", part=key, shared=True,
                     hint="metal anywhere in it counts")  # fmt: skip
    more = Question(f"{key}.more", "Anything else near", "choice", choices=MORE, evidence="seen", part="other",
                    shared=True, hint="one thing after the other")  # fmt: skip
    return [*asked, *(() if kind == STEEL else (metal,)), more]


_HINTS = {
    THING: "a word for it; people are no things: they stay out by themselves",
    LONG: "a word for it; it is placed by its two ends",
    STEEL: "a drain cover, a rail, a lift arm or post; put it into the bay's file too",
}


def _place_questions(scene: Scene, key: str, name: str, spot: str, top: float = 0.0) -> list[Question]:
    way = way_of(scene, key)
    if way == TAPES:
        lengths = by_tapes(scene, key, name, spot, top)
    else:
        lengths = from_bay(scene, key, name, spot) if way == BAY else from_car(key, name, spot)
    return [way_question(scene, key, name), *lengths]


def _size_questions(
    scene: Scene, key: str, name: str, preset: Kit | None, kind: str = THING
) -> list[Question]:
    """Radius and height; Enter takes what is offered."""
    radius, height = (
        (scene.show(preset.radius, "m"), scene.show(preset.height, "m")) if preset is not None else ("", "")
    )
    known = "Enter takes the checklist's" if preset is not None else ""
    round_it = (
        "half its width; empty: a line"
        if kind == LONG
        else f"of the circle that holds it; {known or 'empty: a point'}"
    )
    asked = [
        Question(f"{key}.radius", f"{name}: radius", high=WIDEST, default=radius,
                 hint=round_it),
        Question(f"{key}.height", f"{name}: top", high=HIGHEST, default=height,
                 hint=f"above the floor; {known or 'empty: any height'}"),
    ]  # fmt: skip
    return [
        replace(q, unit="m", low=0.0, accuracy=SIZE_A, evidence="seen", optional=True, shared=True)
        for q in asked
    ]


def _numbered(kit: tuple[Kit, ...]) -> list[tuple[str, Kit]]:
    return [(f"kit.{n}", one) for n, one in enumerate(kit, 1)]


# --- what was told -------------------------------------------------------------------------------


def told_things(scene: Scene, kit: tuple[Kit, ...]) -> list[Told]:
    found = []
    for key, one in _numbered(kit):
        said = scene.answer(key, shared=True)
        placed = (
            _thing(scene, key, one.name, one)
            if said.word == NEAR
            else None
            if said.ready
            else Unplaced((said,))
        )
        found.append(Told(key, one.name, said, placed))
    for n, kind in others(scene):
        key = f"other.{n}"
        name = scene.word(f"{key}.name", shared=True) or f"thing {n}"
        said = scene.answer(f"{key}.{'name' if kind == STEEL else 'metal'}", shared=True)
        found.append(Told(key, name, said, _thing(scene, key, name, None, kind)))
    return found


def _thing(scene: Scene, key: str, name: str, preset: Kit | None, kind: str = THING) -> Thing | Unplaced:
    """A thing from the answers to its questions."""
    usual = preset.height if preset else 0.0
    ends = [_placed(scene, key, usual), *([_placed(scene, f"{key}.end", usual)] if kind == LONG else [])]
    for end in ends:
        if isinstance(end, Unplaced):
            return end
    places = [end for end in ends if isinstance(end, Placed)]
    radius, height = (
        scene.answer(f"{key}.{size}", accuracy=SIZE_A, shared=True) for size in ("radius", "height")
    )
    sizes = tuple(a for a in (radius, height) if a.readings or a.missing == "lapsed")
    if not all(a.ready for a in sizes):
        return Unplaced(sizes)
    r, u_r = _size(radius, preset.radius if preset else 0.0, preset is not None)
    top, u_top = _size(height, preset.height if preset else math.inf, preset is not None)
    guard = scene.factor * u_top
    metal = preset.metal if preset else "yes" if kind == STEEL else scene.word(f"{key}.metal", shared=True)
    return Thing(
        key, name, _shape(places, max(0.0, r)),
        tuple(replace(p.doubt, u=math.hypot(p.doubt.u, u_r)) for p in places),
        high=top + guard, sure_high=top - guard, metal=metal or "unknown", people=preset is not None and preset.people,
        fixed=kind == STEEL, readings=(*(r for p in places for r in p.readings), *(r for a in sizes for r in a.readings)),
    )  # fmt: skip


def _size(answer: Answer, usual: float, preset: bool) -> tuple[float, float]:
    """A size and its standard uncertainty: as it was told, else as usual."""
    if answer.estimate is not None:
        return answer.estimate.value, answer.estimate.u
    return usual, SIZE_A / math.sqrt(3.0) if preset else 0.0


def _placed(scene: Scene, key: str, top: float) -> Placed | Unplaced:
    way = way_of(scene, key)
    if way == TAPES:
        return placed_by_tapes(scene, key, top)
    return placed_from_bay(scene, key) if way == BAY else placed_from_car(scene, key)


def _shape(places: list[Placed], radius: float) -> Shape:
    at = places[0].at
    if len(places) == 2:
        return Capsule(*at, *places[1].at, radius)
    return DiscAt(*at, radius) if radius else PointAt(*at)

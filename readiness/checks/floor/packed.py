"""What was put under a foot of the target: plates, or the foot screwed out or in, count as floor there.

So a floor whose heights come from a survey can be put right foot by foot, and nobody measures it anew.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import replace
from functools import lru_cache

from readiness.checks.car import LYING, foot_places
from readiness.checks.floor.from_survey import AT_POINT
from readiness.checks.floor.heights import Heights, place_name
from readiness.checks.kind import Question, Scene
from readiness.checks.words import capital
from readiness.job import WHEELS
from readiness.measure.surface import Surface
from readiness.measure.uncertain import Estimate

PLATE_A = 0.5
"""Half width in mm of what a plate or some turns of a screw really come to; common practice, no published source."""
WORTH = 2.0 * PLATE_A
"""mm; a foot that is off by less gains nothing by a plate."""
MOST = 100.0
"""mm; higher than this nobody packs a foot."""


def key_of(foot: str) -> str:
    return f"packed.{foot}"


def ask_packed(scene: Scene, heights: Heights) -> Iterator[Question]:
    """One question for each foot that is off the plane of the wheels, or that was packed."""
    for foot in foot_places(scene.sheet, scene.job.sides):
        answered = bool(scene.answer(key_of(foot), accuracy=PLATE_A).readings)
        if answered or _is_off(heights.surface, foot):
            yield _question(foot)


def _question(foot: str) -> Question:
    down = "" if foot.endswith(f".{LYING}") else ", minus if it was screwed in"
    return Question(
        key_of(foot), f"{capital(place_name(foot))}, packed", unit="mm", low=-MOST, high=MOST, accuracy=PLATE_A,
        optional=True,
        hint=f"what was put under it since the floor was read: thickness of the plate{down}",
    )  # fmt: skip


def _is_off(surface: Surface | None, foot: str) -> bool:
    if surface is None or foot not in surface.heights:
        return False
    return abs(surface.over_plane(foot, WHEELS).value) > WORTH


def packed(scene: Scene, heights: Heights) -> Heights:
    """The heights with what stands under each foot. A foot whose packing has lapsed is not known any more."""
    surface = heights.surface
    answers = {
        foot: scene.answer(key_of(foot), accuracy=PLATE_A)
        for foot in foot_places(scene.sheet, scene.job.sides)
        if surface is not None and foot in surface.heights
    }
    used = {foot: a for foot, a in answers.items() if a.readings or a.missing == "lapsed"}
    if surface is None or not used:
        return heights
    plates = {foot: a.estimate for foot, a in used.items() if a.estimate is not None and a.ready}
    lapsed = tuple(foot for foot, a in used.items() if foot not in plates)
    return replace(
        heights, surface=_raised(surface, tuple(plates.items()), lapsed),
        points=tuple(p for p in heights.points if p not in lapsed),
        feet={**heights.feet, **{f: (a, *heights.feet.get(f, ())) for f, a in used.items()}},
        notes=(*heights.notes, *_notes(scene, plates)),
    )  # fmt: skip


@lru_cache(maxsize=16)  # the same plates from answer to answer
def _raised(surface: Surface, plates: tuple[tuple[str, Estimate], ...], unknown: tuple[str, ...]) -> Surface:
    """The surface with these feet higher by their plates, and the points that were surveyed under them too."""
    places = {p: at for p, at in surface.places.items() if p not in unknown}
    heights, effects = dict(surface.heights), dict(surface.effects)
    for foot, plate in plates:
        for name, at in places.items():
            if name == foot or (name not in WHEELS and math.dist(at, places[foot]) <= AT_POINT):
                heights[name] += plate.value
                effects[name] = {**effects[name], f"packing of {foot}": plate.u}
    return Surface(places, {p: heights[p] for p in places}, {p: effects[p] for p in places})


def _notes(scene: Scene, plates: Mapping[str, Estimate]) -> Iterator[str]:
    for foot, plate in plates.items():
        how = "is screwed in" if plate.value < 0 else "is packed"
        if plate.value:
            yield f"{capital(place_name(foot))} {how} by {scene.show(abs(plate.value), 'mm')}."

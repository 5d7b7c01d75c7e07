"""Floor: slope, flatness and twist under the car, and every target foot against the wheel plane.

A floor that is one tilted plane under car and target does little harm if the stand is squared to it; a
floor that changes between car and target does. So everything is measured against the plane of the
four wheel contacts (least squares), the plane that the car itself stands on.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Annotated, ClassVar

from msgspec import Meta, Struct

from readiness.checks import place
from readiness.checks.car import car_outline, foot_places
from readiness.checks.common import positive_problems
from readiness.checks.floor.classes import class_notes
from readiness.checks.floor.from_survey import by_survey, why_not_now
from readiness.checks.floor.heights import (
    DIAGONALS,
    WHEEL_RUNS,
    Heights,
    by_laser,
    foot_runs,
    place_name,
    places,
    short_name,
)
from readiness.checks.floor.levels import by_level
from readiness.checks.floor.packed import ask_packed, packed
from readiness.checks.floor.parts import flatness_part, foot_label, foot_part, slope_parts, twist_part
from readiness.checks.floor.quick_check import ask_quick, confirmed, quick_parts
from readiness.checks.floor.words import details, height_map
from readiness.checks.kind import YES_NO, Choice, Judgement, Part, Question, Scene
from readiness.checks.parts import missing_part
from readiness.checks.words import capital
from readiness.job import WHEELS, Millimetre, Outcome, Slope

KIND = "floor"

SURVEY, LASER, LEVEL = "survey", "laser", "level"
FROM_SURVEY = Choice("s", SURVEY, "the bay's survey")
MEASURED = (Choice("l", LASER, "laser and staff"), Choice("v", LEVEL, "level, read both ways round"))


OPEN_LOOP = "The level runs do not fit together."


class Limits(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What may stand under `limits:` of a check of kind `floor`; all either way."""

    slope_along: Slope
    slope_across: Slope
    flatness: Millimetre
    """Highest to lowest of all points about their best plane."""
    twist: Millimetre
    """One wheel contact against the plane of the other three."""
    target_height: Millimetre
    """Every target foot against the plane of the wheels."""
    quick_check: Annotated[int, Meta(ge=0, le=4)] = 0
    """How many level readings must confirm the bay's survey where that serves; three tell of every wheel."""

    WORDS: ClassVar[dict[str, str]] = {
        "slope_along": "slope along the car at most {}",
        "slope_across": "slope across the car at most {}",
        "flatness": "highest to lowest point about the best plane at most {}",
        "twist": "twist of the four wheel contacts at most {}",
        "target_height": "each target foot at most {} over or under the plane of the wheels",
        "quick_check": "level readings that must confirm the bay's survey: {}",
    }

    def problems(self) -> Iterator[tuple[str, str, str]]:
        """What is wrong, as (field path, found, expected)."""
        yield from positive_problems(self)


# --- asking --------------------------------------------------------------------------------------


def ask(scene: Scene, limits: Limits) -> list[Question]:
    survey = scene.bay.survey
    current = survey is not None and not why_not_now(survey, scene.now)
    offered = MEASURED if survey is None else (FROM_SURVEY, *MEASURED)
    source = Question(
        "source", "Floor heights from", "choice", choices=offered, evidence="seen", part="slope_across",
        default=SURVEY if current else "",
    )  # fmt: skip
    if source_is := scene.word("source"):
        return [source, *_ask_heights(scene, limits, source_is), *ask_packed(scene, scene.once(_measured))]
    return [source]


def _ask_heights(scene: Scene, limits: Limits, source: str) -> list[Question]:
    if source == LASER:
        return _ask_staff(scene)
    if source == LEVEL:
        return _ask_runs(scene)
    survey = scene.bay.survey
    if survey is None:
        return []
    asked_where = scene.beside(place.KIND) is not None
    label, wheels = (
        ("Floor unaltered", "")
        if asked_where
        else ("Car in place, floor unaltered", "wheels on their marks; ")
    )
    holds = Question("survey_holds", label, "choice", choices=YES_NO, evidence="seen", part="slope_across",
                     hint=f"{wheels}no new drain, coating or crack since {survey.date}")  # fmt: skip
    return [holds, *ask_quick(scene, limits.quick_check)]


def _ask_staff(scene: Scene) -> list[Question]:
    return [
        Question(f"staff.{p}", f"{capital(place_name(p))}: staff", unit="mm", measures="height", low=0, high=3000,
                 hint="staff upright beside the tyre's contact" if p in WHEELS else "staff where the foot will stand",
                 part="" if p in WHEELS else f"target.{p}")
        for p in places(scene)
    ]  # fmt: skip


def _ask_runs(scene: Scene) -> list[Question]:
    asked = [q for a, b in (*WHEEL_RUNS, *foot_runs(scene)) for q in _ask_run(a, b)]
    crossed = any(scene.word(f"run.{a}-{b}.1") for a, b in DIAGONALS)
    if crossed or by_level(scene).open_loop:
        asked += (replace(q, optional=True) for a, b in DIAGONALS for q in _ask_run(a, b))
    return asked


def _ask_run(a: str, b: str) -> tuple[Question, Question]:
    label = f"{short_name(a)} to {short_name(b)}"
    part = "" if b in WHEELS else f"target.{b}"
    first = Question(f"run.{a}-{b}.1", label, unit="mm/m", measures="slope", low=-100, high=100, part=part,
                     fix=f"run.{a}-{b}", hint=f"{place_name(a)} to {place_name(b)}: plus if the {place_name(b)} end is higher")  # fmt: skip
    turned = Question(f"run.{a}-{b}.2", f"{label}, turned", unit="mm/m", measures="slope", low=-100, high=100,
                      optional=True, part=part, fix=f"run.{a}-{b}",
                     hint="the level turned end for end on the same two places, with the sign that it shows now")  # fmt: skip
    return first, turned


# --- judging -------------------------------------------------------------------------------------


def heights_of(scene: Scene) -> Heights:
    """The floor under wheels and feet, from whatever it was measured with, and what was packed under the feet;
    not from a survey that a level reading of today contradicts."""
    return scene.once(_confirmed)


def _confirmed(scene: Scene) -> Heights:
    heights = scene.once(_measured)
    return packed(scene, confirmed(heights, quick_parts(scene, 0, heights)))


def _measured(scene: Scene) -> Heights:
    source = scene.answer("source")
    measured = {SURVEY: by_survey, LASER: by_laser, LEVEL: by_level}.get(source.word)
    return Heights(missing=(source,)) if measured is None else measured(scene)


def judge(scene: Scene, limits: Limits) -> Judgement:
    measured = scene.once(_measured)
    quick = quick_parts(scene, limits.quick_check, measured)
    heights = packed(scene, confirmed(measured, quick))
    feet = tuple(foot_places(scene.sheet, scene.job.sides))
    if heights.surface is None or heights.open_loop:
        parts = (*_loop_parts(heights), *quick, *_unknown(heights, feet))
        return Judgement(parts, heights.notes, (car_outline(scene.sheet),), heights.details)
    surface = heights.surface
    found = [
        *quick,
        *slope_parts(scene, (limits.slope_along, limits.slope_across), heights, surface),
        flatness_part(scene, limits.flatness, heights, surface),
        twist_part(scene, limits.twist, heights, surface),
        *(foot_part(scene, limits.target_height, heights, surface, foot) for foot in feet),
    ]  # fmt: skip
    assert measured.surface is not None  # what was packed came on top of it
    classes = class_notes(scene, measured, measured.surface)
    return Judgement(
        tuple(found), heights.notes, height_map(scene, heights, surface, found),
        (*details(scene, heights, surface, feet), *classes), heights.until, heights.rests_on,
    )  # fmt: skip


def fix_brings(question: str) -> bool:
    """Whether putting this right moves the car, as a fix of the floor does; at a foot of the target nothing moves."""
    at = question.partition("-")[2] if question.startswith("run.") else question.removeprefix("staff.")
    return at.partition(".")[0] in ("", "source", "survey_holds", *WHEELS)


def _unknown(heights: Heights, feet: tuple[str, ...]) -> list[Part]:
    labels = {
        "slope_along": "Slope along the car", "slope_across": "Slope across the car", "flatness": "Flatness",
        "twist": "Twist", **{f"target.{f}": foot_label(f) for f in feet},
    }  # fmt: skip
    why = OPEN_LOOP if heights.open_loop else heights.why
    if not why:
        return [missing_part(key, label, *heights.missing) for key, label in labels.items()]
    outcome: Outcome = "lapsed" if heights.lapsed else "not_done"
    return [
        Part(key, label, outcome, f"{label} cannot be judged. {why}", remedy=heights.remedy,
             readings=heights.readings)
        for key, label in labels.items()
    ]  # fmt: skip


def _loop_parts(heights: Heights) -> list[Part]:
    if not heights.open_loop:
        return []
    return [Part("loop", "Level runs", "fail", heights.open_loop, readings=heights.readings,
                 remedy="Read the level runs again that do not fit; if they still do not, read all of them again.")]  # fmt: skip

"""Floor: slope, flatness and twist under the car, and every target foot against the wheel plane.

A floor that is one tilted plane under car and target does little harm if the stand is squared to it; a
floor that changes between car and target does. So everything is measured against the plane of the
four wheel contacts (least squares), the plane that the car itself stands on.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from functools import lru_cache
from itertools import combinations
from statistics import NormalDist
from typing import ClassVar

from msgspec import Struct

from readiness.checks.car import LYING, car_outline, foot_places
from readiness.checks.common import positive_problems
from readiness.checks.heights import (
    WHEEL_RUNS,
    Heights,
    by_laser,
    by_survey,
    foot_runs,
    outdated,
    place_name,
    places,
)
from readiness.checks.kind import YES_NO, Choice, Judgement, Part, Question, Scene
from readiness.checks.levels import by_level
from readiness.checks.parts import magnitude_part, missing_part
from readiness.checks.picture import XY, Picture, Role, Spot
from readiness.job import WHEELS, Millimetre, Slope
from readiness.measure.levelling import din18202_limit
from readiness.measure.plane import fit_plane, twist_weights
from readiness.measure.surface import Surface, minus, plane_weights
from readiness.measure.uncertain import Estimate

KIND = "floor"

SURVEY, LASER, LEVEL = "survey", "laser", "level"
FROM_SURVEY = Choice("s", SURVEY, "the bay's survey")
MEASURED = (Choice("l", LASER, "laser and staff"), Choice("v", LEVEL, "level, read both ways round"))
ONLY_THREE = "not tested: three points always lie in a plane"


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

    WORDS: ClassVar[dict[str, str]] = {
        "slope_along": "slope along the car at most {}",
        "slope_across": "slope across the car at most {}",
        "flatness": "highest to lowest point about the best plane at most {}",
        "twist": "twist of the four wheel contacts at most {}",
        "target_height": "each target foot at most {} over or under the plane of the wheels",
    }

    def problems(self) -> Iterator[tuple[str, str, str]]:
        """What is wrong, as (field path, found, expected)."""
        yield from positive_problems(self)


# --- asking --------------------------------------------------------------------------------------


def ask(scene: Scene, limits: Limits) -> list[Question]:
    survey = scene.bay.survey
    current = survey is not None and not outdated(scene, survey)
    offered = MEASURED if survey is None else (FROM_SURVEY, *MEASURED)
    source = Question(
        "source", "Floor heights from", "choice", choices=offered, evidence="seen", part="slope_across",
        default=SURVEY if current else "", default_from="bay survey" if current else "",
    )  # fmt: skip
    follow = {SURVEY: _ask_survey, LASER: _ask_staff, LEVEL: _ask_runs}.get(scene.word("source"))
    return [source, *(follow(scene) if follow else [])]


def _ask_survey(scene: Scene) -> list[Question]:
    survey = scene.bay.survey
    if survey is None:
        return []
    label = f"Car on its place, floor not altered since {survey.date}"
    return [Question("survey_holds", label, "choice", choices=YES_NO, evidence="seen", part="slope_across",
                     hint="wheels on their marks; no new drain, coating or crack")]  # fmt: skip


def _ask_staff(scene: Scene) -> list[Question]:
    return [
        Question(f"staff.{p}", f"{_capital(place_name(p))}: staff", unit="mm", measures="height", low=0, high=3000,
                 hint="staff upright beside the tyre's contact" if p in WHEELS else "staff where the foot will stand",
                 part="" if p in WHEELS else f"target.{p}")
        for p in places(scene)
    ]  # fmt: skip


def _ask_runs(scene: Scene) -> list[Question]:
    return [q for a, b in (*WHEEL_RUNS, *foot_runs(scene)) for q in _ask_run(a, b)]


def _short(place: str) -> str:
    """'LF' for a wheel; a foot keeps its words."""
    return place.upper() if place in WHEELS else place_name(place)


def _ask_run(a: str, b: str) -> tuple[Question, Question]:
    label = f"{_short(a)} to {_short(b)}"
    part = "" if b in WHEELS else f"target.{b}"
    first = Question(f"run.{a}-{b}.1", label, unit="mm/m", measures="slope", low=-100, high=100, part=part,
                     hint=f"{place_name(a)} to {place_name(b)}: plus if the {place_name(b)} end is higher")  # fmt: skip
    turned = Question(f"run.{a}-{b}.2", f"{label}, turned", unit="mm/m", measures="slope", low=-100, high=100,
                      optional=True, part=part,
                     hint="the level turned end for end on the same two places, with the sign that it shows now")  # fmt: skip
    return first, turned


# --- judging -------------------------------------------------------------------------------------


def judge(scene: Scene, limits: Limits) -> Judgement:
    source = scene.answer("source")
    measured = {SURVEY: by_survey, LASER: by_laser, LEVEL: by_level}.get(source.word)
    heights = Heights(missing=(source,)) if measured is None else measured(scene)
    feet = tuple(foot_places(scene.sheet, scene.job.sides))
    if heights.surface is None:
        return Judgement(tuple(_unknown(heights, feet)), heights.notes, (car_outline(scene.sheet),))
    surface = heights.surface
    parts = _loop_parts(heights)
    parts += [*_slope_parts(scene, limits, heights, surface), _flatness_part(scene, limits, heights, surface)]
    parts.append(_twist_part(scene, limits, heights, surface))
    parts += [_foot_part(scene, limits, heights, surface, foot) for foot in feet]
    notes = (*heights.notes, *_din_note(scene, heights, surface))
    return Judgement(tuple(parts), notes, _picture(scene, heights, surface, parts))


def _unknown(heights: Heights, feet: tuple[str, ...]) -> list[Part]:
    labels = {
        "slope_along": "Slope along the car", "slope_across": "Slope across the car", "flatness": "Flatness",
        "twist": "Twist", **{f"target.{f}": _foot_label(f) for f in feet},
    }  # fmt: skip
    if not heights.why:
        return [missing_part(key, label, *heights.missing) for key, label in labels.items()]
    return [
        Part(key, label, "lapsed" if heights.lapsed else "not_done", f"{label} cannot be judged. {heights.why}", remedy=heights.remedy,
             readings=heights.readings)
        for key, label in labels.items()
    ]  # fmt: skip


def _loop_parts(heights: Heights) -> list[Part]:
    if not heights.open_loop:
        return []
    return [Part("loop", "Level runs", "not_done", heights.open_loop, readings=heights.readings,
                 remedy="Read that run again both ways round; if the gap stays, read all four again.")]  # fmt: skip


def _wheel_points(surface: Surface) -> dict[str, tuple[float, float]]:
    return {w: surface.places[w] for w in WHEELS}


def _slope_parts(scene: Scene, limits: Limits, heights: Heights, surface: Surface) -> list[Part]:
    """Slopes of the least-squares plane through the wheel contacts, in mm/m."""
    wheels, d = _wheel_points(surface), scene.sheet.dimensions
    origin = plane_weights(wheels, 0.0, 0.0)
    along = surface.total(minus(plane_weights(wheels, 1.0, 0.0), origin))
    across = surface.total(minus(plane_weights(wheels, 0.0, 1.0), origin))
    low_end = "rear" if along.value > 0 else "front"
    low_side = "right" if across.value > 0 else "left"
    track = (d.track_front + d.track_rear) / 2
    return [
        magnitude_part(scene, "slope_along", f"Slope along the car ({low_end} low)", along, "mm/m",
                       limits.slope_along, readings=heights.readings,
                       remedy=_plates(scene, low_end, abs(along.value) * d.wheelbase)),
        magnitude_part(scene, "slope_across", f"Slope across the car ({low_side} low)", across, "mm/m",
                       limits.slope_across, readings=heights.readings,
                       remedy=_plates(scene, low_side, abs(across.value) * track)),
    ]  # fmt: skip


def _plates(scene: Scene, low: str, height: float) -> str:
    return (
        f"Move the car to a more level place, or put plates of {scene.show(height, 'mm')} under both {low} wheels "
        "where the procedure allows it; then measure again."
    )


def _flatness_part(scene: Scene, limits: Limits, heights: Heights, surface: Surface) -> Part:
    """Peak to valley of all measured points about their own plane."""
    key, label = "flatness", "Flatness, highest to lowest point about the best plane,"
    if not _four_or_more(heights, surface):
        return _untested(heights, key, "Flatness")
    if set(heights.points) <= set(WHEELS):
        label = "Flatness at the four wheels (nothing between them was measured)"
    part = magnitude_part(
        scene, key, label, _peak_to_valley(surface, heights.points), "mm", limits.flatness, readings=heights.readings,
        remedy="Clean the floor at the highest and lowest points shown, measure them again; if it stays, use "
               "another place.",
    )  # fmt: skip
    return _less_sure_of_a_fail(part, limits.flatness, scene.factor, surface, heights.points)


def _less_sure_of_a_fail(
    part: Part, limit: float, factor: float, surface: Surface, points: tuple[str, ...]
) -> Part:
    """Highest to lowest of many readings comes out too large: errors choose which point is highest.

    Where n pairs of points could be the extremes, a fail takes one n-th of the risk for each (Bonferroni).
    """
    if part.outcome != "fail" or part.value is None or not part.u:
        return part
    normal, near = NormalDist(), factor * part.u
    over = fit_plane([(*surface.places[p], surface.heights[p]) for p in points]).residuals
    pairs = sum(r >= max(over) - near for r in over) * sum(r <= min(over) + near for r in over)
    if float(part.value) > limit - normal.inv_cdf(normal.cdf(-factor) / pairs) * part.u:
        return part
    reason = f"{part.reason} But {pairs} pairs of points lie nearly as far apart, and reading errors alone make the "
    return replace(part, outcome="too_close", reason=f"{reason}largest of many too large: too close to call.")


@lru_cache(maxsize=16)  # a bay's survey stays the same from answer to answer
def _peak_to_valley(surface: Surface, points: tuple[str, ...]) -> Estimate:
    at = {p: surface.places[p] for p in points}
    top, bottom = _extremes(surface, points)
    over = minus({top: 1.0}, plane_weights(at, *at[top]))
    under = minus({bottom: 1.0}, plane_weights(at, *at[bottom]))
    return surface.total(minus(over, under))


def _extremes(surface: Surface, points: tuple[str, ...]) -> tuple[str, str]:
    """The points furthest over and under the best plane through all of them."""
    fit = fit_plane([(*surface.places[p], surface.heights[p]) for p in points])
    ranked = sorted(zip(fit.residuals, points, strict=True))
    return ranked[-1][1], ranked[0][1]


def _four_or_more(heights: Heights, surface: Surface) -> bool:
    return len({surface.places[p] for p in heights.points}) > 3


def _untested(heights: Heights, key: str, label: str) -> Part:
    return Part(key, label, "not_done", f"{label} {ONLY_THREE}.", readings=heights.readings,
                remedy="Measure at least one more point of the floor.")  # fmt: skip


def _twist_part(scene: Scene, limits: Limits, heights: Heights, surface: Surface) -> Part:
    if not _four_or_more(heights, surface):
        return _untested(heights, "twist", "Twist")
    contacts = [(*surface.places[w], surface.heights[w]) for w in WHEELS]
    lf, lr, rr, rf = contacts
    twist = surface.total(dict(zip(WHEELS, twist_weights(lf, lr, rr, rf), strict=True)))
    low = _low_corners(twist)
    return magnitude_part(
        scene, "twist", f"Twist ({_form(twist)})", twist, "mm", limits.twist, readings=heights.readings,
        remedy=f"Move the car to a more even place, or put a plate of {scene.show(abs(twist.value), 'mm')} under the "
               f"{low[0]} or the {low[1]} wheel where the procedure allows it; then measure again.",
    )  # fmt: skip


def _form(twist: Estimate) -> str:
    """Which corner is off; four heights cannot tell the two ends of a diagonal apart."""
    if abs(twist.value) <= 2 * twist.u:
        return "no corner clearly off the plane of the other three"
    return f"{' or '.join(_low_corners(twist))} corner below the plane of the other three"


def _low_corners(twist: Estimate) -> tuple[str, str]:
    return ("left rear", "right front") if twist.value > 0 else ("left front", "right rear")


# --- target feet ---------------------------------------------------------------------------------


def _foot_label(foot: str) -> str:
    return _capital(place_name(foot))


def _foot_part(scene: Scene, limits: Limits, heights: Heights, surface: Surface, foot: str) -> Part:
    key, label = f"target.{foot}", _foot_label(foot)
    own = heights.feet.get(foot, ())
    if foot not in surface.heights:
        return missing_part(key, label, *own[:1])
    over = surface.over_plane(foot, WHEELS)
    guessed = " extrapolated from the survey and not measured," if foot in heights.extrapolated else ""
    way = "over" if over.value >= 0 else "under"
    return magnitude_part(
        scene, key, f"Floor at {place_name(foot)}, {way} the plane of the wheels,{guessed}", over, "mm",
        limits.target_height, remedy=_foot_remedy(scene, foot, over.value),
        readings=(*heights.readings, *(r for a in own for r in a.readings if r not in heights.readings)),
    )  # fmt: skip


def _foot_remedy(scene: Scene, foot: str, over: float) -> str:
    size, name = scene.show(abs(over), "mm"), place_name(foot)
    if foot.endswith(f".{LYING}"):
        return f"Lay {name} where the floor is even with the wheels, or pack it by {size} if the procedure allows it."
    if over < 0:
        return f"Put a plate of {size} under {name}, or screw that foot out by as much, then measure again."
    return f"Screw {name} in by {size}, or set the stand's height {size} lower, then measure again."


# --- beside the judgement ------------------------------------------------------------------------


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]


@lru_cache(maxsize=16)
def _longest(places: tuple[XY, ...]) -> float:
    """The greatest distance in m between two places."""
    return max((math.dist(a, b) for a, b in combinations(places, 2)), default=0.0)


def _din_note(scene: Scene, heights: Heights, surface: Surface) -> tuple[str, ...]:
    span = _longest(tuple(surface.places[p] for p in heights.points))
    if span < 0.1:
        return ()
    return (
        f"For comparison only: DIN 18202 table 3 row 3 allows a finished floor {din18202_limit(3, span):g} mm under a "
        f"line of {scene.show(round(span, 1), 'm')}; it bounds flatness, not slope.",
    )


def _picture(scene: Scene, heights: Heights, surface: Surface, parts: list[Part]) -> Picture:
    """Height map: every measured point, every wheel and foot, in mm over the plane of the wheels."""
    failed = {p.key for p in parts if p.outcome == "fail"}
    marked = {f for f in surface.places if f"target.{f}" in failed}
    if "flatness" in failed:
        marked |= set(_extremes(surface, heights.points))
    if "twist" in failed:
        marked |= set(WHEELS)
    plane = fit_plane([(*surface.places[w], surface.heights[w]) for w in WHEELS])
    feet = foot_places(scene.sheet, scene.job.sides)
    spots = []
    for name, (x, y) in surface.places.items():
        over = surface.heights[name] - (plane.a + plane.b * x + plane.c * y)
        role: Role = "wheel" if name in WHEELS else "target" if name in feet else "height"
        sign = "-" if over < 0 else "+"
        spots.append(Spot(role, (x, y), f"{sign}{scene.show(abs(over), 'mm')}", name in marked))
    return (car_outline(scene.sheet), *spots)

"""Heights of the floor under the wheels and the target feet, from whatever they were measured with.

Three sources, one result: a survey of the bay made earlier, staff readings by laser, or a level laid
from place to place. All in car axes: x forward, y left, in m; heights in mm, up positive.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import timedelta
from functools import lru_cache

from readiness import units
from readiness.checks.car import LYING, foot_places, wheel_places
from readiness.checks.kind import Answer, Scene
from readiness.checks.picture import XY
from readiness.job import WHEEL_NAMES, WHEELS, Instrument, Reading, Standing, Survey
from readiness.measure.plane import fit_plane
from readiness.measure.surface import Surface, plane_weights
from readiness.measure.uncertain import combined, from_half_width, from_resolution

WHEEL_RUNS = (("rf", "lf"), ("lr", "lf"), ("rr", "lr"), ("rr", "rf"))
"""Once round the car: front axle, left side, rear axle, right side; each read from the first to the second."""
AT_POINT = 0.05
"""m; nearer than this to a survey point, the place is that point."""
CELL = 4
"""Survey points around a place that give its height between them."""


@dataclass(frozen=True, slots=True)
class Heights:
    """`surface` holds the wheels and every foot that is known, or is None: then `why` says so, or
    `missing` holds the answers that are not there. `points` are the places that were measured."""

    surface: Surface | None = None
    points: tuple[str, ...] = ()
    readings: tuple[Reading, ...] = ()
    missing: tuple[Answer, ...] = ()
    feet: Mapping[str, tuple[Answer, ...]] = field(default_factory=dict)
    """Foot -> the answers it rests on, where it has some of its own."""
    extrapolated: frozenset[str] = frozenset()
    why: str = ""
    lapsed: bool = False
    remedy: str = ""
    notes: tuple[str, ...] = ()
    open_loop: str = ""
    """What is wrong with the level runs, as a sentence."""


def places(scene: Scene) -> dict[str, XY]:
    """The four wheels and every target foot of the job's sides."""
    return {**wheel_places(scene.sheet), **foot_places(scene.sheet, scene.job.sides)}


def place_name(place: str) -> str:
    """Words for a wheel, a foot or a mat: 'left front', 'right reflector foot 1', 'rear-mat'."""
    if place in WHEEL_NAMES:
        return WHEEL_NAMES[place]
    target, n = place.rsplit(".", 1)
    words = target.replace("right.", "right ", 1)
    return words if n == str(LYING) else f"{words} foot {n}"


def foot_runs(scene: Scene) -> list[tuple[str, str]]:
    """A level run to every foot from the nearest wheel."""
    wheels = wheel_places(scene.sheet)
    feet = foot_places(scene.sheet, scene.job.sides)
    return [(min(WHEELS, key=lambda w: math.dist(wheels[w], at)), foot) for foot, at in feet.items()]


# --- laser and staff -----------------------------------------------------------------------------


def by_laser(scene: Scene) -> Heights:
    """Staff readings grow downwards: the floor is high where the staff reads little."""
    where = places(scene)
    answers = {p: scene.answer(f"staff.{p}") for p in where}
    feet = {p: (a,) for p, a in answers.items() if p not in WHEELS}
    missing = tuple(answers[w] for w in WHEELS if answers[w].estimate is None or not answers[w].ready)
    readings = tuple(r for a in answers.values() for r in a.readings)
    if missing:
        return Heights(readings=readings, missing=missing, feet=feet)
    read = {p: a.estimate for p, a in answers.items() if a.ready and a.estimate is not None}
    surface = Surface(
        {p: where[p] for p in read},
        {p: -e.value for p, e in read.items()},
        {p: {p: e.u} for p, e in read.items()},
    )
    return Heights(surface, tuple(read), readings, feet=feet)


# --- the bay's survey ----------------------------------------------------------------------------


def outdated(scene: Scene, survey: Survey) -> bool:
    """Whether the survey is older than it may be."""
    return scene.now.date() > survey.date + timedelta(days=survey.renew_after)


def by_survey(scene: Scene) -> Heights:
    survey = scene.bay.survey
    holds = scene.answer("survey_holds")
    if survey is None:
        return _no_survey(scene, "There is no survey of this bay.", ())
    if outdated(scene, survey):
        why = f"The floor survey of {survey.date} is older than its {survey.renew_after} days."
        return _no_survey(scene, why, holds.readings, lapsed=True)
    if not holds.ready:
        return Heights(readings=holds.readings, missing=(holds,))
    if holds.word != "yes":
        return _no_survey(
            scene, f"The floor survey of {survey.date} does not hold for this car.", holds.readings
        )
    tool = scene.instruments.get(survey.instrument)
    if tool is None:
        why = f"The survey was made with {survey.instrument}, which is not among the shop's instruments."
        return _no_survey(scene, why, holds.readings)
    if survey.date > tool.due:
        why = f"{tool.title} ({tool.id}) was due for calibration on {tool.due}, before the survey of {survey.date}."
        return _no_survey(scene, why, holds.readings)
    return _from_points(scene, survey, tool, holds)


def _no_survey(scene: Scene, why: str, readings: tuple[Reading, ...], *, lapsed: bool = False) -> Heights:
    remedy = (
        f"Measure the floor of {scene.bay.title} with laser and staff or with a level, or survey it anew."
    )
    return Heights(readings=readings, why=why, lapsed=lapsed, remedy=remedy)


def _from_points(scene: Scene, survey: Survey, tool: Instrument, holds: Answer) -> Heights:
    try:
        surface, points, extrapolated = _surveyed(
            survey, scene.bay.standing, tool, tuple(places(scene).items())
        )
    except ValueError as fault:
        return _no_survey(scene, f"The survey of {survey.date} cannot serve: {fault}.", holds.readings)
    notes = (f"Floor survey of {survey.date} by {survey.by}.",)
    return Heights(surface, points, holds.readings, extrapolated=extrapolated, notes=notes)


@lru_cache(maxsize=32)  # the same from answer to answer, and from car to car in one bay
def _surveyed(
    survey: Survey, standing: Standing, tool: Instrument, where: tuple[tuple[str, XY], ...]
) -> tuple[Surface, tuple[str, ...], frozenset[str]]:
    """Heights at the survey's points and at the places; the points' names; which places lie beyond them."""
    points = _in_car_axes(survey, standing)
    fit = fit_plane(list(points.values()))
    known = _survey_surface(points, tool)
    between, extrapolated = _between(known, dict(where), fit.s if fit.dof else 0.0)
    return known.joined(between), tuple(points), extrapolated


def _in_car_axes(survey: Survey, s: Standing) -> dict[str, tuple[float, float, float]]:
    """Survey points as (x, y, height), named '#1', '#2', ... so that none is taken for a wheel or foot."""
    cos, sin = math.cos(math.radians(s.heading)), math.sin(math.radians(s.heading))
    return {
        f"#{n}": (
            (p.x - s.x) * cos + (p.y - s.y) * sin,
            (p.y - s.y) * cos - (p.x - s.x) * sin,
            p.height,
        )
        for n, p in enumerate(survey.points, 1)
    }


def _survey_surface(points: Mapping[str, tuple[float, float, float]], tool: Instrument) -> Surface:
    def u(height: float) -> float:
        accuracy = units.accuracy(tool.accuracy, "mm", height)
        return combined(
            from_half_width(accuracy), from_resolution(units.accuracy(tool.resolution, "mm", height))
        )

    return Surface(
        {n: (x, y) for n, (x, y, _) in points.items()},
        {n: z for n, (_, _, z) in points.items()},
        {n: {n: u(z)} for n, (_, _, z) in points.items()},
    )


def _between(known: Surface, where: Mapping[str, XY], spread: float) -> tuple[Surface, frozenset[str]]:
    """Heights of places among survey points, and which of them lie beyond the points.

    A place between points has the height of the plane through the nearest of them; what the floor does
    in between is not known and adds up to the survey's own unevenness, in full from 1 m away. That plane
    rests on uneven points too, which counts the more, the farther it is drawn beyond them.
    """
    heights: dict[str, float] = {}
    effects: dict[str, dict[str, float]] = {}
    beyond = set()
    for name, at in where.items():
        weights = _weights_at(known, at)
        heights[name] = known.total(weights).value
        effects[name] = {p: w * u for p, w in weights.items() for u in known.effects[p].values()}
        away = min(math.dist(at, p) for p in known.places.values())
        if away > AT_POINT:
            effects[name][f"unevenness at {name}"] = (
                spread * min(1.0, away) * math.hypot(1.0, *weights.values())
            )
        if math.fsum(w * w for w in weights.values()) > 1.0 + 1e-9:
            beyond.add(name)
    return Surface(dict(where), heights, effects), frozenset(beyond)


def _weights_at(known: Surface, at: XY) -> dict[str, float]:
    nearest = sorted(known.places, key=lambda p: math.dist(at, known.places[p]))
    if math.dist(at, known.places[nearest[0]]) <= AT_POINT:
        return {nearest[0]: 1.0}
    for count in range(CELL, len(nearest)):
        try:
            return plane_weights({p: known.places[p] for p in nearest[:count]}, *at)
        except ValueError:  # these lie on one line: take in one more
            continue
    return plane_weights(known.places, *at)

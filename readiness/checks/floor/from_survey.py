"""Heights under wheels and feet from the bay's survey, wherever and whichever way round the car stands."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime, time, timedelta
from functools import lru_cache

from readiness.checks import place
from readiness.checks.floor.heights import Heights, Known, places
from readiness.checks.floor.surveyed import Surveyed, surveyed, tools_of
from readiness.checks.kind import Answer, Scene
from readiness.checks.picture import XY
from readiness.checks.source import Source
from readiness.job import Instrument, Reading, Standing, Survey, System
from readiness.measure.chance import NORMAL_95, student
from readiness.measure.floor_standards import din18202_limit
from readiness.measure.plane import Fit, fit_plane
from readiness.measure.surface import Surface, plane_weights
from readiness.measure.uncertain import from_half_width

AT_POINT = 0.05
"""m; nearer than this to a survey point, the place is that point."""
ALONE = 0.3
"""m; so far from every survey point a floor goes its own way: simulated floors whose heights are related over
0.3 m to 2 m keep the risk of 5 % with this."""
CELL = 4
"""Survey points around a place that give its height between them."""


def expires(survey: Survey, now: datetime) -> datetime:
    """The first moment at which the survey is older than it may be, by the clock that `now` was read from."""
    last = survey.date + timedelta(days=survey.renew_after)
    return datetime.combine(last + timedelta(days=1), time.min, now.tzinfo)


def why_not_now(survey: Survey, now: datetime) -> str:
    """Why the survey does not count today, as a sentence; empty where it does."""
    if now >= expires(survey, now):
        return f"The floor survey of {survey.date} is older than its {survey.renew_after} days."
    if survey.date > now.date():
        return (
            f"The floor survey is dated {survey.date}, and today is {now.date()}: correct the date in its file "
            "or this computer's clock."
        )
    return ""


def by_survey(scene: Scene) -> Heights:
    survey = scene.bay.survey
    holds = scene.answer("survey_holds")
    if survey is None:
        return _no_survey(scene, "There is no survey of this bay.", ())
    if why := why_not_now(survey, scene.now):
        lapsed = survey.date <= scene.now.date()
        return _no_survey(scene, why, holds.readings, lapsed=lapsed)
    stands = place.where(scene)
    if stands.missing:
        return Heights(
            readings=holds.readings, missing=stands.missing, why=stands.why, lapsed=stands.lapsed,
            remedy="Answer where the car stands, then this step.",
        )  # fmt: skip
    if not holds.ready:
        return Heights(readings=holds.readings, missing=(holds,))
    if holds.word != "yes":
        why = f"The floor survey of {survey.date} does not hold for this car."
        return _no_survey(scene, why, holds.readings)
    if why := why_not_these_tools(survey, scene.instruments):
        return _no_survey(scene, why, holds.readings)
    return _from_survey(scene, survey, holds, stands.standing)


def why_not_these_tools(survey: Survey, instruments: Mapping[str, Instrument]) -> str:
    """Why what the survey was made with cannot count, as a sentence; empty where it was the shop's and in date."""
    for name in tools_of(survey):
        tool = instruments.get(name)
        if tool is None:
            return f"The survey was made with {name}, which is not among the shop's instruments."
        if survey.date > tool.due:
            return f"{tool.title} ({tool.id}) was due for calibration on {tool.due}, before the survey of {survey.date}."
    return ""


def _no_survey(
    scene: Scene, why: str, readings: tuple[Reading, ...], *, lapsed: bool = False, remedy: str = ""
) -> Heights:
    instead = (
        f"Measure the floor of {scene.bay.title} with laser and staff or with a level, or survey it anew."
    )
    return Heights(readings=readings, why=why, lapsed=lapsed, remedy=remedy or instead)


def _from_survey(scene: Scene, survey: Survey, holds: Answer, standing: Standing) -> Heights:
    tools = tuple(scene.instruments[name] for name in tools_of(survey))
    try:
        floor = under_car(survey, standing, tools, tuple(places(scene).items()), scene.shop.units)
    except ValueError as fault:
        why = f"The survey of {survey.date} cannot serve: {str(fault).rstrip('.')}."
        return _no_survey(scene, why, holds.readings)
    if floor.found.problems:
        first, *more = floor.found.problems
        others = (
            f" There {'is one more such fault' if len(more) == 1 else f'are {len(more)} more such faults'}."
            if more
            else ""
        )
        why = f"The survey of {survey.date} does not fit together. {first}{others}"
        remedy = "Read that again and enter it in the survey, or measure the floor with laser and staff or with a level."
        return replace(
            _no_survey(scene, why, holds.readings, remedy=remedy),
            details=(*floor.found.problems, *floor.found.details),
        )
    notes = (f"Floor survey of {survey.date} by {survey.by}.", *floor.found.notes)
    source = Source("floor survey", survey.by, survey.date, tools_of(survey))
    return Heights(
        floor.surface, floor.points, holds.readings, known=floor.known, notes=notes, details=floor.found.in_short,
        until=expires(survey, scene.now), rests_on=(source,),
    )  # fmt: skip


# --- from bay to car -----------------------------------------------------------------------------


@dataclass(frozen=True)
class Floor:
    """A survey in car axes: its points, named '#A1' so that none is taken for a wheel or foot, and the places."""

    found: Surveyed
    surface: Surface
    points: tuple[str, ...]
    known: Mapping[str, Known]


@lru_cache(maxsize=32)  # the same from answer to answer, and from car to car in one bay
def under_car(
    survey: Survey, standing: Standing, tools: tuple[Instrument, ...], where: tuple[tuple[str, XY], ...],
    system: System,
) -> Floor:  # fmt: skip
    """The survey as a car standing there sees it, with the heights at these places in car axes.

    Raises ValueError where the survey cannot serve.
    """
    found = surveyed(survey, {tool.id: tool for tool in tools}, system)
    points = in_car_axes(found.surface, standing)
    fit = fit_plane([(*at, points.heights[name]) for name, at in points.places.items()])
    between = _between(points, dict(where), _unevenness(fit))
    known = {name: _known(points, at) for name, at in where}
    return Floor(found, points.joined(between), tuple(points.places), known)


def in_car_axes(surface: Surface, s: Standing) -> Surface:
    """A surface in bay axes as the car sees it that stands there; its names get a '#' in front."""
    turned = {f"#{name}": place.in_car(s, at) for name, at in surface.places.items()}
    heights = {f"#{name}": height for name, height in surface.heights.items()}
    return Surface(turned, heights, {f"#{name}": effects for name, effects in surface.effects.items()})


def _between(known: Surface, where: Mapping[str, XY], spread: float) -> Surface:
    """Heights of places among survey points.

    A place has the height of the plane through the nearest points, give or take what the floor does by itself
    (`spread` in mm) at the place and at each of these points, which the weights carry to the place. So it
    counts the more, the farther the plane is drawn beyond its points. Near a point some of it is shared.
    """
    heights: dict[str, float] = {}
    effects: dict[str, dict[str, float]] = {}
    for name, at in where.items():
        weights = _weights_at(known, at)
        height = known.traced(weights)
        heights[name], effects[name] = height.value, dict(height.effects)
        away = _away(known, at)
        if away > AT_POINT:
            own = spread * math.sqrt(min(1.0, away / ALONE))
            effects[name] |= {f"unevenness at {name}": own}
            effects[name] |= {f"unevenness at {point}": -w * own for point, w in weights.items()}
    return Surface(dict(where), heights, effects)


def _unevenness(fit: Fit) -> float:
    """How far in mm (standard uncertainty) the floor is off its plane at one place.

    From few points it is hardly known, and counts as much larger (Student's t over the normal 1.645). Three points
    show nothing of it and four next to nothing: then it is at least what a finished floor may have, the gap of
    DIN 18202 row 3 over 1 m to either side.
    """
    least = from_half_width(din18202_limit(3, 1.0)) if fit.dof < 2 else 0.0
    return max(fit.s * student(fit.dof) / NORMAL_95, least) if fit.dof else least


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


def _away(known: Surface, at: XY) -> float:
    return min(math.dist(at, p) for p in known.places.values())


def stands_on(surface: Surface, point: str) -> str:
    """The wheel or foot whose place a survey point is; the point itself where it is no such place."""
    if not point.startswith("#"):
        return point
    at = surface.places[point]
    named = (p for p, xy in surface.places.items() if not p.startswith("#") and math.dist(at, xy) <= AT_POINT)
    return next(named, point)


def _known(points: Surface, at: XY) -> Known:
    """Between the points is where one sees some of them in every half circle round oneself."""
    if _away(points, at) <= AT_POINT:
        return "surveyed there"
    seen = sorted(math.atan2(y - at[1], x - at[0]) for x, y in points.places.values())
    gaps = (b - a for a, b in zip(seen, [*seen[1:], seen[0] + 2.0 * math.pi], strict=True))
    return "beyond the surveyed points" if max(gaps) > math.pi + 1e-6 else "between surveyed points"

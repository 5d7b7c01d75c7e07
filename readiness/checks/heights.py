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
from statistics import median

from readiness import units
from readiness.checks.car import LYING, foot_places, wheel_places
from readiness.checks.kind import Answer, Scene
from readiness.checks.picture import XY
from readiness.job import WHEEL_NAMES, WHEELS, Instrument, Reading, Standing, Survey
from readiness.measure.levelling import (
    SUSPECT,
    Net,
    Run,
    adjust,
    height_difference,
    misclosure,
    reversed_pair,
)
from readiness.measure.plane import fit_plane
from readiness.measure.surface import Surface, plane_weights, root_of
from readiness.measure.uncertain import combined, from_half_width, from_resolution

WHEEL_RUNS = (("rf", "lf"), ("lr", "lf"), ("rr", "lr"), ("rr", "rf"))
"""Once round the car: front axle, left side, rear axle, right side; each read from the first to the second."""
PLACING_A = 0.5
"""Half width in mm of how a level's ends come to lie on a rough floor; common practice, no published source."""
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


# --- level, both ways round ----------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Levelled:
    """One run of the level: mm/m from start up to end, and its parts of uncertainty."""

    start: str
    end: str
    slope: float
    u: float
    length: float
    zero: float | None
    """The level's zero error found by turning it; None where it was read one way only."""
    zero_u: float
    instrument: str

    @property
    def run(self) -> Run:
        rise = height_difference(self.length, self.slope)
        return Run(self.start, self.end, rise, combined(self.u * self.length, from_half_width(PLACING_A)))


def by_level(scene: Scene) -> Heights:
    where = places(scene)
    wanted = (*WHEEL_RUNS, *foot_runs(scene))
    answers = {(a, b): (scene.answer(f"run.{a}-{b}.1"), scene.answer(f"run.{a}-{b}.2")) for a, b in wanted}
    feet = {b: answers[a, b] for a, b in foot_runs(scene)}
    readings = tuple(r for pair in answers.values() for a in pair for r in a.readings)
    missing = tuple(
        answers[r][0] for r in WHEEL_RUNS if answers[r][0].estimate is None or not answers[r][0].ready
    )
    if missing:
        return Heights(readings=readings, missing=missing, feet=feet)
    runs = [
        _levelled(scene, a, b, math.dist(where[a], where[b]), *pair)
        for (a, b), pair in answers.items()
        if pair[0].ready and pair[0].estimate is not None
    ]
    surface = _adjusted(runs, where)
    return Heights(
        surface, tuple(surface.places), readings, feet=feet, notes=_level_notes(scene, runs),
        open_loop=_open_loop(scene, runs),
    )  # fmt: skip


def _levelled(scene: Scene, a: str, b: str, length: float, first: Answer, turned: Answer) -> _Levelled:
    value, u, zero_u = _split(scene, first)
    tool = first.readings[-1].instrument
    if not turned.ready or turned.estimate is None:
        return _Levelled(a, b, value, u, length, None, zero_u, tool)
    back, back_u, _ = _split(scene, turned)
    slope, zero = reversed_pair(value, back)
    return _Levelled(a, b, slope, combined(u, back_u) / 2.0, length, zero, 0.0, tool)


def _split(scene: Scene, answer: Answer) -> tuple[float, float, float]:
    """Value, u of reading it, and u of the level's zero error, which turning the level takes out."""
    assert answer.estimate is not None
    tool = scene.instruments[answer.readings[-1].instrument]
    zero = from_half_width(units.accuracy(tool.accuracy, "mm/m", answer.estimate.value))
    rest = math.sqrt(max(answer.estimate.u**2 - zero**2, 0.0))
    return answer.estimate.value, rest, zero


def _adjusted(runs: list[_Levelled], where: Mapping[str, XY]) -> Surface:
    """The adjusted net. Runs read one way share the zero error of their level."""
    net = adjust([r.run for r in runs], WHEELS[0])
    widen = max(1.0, net.s0) if net.dof else 1.0
    root = root_of(net.covariance)
    effects: dict[str, dict[str, float]] = {WHEELS[0]: {}}
    for name, row in zip(net.names, root, strict=True):
        effects[name] = {f"run {k}": widen * size for k, size in enumerate(row) if size}
    for tool in {r.instrument for r in runs if r.zero is None}:
        for name, size in _zero_effect(runs, tool, net).items():
            effects[name][f"zero of {tool}"] = size
    return Surface({n: where[n] for n in effects}, {n: net.heights[n] for n in effects}, effects)


def _zero_effect(runs: list[_Levelled], tool: str, net: Net) -> dict[str, float]:
    """What one u of this level's zero error does to every height."""
    other = adjust(_tilted(runs, tool), WHEELS[0])
    return {n: other.heights[n] - net.heights[n] for n in net.names}


def _tilted(runs: list[_Levelled], tool: str) -> list[Run]:
    """The runs as they were if this level's zero lay one u higher; a run read both ways does not see it."""
    return [
        Run(r.run.start, r.run.end, r.run.dh + r.zero_u * r.length, r.run.u)
        if r.zero is None and r.instrument == tool
        else r.run
        for r in runs
    ]


def _open_loop(scene: Scene, runs: list[_Levelled]) -> str:
    """Whether the four runs round the car come back to where they began."""
    loop = runs[: len(WHEEL_RUNS)]
    gap = misclosure([r.run for r in loop])
    tools = {r.instrument for r in loop if r.zero is None}
    zeros = (misclosure(_tilted(loop, tool)).value - gap.value for tool in tools)
    limit = SUSPECT * combined(gap.u, *zeros)
    if abs(gap.value) <= limit:
        return ""
    sentence = (
        f"The four level runs round the car miss their start by {scene.show(abs(gap.value), 'mm')}, where "
        f"{scene.show(limit, 'mm')} would do"
    )
    suspect = _odd_zero(loop)
    if suspect is None:
        return f"{sentence}: one of them is wrong."
    return f"{sentence}: the run {place_name(suspect.start)} to {place_name(suspect.end)} is suspect."


def _odd_zero(runs: list[_Levelled]) -> _Levelled | None:
    """The run whose two readings give another zero error than the other runs: one of them was misread."""
    both = [r for r in runs if r.zero is not None]
    if len(both) < 3:
        return None
    middle = median(r.zero for r in both if r.zero is not None)
    odd = max(both, key=lambda r: abs((r.zero or 0.0) - middle))
    return odd if abs((odd.zero or 0.0) - middle) > SUSPECT * math.sqrt(2.0) * max(odd.u, 0.01) else None


def _level_notes(scene: Scene, runs: list[_Levelled]) -> tuple[str, ...]:
    notes = []
    zeros = [r.zero for r in runs if r.zero is not None]
    if zeros:
        notes.append(
            f"Turning the level shows a zero error of {scene.show(median(zeros), 'mm/m')}; it is taken out."
        )
    one_way = [r for r in runs if r.zero is None]
    if one_way:
        words = ", ".join(f"{place_name(r.start)} to {place_name(r.end)}" for r in one_way)
        notes.append(f"Read one way only, so the level's zero error stays in the uncertainty: {words}.")
    return tuple(notes)


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

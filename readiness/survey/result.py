"""What a survey says of a bay's floor, in lines of plain text: the answer first."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence

from readiness import units
from readiness.checks.car import foot_places, wheel_places
from readiness.checks.floor.from_survey import Floor, in_car_axes, under_car
from readiness.checks.floor.net_problems import is_open
from readiness.checks.floor.numbers import extremes, in_degrees, peak_to_valley, twist
from readiness.checks.floor.parts import twist_form
from readiness.checks.floor.surveyed import U_FOOT, pair_of, surveyed, tools_of
from readiness.checks.picture import Picture, Spot
from readiness.checks.words import capital
from readiness.job import WHEELS, Bay, Instrument, Standing, Survey, System
from readiness.measure.decide import DEFAULT_FACTOR
from readiness.measure.level_net import SUSPECT, loops
from readiness.measure.surface import Surface, minus, plane_weights
from readiness.measure.uncertain import Estimate
from readiness.survey.picture import plan
from readiness.survey.places import Use, foot_words, in_bay
from readiness.survey.room import Room

THERE = "surveyed there"
"""How `Floor.known` says that a place is one of the survey's."""


def result(
    survey: Survey,
    bay: Bay,
    uses: Sequence[Use],
    instruments: Mapping[str, Instrument],
    system: System = "metric",
) -> tuple[str, ...]:
    """Slope, flatness, highest and lowest place, then per sheet twist and target feet, then the loops.

    Every number of a height stands with its uncertainty of 1.645 u. What cannot be said is said so.
    """
    try:
        found = surveyed(survey, instruments, system)
    except ValueError as fault:
        return (f"The survey of {bay.title} cannot serve: {str(fault).rstrip('.')}.",)
    say = _Say(system)
    lines = [_head(survey, bay, instruments)]
    lines += [f"It does not fit together. {problem}" for problem in found.problems]
    lines += [*_whole(found.surface, bay, survey, say)]
    for use in uses:
        lines += _of_sheet(survey, bay, use, instruments, say)
    lines += [*_walks(survey, instruments, say), *found.notes, *([survey.note] if survey.note else [])]
    return tuple(lines)


def height_map(survey: Survey, bay: Bay, instruments: Mapping[str, Instrument], system: System) -> Picture:
    """The bay with every place and its height over the lowest; the highest and lowest about the plane are marked."""
    try:
        surface = surveyed(survey, instruments, system).surface
    except ValueError:
        return plan(bay)
    lowest = min(surface.heights.values())
    names = tuple(surface.places)
    marked = extremes(surface, names) if len(names) > 3 else ()
    spots = (
        Spot("height", at, units.show(surface.heights[n] - lowest, "mm", system), n in marked)
        for n, at in surface.places.items()
    )
    return (*plan(bay), *spots)


class _Say:
    """Numbers as this shop reads them."""

    def __init__(self, system: System) -> None:
        self.system = system

    def show(self, value: float, unit: str) -> str:
        return units.show(value, unit, self.system)

    def size(self, estimate: Estimate, unit: str = "mm") -> str:
        guard = self.show(DEFAULT_FACTOR * estimate.u, unit)
        return f"{self.show(abs(estimate.value), unit)} (uncertainty ±{guard})"


def _head(survey: Survey, bay: Bay, instruments: Mapping[str, Instrument]) -> str:
    tools = " and ".join(f"{instruments[t].title} ({t})" for t in tools_of(survey))
    count = f"{len(survey.points)} places"
    runs = f", {len(survey.runs)} level runs" if survey.runs else ""
    return f"{bay.title}: floor of {survey.date}, read by {survey.by} with {tools}: {count}{runs}."


# --- the whole floor -----------------------------------------------------------------------------


def _whole(surface: Surface, bay: Bay, survey: Survey, say: _Say) -> Iterator[str]:
    along, across = slopes(surface, bay.standing)
    front = "front" if along.value >= 0 else "rear"
    left = "left" if across.value >= 0 else "right"
    yield f"Along the car it rises {_slope(along, say)} to the {front}; across it, {_slope(across, say)} to the {left}."
    yield from _flat(surface, survey, say)
    yield _highest(surface, survey, say)


def slopes(surface: Surface, standing: Standing) -> tuple[Estimate, Estimate]:
    """How much the floor rises in mm/m to the front and to the left of the car that stands there.

    Raises ValueError where the places lie on one line or there are none.
    """
    turned = in_car_axes(surface, standing)
    origin = plane_weights(turned.places, 0.0, 0.0)
    along, across = (plane_weights(turned.places, *to) for to in ((1.0, 0.0), (0.0, 1.0)))
    return turned.total(minus(along, origin)), turned.total(minus(across, origin))


def _slope(slope: Estimate, say: _Say) -> str:
    degrees = say.show(abs(in_degrees(slope).value), "deg")
    return f"{say.show(abs(slope.value), 'mm/m')} or {degrees} (uncertainty ±{say.show(DEFAULT_FACTOR * slope.u, 'mm/m')})"


def _flat(surface: Surface, survey: Survey, say: _Say) -> Iterator[str]:
    names = tuple(surface.places)
    if len(names) < 4:
        yield "Flatness is not known: three places always lie in a plane."
        return
    top, bottom = extremes(surface, names)
    yield (
        f"Flatness is {say.size(peak_to_valley(surface, names))} about the best plane, from {_named(top, survey)} "
        f"down to {_named(bottom, survey)}."
    )


def _highest(surface: Surface, survey: Survey, say: _Say) -> str:
    high, low = (pick(surface.heights, key=lambda n: surface.heights[n]) for pick in (max, min))
    rise = surface.total(minus({high: 1.0}, {low: 1.0}))
    return f"The highest place is {_named(high, survey)}, the lowest {_named(low, survey)}, {say.size(rise)} lower."


def _named(name: str, survey: Survey) -> str:
    what = next((p.what for p in survey.points if p.name == name), "")
    return f"{name} ({what})" if what else name


# --- under one car -------------------------------------------------------------------------------


def _of_sheet(
    survey: Survey, bay: Bay, use: Use, instruments: Mapping[str, Instrument], say: _Say
) -> Iterator[str]:
    sheet, sides = use
    feet = foot_places(sheet, sides)
    where = {**wheel_places(sheet), **feet}
    tools = tuple(instruments[t] for t in tools_of(survey))
    floor = under_car(survey, bay.standing, tools, tuple(where.items()), say.system)
    yield f"{sheet.title}:"
    bent = twist(floor.surface)
    if len(survey.points) < 4:
        yield "  Twist of the four wheels is not known: three places always lie in a plane."
    else:
        yield f"  Twist of the four wheels {say.size(bent)}: {twist_form(bent)}.{_unsure(floor, WHEELS)}"
    room = Room(bay)
    for foot, at in feet.items():
        if not room.holds(in_bay(bay.standing, at)):
            yield f"  {capital(foot_words(foot, sides))}: lies outside the bay."
            continue
        over = floor.surface.over_plane(foot, WHEELS)
        way = "over" if over.value >= 0 else "under"
        yield (
            f"  {capital(foot_words(foot, sides))}: {say.size(over)} {way} the plane of the wheels."
            f"{_unsure(floor, (foot,))}"
        )


def _unsure(floor: Floor, places: Sequence[str]) -> str:
    """What the heights rest on, where that is not a place that was surveyed."""
    said = dict.fromkeys(floor.known[p] for p in places if floor.known[p] != THERE)
    return f" Not surveyed there, but {' and '.join(said)}." if said else ""


# --- loops ---------------------------------------------------------------------------------------


def _walks(survey: Survey, instruments: Mapping[str, Instrument], say: _Say) -> Iterator[str]:
    if not survey.runs:
        return
    places = {p.name: (p.x, p.y) for p in survey.points}
    pairs = [pair_of(r, places, r.instrument or survey.instrument, instruments) for r in survey.runs]
    walks = [w for w in loops(pairs, u_foot=U_FOOT) if math.isfinite(w.gap.u)]
    if not walks:
        return
    worst = max(walks, key=lambda w: abs(w.gap.value) / w.gap.u)
    gap, limit = say.show(abs(worst.gap.value), "mm"), say.show(SUSPECT * worst.gap.u, "mm")
    closes = sum(not is_open(w) for w in walks)
    if len(walks) == 1:
        does = "comes" if closes else "does not come"
        yield (
            f"The one walk round, {', '.join(worst.nodes)}, {does} back to its start: it misses it by {gap}, where "
            f"{limit} would do."
        )
        return
    yield (
        f"{closes} of {len(walks)} walks round come back to their start; the worst, {', '.join(worst.nodes)}, misses "
        f"it by {gap}, where {limit} would do."
    )

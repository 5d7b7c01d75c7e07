"""From the survey of a bay to the heights of its floor: points by laser and staff, or a net of level runs.

Heights hold every correlation, so that whatever is asked of the floor has its uncertainty right.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache

from readiness import units
from readiness.checklist.outline import spread_across
from readiness.checklist.survey_rules import OVERHANG
from readiness.checks.floor.net_problems import Levelled, Words, is_open, net_problems
from readiness.checks.picture import XY
from readiness.job import Instrument, LevelRun, Survey, SurveyPoint, System
from readiness.measure.level_net import LevelNet, Pair, adjust_levels, loops
from readiness.measure.surface import Surface
from readiness.measure.uncertain import Estimate, combined, from_half_width, from_resolution

PLACING_A = 0.5
"""Half width in mm of how a foot comes to lie on a rough floor; common practice, no published source."""
U_FOOT = from_half_width(PLACING_A)
"""mm, of each end of a run."""
SCATTER = 0.5
"""Share of a level's stated accuracy that each reading may be off anew, so that turning the level does not take
it out; the rest is its zero error. Common practice, no published source."""
IN_LINE = 0.05
"""m; points that spread less than this from a line lie on it for all that a tape can tell."""


@dataclass(frozen=True)
class Surveyed:
    """The floor of a bay. `surface`: places in bay axes in m by point name, heights in mm with their effects.

    `problems`: what does not fit and what to read again; empty where the survey is sound. `suspect_runs`
    counts from 0. `zeros`: level -> its zero error in mm/m.
    """

    surface: Surface
    problems: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    details: tuple[str, ...] = ()
    zeros: Mapping[str, Estimate] = field(default_factory=dict)
    chi_square: float = 0.0
    dof: int = 0
    suspect_runs: tuple[int, ...] = ()
    in_short: tuple[str, ...] = ()
    """Of `details`, what stands for the whole of a sound survey."""


def tools_of(survey: Survey) -> tuple[str, ...]:
    """Ids of the instruments that a survey was made with, each once."""
    return tuple(dict.fromkeys((survey.instrument, *(r.instrument for r in survey.runs if r.instrument))))


def surveyed(survey: Survey, instruments: Mapping[str, Instrument], system: System = "metric") -> Surveyed:
    """The floor that a survey found. Raises ValueError, one sentence with what to do, where it cannot serve."""
    for tool in tools_of(survey):
        if tool not in instruments:
            raise ValueError(
                f"it was made with '{tool}', which is not among the shop's instruments: enter it"
            )
    return _surveyed(survey, tuple(instruments[tool] for tool in tools_of(survey)), system)


@lru_cache(maxsize=16)  # a bay's survey stays the same from answer to answer
def _surveyed(survey: Survey, tools: tuple[Instrument, ...], system: System) -> Surveyed:
    _check_points(survey)
    by_id = {tool.id: tool for tool in tools}
    if survey.runs:
        return _by_runs(survey, by_id, system)
    return _by_laser(survey, by_id[survey.instrument])


# --- what is refused -----------------------------------------------------------------------------


def _check_points(survey: Survey) -> None:
    names = [p.name for p in survey.points]
    twice = next((n for n in names if names.count(n) > 1), "") if len(set(names)) < len(names) else ""
    if twice:
        raise ValueError(f"two of its points are called {twice}: give each a name of its own")
    places = {(p.x, p.y) for p in survey.points}
    if len(places) < 3:
        raise ValueError(
            f"it has {len(places)} different places and a floor needs three: survey more of them"
        )
    if spread_across(list(places)) < IN_LINE:
        raise ValueError("its points lie on one line: survey a point beside that line")
    for point in survey.points:
        _check_point(point, by_level=bool(survey.runs))


def _check_point(point: SurveyPoint, *, by_level: bool) -> None:
    if by_level and point.height is not None:
        raise ValueError(
            f"point {point.name} has a height and the survey has level runs: give heights or runs, not both"
        )
    if not by_level and point.height is None:
        raise ValueError(f"point {point.name} has no height: measure it, or leave the point out")


def _check_runs(survey: Survey, places: Mapping[str, XY]) -> None:
    for run in survey.runs:
        for name in (run.start, run.end):
            if name not in places:
                raise ValueError(f"a run names {name}, which is no point of the survey: correct the name")
        if run.start == run.end:
            raise ValueError(f"a run goes from {run.start} to itself: give two different points")
        _check_length(survey, run.start, run.end, math.dist(places[run.start], places[run.end]))
    reached = {n for run in survey.runs for n in (run.start, run.end)}
    lost = [name for name in places if name not in reached]
    if lost:
        raise ValueError(f"no run reaches {', '.join(lost)}: read a run to each, or leave these points out")


def _check_length(survey: Survey, start: str, end: str, length: float) -> None:
    if length == 0.0:
        raise ValueError(f"{start} and {end} lie on the same place: a run between them has no length")
    if survey.straightedge is not None and length > survey.straightedge + OVERHANG:
        raise ValueError(
            f"the run {start} to {end} is {length:.2f} m long and the straightedge {survey.straightedge:.2f} m: "
            "correct the places, or read it in two runs with a point between"
        )


# --- heights by laser ----------------------------------------------------------------------------


def _by_laser(survey: Survey, tool: Instrument) -> Surveyed:
    heights = {p.name: p.height for p in survey.points if p.height is not None}
    surface = Surface(
        {p.name: (p.x, p.y) for p in survey.points},
        heights,
        {name: {name: _height_u(tool, height)} for name, height in heights.items()},
    )
    return Surveyed(surface)


def _height_u(tool: Instrument, height: float) -> float:
    accuracy, resolution = (units.accuracy(t, "mm", height) for t in (tool.accuracy, tool.resolution))
    return combined(from_half_width(accuracy), from_resolution(resolution))


# --- a net of level runs -------------------------------------------------------------------------


def _by_runs(survey: Survey, tools: Mapping[str, Instrument], system: System) -> Surveyed:
    places = {p.name: (p.x, p.y) for p in survey.points}
    _check_runs(survey, places)
    pairs = [pair_of(r, places, r.instrument or survey.instrument, tools) for r in survey.runs]
    net = adjust_levels(pairs, pairs[0].start, u_foot=U_FOOT)
    longest = math.inf if survey.straightedge is None else survey.straightedge + OVERHANG
    walks = loops(pairs, u_foot=U_FOOT)
    levelled = Levelled(pairs, net, walks, places, U_FOOT, longest=longest)
    words = Words(str, lambda value, unit: units.show(value, unit, system))
    found = net_problems(levelled, words)
    return Surveyed(
        Surface(places, net.heights, net.effects), found.sentences, _notes(pairs, net, words),
        net_details(levelled, words), net.zeros, net.chi_square, net.dof, found.runs, net_in_short(levelled, words),
    )  # fmt: skip


def pair_of(run: LevelRun, places: Mapping[str, XY], level: str, tools: Mapping[str, Instrument]) -> Pair:
    """A run between two places (m) as a pair of readings of this level. Raises ValueError."""
    length = math.dist(places[run.start], places[run.end])
    step = from_resolution(units.accuracy(tools[level].resolution, "mm/m", run.first))
    if not step:
        raise ValueError(
            f"the level {level} has a resolution of nothing: enter the step that it can be read to"
        )
    _, scatter = level_errors(tools[level], run.first)
    return Pair(run.start, run.end, length, run.first, run.turned, combined(scatter, step), level)


def level_errors(tool: Instrument, slope: float) -> tuple[float, float]:
    """What a level's stated accuracy is made of at a slope in mm/m: u of its zero error, u of each reading by itself."""
    u = from_half_width(units.accuracy(tool.accuracy, "mm/m", slope))
    return u * math.sqrt(1.0 - SCATTER**2), u * SCATTER


def _notes(pairs: Sequence[Pair], net: LevelNet, words: Words) -> tuple[str, ...]:
    turned = {p.level for p in pairs if p.turned is not None}
    zeros = [
        f"{f'Turning {level} end for end shows' if level in turned else f'The walks round give {level}'} a zero error "
        f"of {words.show(zero.value, 'mm/m')}; it is taken out."
        for level, zero in net.zeros.items()
    ]
    return (
        *zeros,
        *(() if net.dof else ("No walk of the survey comes back to its start, so nothing checks it.",)),
    )


def net_details(levelled: Levelled, words: Words) -> tuple[str, ...]:
    """How the heights came out of the runs: each run, each walk round, and `net_in_short`."""
    net, show = levelled.net, words.show
    runs = [
        f"{words.run(p)}: rises {words.signed(net.heights[p.end] - net.heights[p.start], 'mm')}, its readings off by "
        f"{show(r, 'mm')}, {abs(w):.1f} times what is expected"
        for p, r, w in zip(levelled.pairs, net.residuals, net.standardised, strict=True)
    ]
    walks = [
        f"Walk {', '.join(words.place(n) for n in walk.nodes)}: misses its start by {show(walk.gap.value, 'mm')}, "
        f"u {show(walk.gap.u, 'mm')}{'; too much' if is_open(walk) else ''}"
        for walk in levelled.walks
    ]
    return (*runs, *walks, *net_in_short(levelled, words))


def net_in_short(levelled: Levelled, words: Words) -> tuple[str, ...]:
    """What a net says as a whole: the zero error of each level, and how well everything fits."""
    net, show = levelled.net, words.show
    lines = [
        f"Zero error of {level}: {words.signed(zero.value, 'mm/m')}, u {show(zero.u, 'mm/m')}"
        for level, zero in net.zeros.items()
    ]
    if net.dof:
        lines.append(
            f"Whole net: chi-square {net.chi_square:.1f} where about {net.dof} is expected; chance alone gives more in "
            f"{units.show(net.probability, 'fraction', digits=1)} of sound nets"
        )
    return tuple(lines)

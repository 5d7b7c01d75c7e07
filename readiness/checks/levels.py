"""Heights under wheels and feet from a level laid from place to place, turned end for end or not."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from statistics import median

from readiness import units
from readiness.checks.heights import WHEEL_RUNS, Heights, foot_runs, place_name, places
from readiness.checks.kind import Answer, Scene
from readiness.checks.picture import XY
from readiness.job import WHEELS
from readiness.measure.levelling import (
    SUSPECT,
    Net,
    Run,
    adjust,
    height_difference,
    misclosure,
    reversed_pair,
)
from readiness.measure.surface import Surface, root_of
from readiness.measure.uncertain import combined, from_half_width

PLACING_A = 0.5
"""Half width in mm of how a level's ends come to lie on a rough floor; common practice, no published source."""


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

"""Heights under wheels and feet from a level laid from place to place, turned end for end or not."""

from __future__ import annotations

import math
from collections.abc import Mapping

from readiness import units
from readiness.checks.floor.heights import DIAGONALS, WHEEL_RUNS, Heights, foot_runs, place_name, places
from readiness.checks.floor.net_problems import Levelled, Words, net_problems
from readiness.checks.floor.surveyed import U_FOOT, level_errors, net_details
from readiness.checks.kind import Answer, Scene
from readiness.job import Reading
from readiness.measure.level_net import LevelNet, Pair, adjust_levels, loops
from readiness.measure.surface import Surface
from readiness.measure.uncertain import combined

Answers = tuple[Answer, Answer]
"""The first and the turned reading of a run."""
LEAST_U = 1e-6
"""mm/m; nobody reads a level better, whatever is said of it, and a net needs some u."""
UNKNOWN_ZERO = "Read one way only, so the level's zero error stays in the uncertainty"
KNOWN_ZERO = "Read one way only; the zero error that turning the level elsewhere shows is taken out"


def by_level(scene: Scene) -> Heights:
    answers = {run: run_answers(scene, "run", *run) for run in (*WHEEL_RUNS, *DIAGONALS, *foot_runs(scene))}
    feet = {foot: answers[wheel, foot] for wheel, foot in foot_runs(scene)}
    readings = tuple(r for both in answers.values() for a in both for r in a.readings)
    missing = tuple(answers[run][0] for run in WHEEL_RUNS if not _read(answers[run][0]))
    if missing:
        return Heights(readings=readings, missing=missing, feet=feet)
    where = places(scene)
    pairs = [
        level_pair(scene, a, b, math.dist(where[a], where[b]), *both)
        for (a, b), both in answers.items()
        if _read(both[0])
    ]
    return _heights(scene, pairs, readings, feet)


def run_answers(scene: Scene, name: str, start: str, end: str) -> Answers:
    return scene.answer(f"{name}.{start}-{end}.1"), scene.answer(f"{name}.{start}-{end}.2")


def _read(answer: Answer) -> bool:
    return answer.ready and answer.estimate is not None


def _heights(
    scene: Scene, pairs: list[Pair], readings: tuple[Reading, ...], feet: Mapping[str, Answers]
) -> Heights:
    tools = {p.level: scene.instruments[p.level] for p in pairs}
    stated = {name: units.accuracy(tool.accuracy, "mm/m", 0.0) for name, tool in tools.items()}
    zero_u = {name: max(level_errors(tool, 0.0)[0], LEAST_U) for name, tool in tools.items()}
    net = adjust_levels(pairs, pairs[0].start, u_foot=U_FOOT, zero_u=zero_u)
    where = places(scene)
    levelled = Levelled(pairs, net, loops(pairs, u_foot=U_FOOT, zero_u=zero_u), where, U_FOOT, zero_u)
    words = Words(place_name, scene.show)
    surface = Surface({n: where[n] for n in net.heights}, net.heights, net.effects)
    return Heights(
        surface, tuple(surface.places), readings, feet=feet, notes=_notes(scene, pairs, net, stated),
        open_loop=" ".join(net_problems(levelled, words).sentences), details=net_details(levelled, words),
    )  # fmt: skip


# --- one run -------------------------------------------------------------------------------------


def level_pair(scene: Scene, start: str, end: str, length: float, first: Answer, turned: Answer) -> Pair:
    """A run as the net wants it. `first` must be ready; `turned` need not be."""
    value, u = _split(scene, first)
    tool = first.readings[-1].instrument
    if not _read(turned) or turned.readings[-1].instrument != tool:
        return Pair(start, end, length, value, None, u, tool)
    back, back_u = _split(scene, turned)
    return Pair(start, end, length, value, back, combined(u, back_u) / math.sqrt(2.0), tool)


def zero_error_u(scene: Scene, answer: Answer) -> float:
    """u in mm/m of the zero error that the level may have by its stated accuracy."""
    assert answer.estimate is not None
    tool = scene.instruments[answer.readings[-1].instrument]
    return level_errors(tool, answer.estimate.value)[0]


def _split(scene: Scene, answer: Answer) -> tuple[float, float]:
    """Value and u of one reading, without the level's zero error, which turning the level takes out."""
    assert answer.estimate is not None
    rest = answer.estimate.u**2 - zero_error_u(scene, answer) ** 2
    return answer.estimate.value, math.sqrt(max(rest, LEAST_U**2))


# --- in words ------------------------------------------------------------------------------------


def _notes(scene: Scene, pairs: list[Pair], net: LevelNet, stated: Mapping[str, float]) -> tuple[str, ...]:
    turned = {p.level for p in pairs if p.turned is not None}
    notes = [
        _zero_note(scene, name, net.zeros[name].value, stated[name]) for name in net.zeros if name in turned
    ]
    for known, said in ((True, KNOWN_ZERO), (False, UNKNOWN_ZERO)):
        once = [p for p in pairs if p.turned is None and (p.level in turned) == known]
        if once:
            runs = ", ".join(f"{place_name(p.start)} to {place_name(p.end)}" for p in once)
            notes.append(f"{said}: {runs}.")
    return tuple(notes)


def _zero_note(scene: Scene, level: str, zero: float, stated: float) -> str:
    more = (
        f" That is more than its accuracy, {scene.show(stated, 'mm/m')}: have it adjusted."
        if abs(zero) > 2.0 * stated
        else ""
    )
    return f"Turning {level} shows a zero error of {scene.show(zero, 'mm/m')}; it is taken out.{more}"

"""Whether the bay's survey still holds: a few level readings of today against what it says, judged by E_n.

E_n is the difference over the expanded uncertainties of both (2 u each); up to 1 either way they agree
(ISO/IEC 17043, ISO 13528).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from readiness.checks.floor.heights import Heights, foot_runs, place_name, short_name
from readiness.checks.floor.levels import level_pair, run_answers, zero_error_u
from readiness.checks.floor.surveyed import U_FOOT
from readiness.checks.kind import Answer, Part, Question, Scene
from readiness.checks.parts import missing_part, number_part
from readiness.measure.decide import e_n
from readiness.measure.surface import Surface
from readiness.measure.uncertain import Estimate, combined

EXPANDED = 2.0
"""Times u: the expanded uncertainty that E_n is made of."""
NOT_CONFIRMED = "Not confirmed by level today."
ANEW = "Measure the floor anew with laser and staff or with a level, and survey the bay again."


@dataclass(frozen=True, slots=True)
class _Run:
    start: str
    end: str
    where: str

    @property
    def key(self) -> str:
        return f"quick.{self.start}-{self.end}"


def quick_runs(scene: Scene) -> tuple[_Run, ...]:
    """Where to lay the level: front axle, left side and rear axle, which tell of every wheel; from a wheel to one foot."""
    to_foot = [_Run(a, b, f"from {place_name(a)} to {place_name(b)}") for a, b in foot_runs(scene)[:1]]
    return (
        _Run("rf", "lf", "across the front axle"), _Run("lr", "lf", "along the left side"),
        _Run("rr", "lr", "across the rear axle"), *to_foot,
    )  # fmt: skip


def ask_quick(scene: Scene, demanded: int) -> list[Question]:
    """Two questions a run; those of the first `demanded` runs must be answered, turning the level need not."""
    return [q for n, run in enumerate(quick_runs(scene)) for q in _ask_run(run, optional=n >= demanded)]


def _ask_run(run: _Run, *, optional: bool) -> tuple[Question, Question]:
    label = f"{short_name(run.start)} to {short_name(run.end)}"
    first = Question(
        f"{run.key}.1", label, unit="mm/m", measures="slope", low=-100, high=100, optional=optional,
        part=run.key, fix=run.key, hint="to confirm the survey; plus if the place named second is higher",
    )  # fmt: skip
    turned = replace(
        first, key=f"{run.key}.2", label=f"{label}, turned", optional=True,
        hint="the level turned end for end on the same two places, with the sign that it shows now",
    )  # fmt: skip
    return first, turned


def quick_parts(scene: Scene, demanded: int, heights: Heights) -> list[Part]:
    """One part for each run that was read or is demanded; none where the heights are not a survey's."""
    if heights.surface is None or not heights.known:
        return []
    parts = []
    for n, run in enumerate(quick_runs(scene)):
        first, turned = run_answers(scene, "quick", run.start, run.end)
        if first.ready and first.estimate is not None:
            parts.append(_judged(scene, run, heights.surface, first, turned))
        elif n < demanded or first.missing == "lapsed" or first.readings:
            parts.append(missing_part(run.key, f"Level {run.where}", first))
    return parts


def confirmed(heights: Heights, parts: Sequence[Part]) -> Heights:
    """The heights with what the quick check found of them; none where it contradicts them."""
    if not heights.known:
        return heights
    if any(p.outcome == "fail" for p in parts):
        return Heights(
            readings=heights.readings, why="The bay's survey no longer holds: the level contradicts it.",
            remedy=ANEW, notes=heights.notes, details=heights.details,
        )  # fmt: skip
    agree = sum(p.outcome == "pass" for p in parts)
    if not agree:
        return replace(heights, notes=(*heights.notes, NOT_CONFIRMED))
    said = f"Confirmed by level today, by {agree} reading{'s' if agree > 1 else ''}."
    return replace(heights, notes=(*heights.notes, said))


def _judged(scene: Scene, run: _Run, surface: Surface, first: Answer, turned: Answer) -> Part:
    length = math.dist(surface.places[run.start], surface.places[run.end])
    read = _slope(scene, run, length, first, turned)
    known = surface.total({run.end: 1.0 / length, run.start: -1.0 / length})
    ratio = e_n(read.value, known.value, EXPANDED * read.u, EXPANDED * known.u)
    part = number_part(
        scene, run.key, f"Level {run.where}, difference from the survey", Estimate(ratio), "", low=-1.0, high=1.0,
        remedy=ANEW, readings=(*first.readings, *turned.readings),
    )  # fmt: skip
    says = (
        f"The level {run.where} reads {scene.show(read.value, 'mm/m')} and the survey has "
        f"{scene.show(known.value, 'mm/m')}"
    )
    within = f"(E_n {ratio:.2f}, agreed from -1 to 1)"
    if part.outcome == "pass":
        return replace(part, reason=f"{says}: no more apart than their uncertainties explain {within}.")
    return replace(
        part,
        reason=f"{says}: farther apart than their uncertainties explain {within}. The survey no longer holds.",
    )


def _slope(scene: Scene, run: _Run, length: float, first: Answer, turned: Answer) -> Estimate:
    """Slope in mm/m from start up to end, with both feet; read one way, the level's zero error stays in it."""
    pair = level_pair(scene, run.start, run.end, length, first, turned)
    zero = zero_error_u(scene, first) if pair.turned is None else 0.0
    return Estimate(pair.slope, combined(pair.rise_u(U_FOOT) / length, zero))

"""Aim: how far off its target a sensor sees, from all that the other checks measured of car and bay.

Nothing is asked here but a thrust angle where the procedure refers to the thrust line. The tolerance is the
sheet's, for each sensor and axis; there is no default. Known deviations add with their signs.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from msgspec import Struct

from readiness.checks.aim.causes import Cause
from readiness.checks.aim.inputs import gathered
from readiness.checks.aim.pairs import AXES, Seen, pairs_of, seen
from readiness.checks.aim.view import WAYS, details, gone, picture, way
from readiness.checks.kind import Judgement, Part, Question, Scene
from readiness.checks.parts import magnitude_part
from readiness.checks.words import capital
from readiness.job import Reading
from readiness.measure.aim import Axis
from readiness.measure.uncertain import Traced

KIND = "aim"

NEGLIGIBLE = 0.1
"""Where value and uncertainty together stay under this share of the tolerance, nothing of car and bay matters."""
LARGEST = 2
"""Causes named beside a number; all of them stand in the details."""
THRUST_MOST = 3.0
"""deg; no car that can be driven straight has more; common practice, no published source."""


class Limits(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """This kind has no limits: the tolerance of each sensor stands in the sheet."""


def ask(scene: Scene, limits: Limits) -> list[Question]:
    if scene.sheet.refers_to != "thrust_line":
        return []
    return [
        Question("thrust", "Thrust angle", unit="deg", measures="angle", low=-THRUST_MOST, high=THRUST_MOST,
                 shared=True, hint="from the alignment print; plus where the thrust line points to the left")
    ]  # fmt: skip


def demanded(scene: Scene, limits: Limits) -> bool:
    """A sheet with tolerances asks for them to be met; one without leaves nothing to compare with."""
    return any(p.tolerance for p in pairs_of(scene))


def judge(scene: Scene, limits: Limits) -> Judgement:
    inputs = gathered(scene)
    found = [seen(scene, pair, inputs) for pair in pairs_of(scene)]
    parts = [part for s in found for part in _parts(scene, s, inputs.readings)] or [_not_given(scene)]
    notes = (*inputs.notes, *_cannot_matter(scene, found), *_without_tolerance(scene, found))
    return Judgement(
        tuple(parts),
        notes,
        picture(scene, found),
        details(scene, found),
        inputs.until,
        inputs.heights.rests_on,
    )


def _not_given(scene: Scene) -> Part:
    return Part(
        "aim", "Aim tolerance", "not_done",
        f"Sheet {scene.sheet.sheet} gives no aim tolerance for a sensor with a target (field sensors, tolerance), so "
        "the aim cannot be judged.",
        remedy="Enter the procedure's tolerance in the sheet"
        + (", or set the check aside with the reason." if scene.check.if_applicable else "."),
    )  # fmt: skip


# --- parts ---------------------------------------------------------------------------------------


def _parts(scene: Scene, found: Seen, readings: tuple[Reading, ...]) -> list[Part]:
    return [_part(scene, found, axis, limit, readings) for axis, limit in found.pair.tolerance.items()]


def _part(scene: Scene, found: Seen, axis: Axis, limit: float, readings: tuple[Reading, ...]) -> Part:
    key, label = found.pair.key(axis), found.pair.label(axis)
    if found.budget is None:
        return _unknown(key, label, found, readings)
    total = found.budget.total.on(axis)
    largest = found.largest(axis, scene.factor)[:LARGEST]
    part = magnitude_part(
        scene, key, f"{label} ({way(axis, total, scene.factor)})", total.estimate, "deg", limit,
        remedy=_remedy(largest), readings=readings,
    )  # fmt: skip
    mm = scene.show(abs(found.budget.aim.mm(axis, total.value)), "mm")
    size = scene.show(abs(total.value), "deg")
    said = part.reason.replace(
        f"{part.label} is {size}",
        f"{label}: {found.pair.target.id} is {_seen(axis, total, scene.factor, size)}",
        1,
    )
    said += f" That is {_percent(abs(total.value) / limit)} of the tolerance, {mm} at the target."
    if found.share(axis, scene.factor) > NEGLIGIBLE:
        said += _most(scene, largest, axis)
    return replace(part, reason=said)


def _seen(axis: Axis, total: Traced, factor: float, size: str) -> str:
    """'seen 0.4° to the left'; straight with what it reads where it cannot be told."""
    words = way(axis, total, factor)
    told = words.removeprefix("seen ")
    return f"seen {size} {told}" if told in WAYS[axis] else f"{words} ({size})"


def _unknown(key: str, label: str, found: Seen, readings: tuple[Reading, ...]) -> Part:
    if found.fault:
        return Part(key, label, "not_done", f"{label} cannot be worked out: {found.fault}.",
                    remedy="Correct the places of sensor and target in the sheet.")  # fmt: skip
    lapsed = any(lack.lapsed for lack in found.lacking)
    needs = _listed([lack.words for lack in found.lacking])
    todo = _todo(list(dict.fromkeys(lack.todo for lack in found.lacking)))
    reason = f"{label} is not known yet: it needs {needs}."
    return Part(
        key, label, "lapsed" if lapsed else "not_done", reason, remedy=f"{capital(todo)}.", readings=readings
    )


def _listed(words: Sequence[str]) -> str:
    *most, last = words
    return f"{', '.join(most)} and {last}" if most else last


def _todo(todos: Sequence[str]) -> str:
    """What is to be answered stands together: 'answer Floor and Stance; put Centre marks right'."""
    titles = [t.removeprefix("answer ") for t in todos if t.startswith("answer ")]
    together = [f"answer {_listed(titles)}"] if titles else []
    return "; ".join((*together, *(t for t in todos if not t.startswith("answer "))))


Largest = Sequence[tuple[Cause, Traced]]


def _most(scene: Scene, largest: Largest, axis: Axis) -> str:
    if not largest:
        return ""
    return f" Most of it: {'; '.join(f'{cause.off} ({gone(scene, axis, e)})' for cause, e in largest)}."


def _remedy(largest: Largest) -> str:
    ways = "; ".join(dict.fromkeys(cause.remedy for cause, _ in largest))
    return f"{capital(ways)}." if ways else ""


def _percent(share: float) -> str:
    return f"{100.0 * share:.0f} %" if share >= 0.005 or not share else "under 1 %"


# --- beside the judgement ------------------------------------------------------------------------


def _cannot_matter(scene: Scene, found: Sequence[Seen]) -> tuple[str, ...]:
    """One line for the sensors that nothing of car and bay can spoil."""
    shares: dict[str, float] = {}
    for sensor in dict.fromkeys(s.pair.sensor.id for s in found):
        mine = [s for s in found if s.pair.sensor.id == sensor and s.pair.tolerance]
        share = max((s.share(a, scene.factor) for s in mine for a in AXES), default=1.0)
        if all(s.budget for s in mine) and share <= NEGLIGIBLE:
            shares[sensor] = share
    if not shares:
        return ()
    whose = "their" if len(shares) > 1 else "its"
    at_most = f"at most {_percent(max(shares.values()))} of {whose} tolerance"
    at_most = at_most.replace("at most under", "under")
    return (f"For {_listed(list(shares))} nothing of car and bay can matter here: {at_most}.",)


def _without_tolerance(scene: Scene, found: Sequence[Seen]) -> tuple[str, ...]:
    """What sensors see that the sheet gives no tolerance for, where it gives one for others."""
    if not any(s.pair.tolerance for s in found):
        return ()
    return tuple(
        f"{capital(s.pair.name)}: seen {_both(scene, s)}; the sheet gives no tolerance for it."
        for s in found
        if s.budget is not None and not s.pair.tolerance
    )


def _both(scene: Scene, found: Seen) -> str:
    assert found.budget is not None
    total = found.budget.total
    return " and ".join(gone(scene, axis, total.on(axis)) for axis in AXES)

"""Where the car stands: everything that a bay's file tells is turned to the car from there.

On the bay's own marks or on chalk marks somebody looks; anywhere else it is measured with four tapes, from two
marks of the bay to two wheels, and they have to agree.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar

from msgspec import Struct

from readiness.checks import place
from readiness.checks.car import wheel_places
from readiness.checks.common import positive_problems
from readiness.checks.kind import Choice, Judgement, Part, Question, Scene
from readiness.checks.parts import missing_part
from readiness.checks.place import CHALK, MARKS, PLAN, TAPE, Where, in_bay
from readiness.checks.standing.tapes import details, small, tapes_part
from readiness.checks.standing.view import view
from readiness.checks.standing.words import deviation, stands
from readiness.checks.taped_place import OUT_BY, lines_of, mark_keys
from readiness.checks.words import capital
from readiness.job import WHEEL_NAMES, Metre, Standing
from readiness.measure.plan import Area, PointAt, signed_clearance

KIND = place.KIND

WHERE = (
    Choice("m", MARKS, "on the bay's own marks"),
    Choice("c", CHALK, "on chalk, at a place that was worked out"),
    Choice("t", TAPE, "elsewhere, measured with a tape"),
)
WHEELS = (
    Choice("l", "left", "left-hand wheels"), Choice("r", "right", "right-hand wheels"),
    Choice("f", "front", "front wheels"), Choice("b", "rear", "rear wheels"),
)  # fmt: skip
SIDES = (Choice("l", "left", "left of the line"), Choice("r", "right", "right of the line"))
HOW = {
    "": "The car stands on the bay's own marks", MARKS: "The car stands on the bay's own marks",
    CHALK: "The car stands on its chalk marks", TAPE: "By the tapes the car stands here",
}  # fmt: skip
LONGEST = 30.0
"""m; a tape on the floor of a shop is no longer."""
ELSEWHERE = "Park the car inside the bay, or choose another bay for this job, then answer this again."


class Limits(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What may stand under `limits:` of a check of kind `standing`."""

    closing: Metre = 0.03
    """How far the distance of two wheels by the tapes may be off the sheet's, either way."""
    mark_u: Metre = 0.01
    """Standard uncertainty of where a mark or corner of the bay is by its file, in any direction."""

    WORDS: ClassVar[dict[str, str]] = {
        "closing": "two wheels by the tapes at most {} nearer or farther than by the sheet",
        "mark_u": "marks and corners of the bay's plan good to {} (standard uncertainty)",
    }

    def problems(self) -> Iterator[tuple[str, str, str]]:
        """What is wrong, as (field path, found, expected)."""
        yield from positive_problems(self)


# --- asking --------------------------------------------------------------------------------------


def ask(scene: Scene, limits: Limits) -> list[Question]:
    offered = CHALK if place.plan_of(scene) else ""
    chalk = _chalk(scene) if offered else ""
    then = f"{chalk} Chalk that place, then chock" if chalk else "chock"
    where = Question("where", "Car stands", "choice", choices=WHERE, evidence="seen", part="where",
                     default=offered,
                     hint=f"{then} the wheels and look: all four on their marks, or not")  # fmt: skip
    said = scene.word("where")
    return [where, *(_ask_plan(scene) if said == CHALK else _ask_tapes(scene) if said == TAPE else ())]


def _ask_plan(scene: Scene) -> list[Question]:
    """The place that was worked out. An earlier one that no longer counts is offered."""
    xs, ys = [p.x for p in scene.bay.outline], [p.y for p in scene.bay.outline]
    rows = (
        ("plan.x", "Rear axle: x", min(xs), max(xs), "middle of the rear axle, along the x of the bay's plan"),
        ("plan.y", "Rear axle: y", min(ys), max(ys), "middle of the rear axle, along the y of the bay's plan"),
        ("plan.heading", "Nose points to", -360.0, 360.0, "counterclockwise from the x of the bay's plan; 0 is along x"),
    )  # fmt: skip
    return [
        Question(key, label, unit=PLAN[key], low=low, high=high, evidence="told", part="where", hint=hint,
                 default=_earlier(scene, key))
        for key, label, low, high, hint in rows
    ]  # fmt: skip


def _chalk(scene: Scene) -> str:
    """How to find the place that was worked out with a tape, in words; empty where that was not kept."""
    return next((r.note for r in scene.answer(next(iter(PLAN)), accuracy=0.0).readings[::-1] if r.note), "")


def _earlier(scene: Scene, key: str) -> str:
    readings = scene.readings.get((scene.check.id, scene.side, key), ())
    return readings[-1].text if readings else ""


def _ask_tapes(scene: Scene) -> list[Question]:
    marks = tuple(Choice(key, name, name) for key, name in mark_keys(scene.bay).items())
    first = scene.word("mark.1")
    asked = [
        Question("mark.1", "Measure from", "choice", choices=marks, evidence="seen", part="tapes",
                 hint="a mark or corner to hook the tape to; corners count as in the bay's plan"),
        Question("mark.2", "and from", "choice", choices=tuple(c for c in marks if c.value != first),
                 evidence="seen", part="tapes", hint="another one, far from the first; not both in line with the wheels"),
        Question("wheels", "Measure to", "choice", choices=WHEELS, evidence="seen", part="tapes",
                 hint="two wheels that you can reach from both, the tape straight along the floor"),
    ]  # fmt: skip
    lines = lines_of(scene)
    if lines is None:
        return asked
    asked += [
        Question(key, f"{capital(mark)} to {wheel.upper()}", unit="m", measures="distance", low=0.05,
                 high=LONGEST, part="tapes",
                 hint=f"{mark} to the {WHEEL_NAMES[wheel]} wheel: to the floor beside the tyre, outer side, under the hub")
        for key, mark, wheel in lines.each
    ]  # fmt: skip
    if place.tapes_of(scene).two_ways:
        (_, one, _), (_, other, _) = lines.marks
        asked.append(Question("line", "Car lies", "choice", choices=SIDES, evidence="seen", part="where",
                              hint=f"looking along the line from {one} to {other}"))  # fmt: skip
    return asked


# --- judging -------------------------------------------------------------------------------------


def judge(scene: Scene, limits: Limits) -> Judgement:
    found = place.where(scene)
    said = scene.word("where")
    if said != TAPE:
        return Judgement((_where_part(scene, found, said),), _notes(scene, found), view(scene, found))
    taped = place.tapes_of(scene)
    parts = (tapes_part(scene, limits.closing, taped), _where_part(scene, found, said))
    return Judgement(parts, _notes(scene, found), view(scene, found, taped), details(scene, taped))


def _where_part(scene: Scene, found: Where, said: str) -> Part:
    key, label = "where", "Place"
    if found.missing:
        taped = place.tapes_of(scene) if said == TAPE else None
        if taped is not None and not taped.missing:
            return Part(
                key,
                label,
                "not_done",
                "Where the car stands does not follow from these tapes.",
                readings=found.readings,
            )
        return missing_part(key, label, *found.missing)
    unsure = f" (uncertainty ±{small(scene, scene.factor * found.u)})" if said == TAPE else ""
    reason = f"{HOW[said]}: {stands(scene.bay, found.standing, scene.shop.units)}{unsure}."
    out = _out(scene, found.standing)
    if said != MARKS and out > OUT_BY * found.u:
        reason = f"The car stands {scene.show(round(out, 2), 'm')} outside {scene.bay.title}. {reason}"
        return Part(key, label, "fail", reason, remedy=ELSEWHERE, readings=found.readings)
    return Part(key, label, "pass", reason, said, readings=found.readings)


def _out(scene: Scene, standing: Standing) -> float:
    """How far the wheel that is farthest out is outside the bay, m; negative is inside."""
    outline = Area(tuple((p.x, p.y) for p in scene.bay.outline))
    return max(
        signed_clearance(outline, PointAt(*in_bay(standing, at))) for at in wheel_places(scene.sheet).values()
    )


def _notes(scene: Scene, found: Where) -> tuple[str, ...]:
    """How far the car is off the place that was worked out, and off the bay's own marks."""
    if found.missing or not found.readings:
        return ()
    said, plan = scene.word("where"), place.plan_of(scene)
    from_plan = (
        deviation(scene, found, plan, "the place that was worked out") if said == TAPE and plan else ""
    )
    from_marks = deviation(scene, found, scene.bay.standing, "the bay's own marks") if said != MARKS else ""
    return tuple(n for n in (from_plan, from_marks) if n)

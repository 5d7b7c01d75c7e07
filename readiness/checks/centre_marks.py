"""Centre marks: whether the front and rear marks lie in the middle between the wheels.

The centre line of the car is laid out through the two marks. Each mark is measured to the same point
(the rim's edge) of the left and of the right wheel. The marks lie ahead of and behind the wheels, so the
tape runs slantwise and its two readings differ by less than the mark is off: see `_middle`. Two marks that
are off differently turn the line, two that are off alike shift it.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar

from msgspec import Struct

from readiness.checks.car import car_outline
from readiness.checks.common import positive_problems
from readiness.checks.kind import Answer, Judgement, Part, Question, Scene
from readiness.checks.parts import magnitude_part, missing_part
from readiness.checks.picture import Line, Picture, Spot
from readiness.job import Degree, Millimetre
from readiness.measure.attitude import shift_at, yaw_of_marks
from readiness.measure.uncertain import Estimate, from_half_width, propagated

KIND = "centre_marks"

ENDS = ("front", "rear")
NEAR, FAR = 300.0, 2500.0
"""mm; a tape from a centre mark to a wheel reads between these on any car."""
RIMS_A = 200.0
"""Half width in mm of how far apart the two rim edges lie: the sheet's track runs from the middle of one
tyre to the middle of the other; common practice, no published source."""


class Limits(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What may stand under `limits:` of a check of kind `centre_marks`."""

    yaw: Degree
    """Of the line through the marks, either way."""
    shift: Millimetre
    """Of that line at the target, either way."""

    WORDS: ClassVar[dict[str, str]] = {
        "yaw": "centre line turned by at most {}",
        "shift": "centre line shifted by at most {}",
    }

    def problems(self) -> Iterator[tuple[str, str, str]]:
        """What is wrong, as (field path, found, expected)."""
        yield from positive_problems(self)


def ask(scene: Scene, limits: Limits) -> list[Question]:
    return [
        Question(f"{end}.{side}", f"{end.capitalize()} mark to {side} wheel", unit="mm", measures="length",
                 low=NEAR, high=FAR, hint=f"to the edge of the {side} {end} rim, the same point on both sides",
                 part="yaw" if end == "front" else "shift")
        for end in ENDS for side in ("left", "right")
    ]  # fmt: skip


def judge(scene: Scene, limits: Limits) -> Judgement:
    answers = [scene.answer(q.key) for q in ask(scene, limits)]
    tapes = [a.estimate for a in answers if a.ready and a.estimate is not None]
    if len(tapes) < len(answers):
        parts = (
            missing_part("yaw", "Turn of the centre line", *answers),
            missing_part("shift", "Shift of the centre line", *answers),
        )
        return Judgement(parts, picture=_picture(scene, None))
    tapes += _between_rims(scene)
    fl, fr, rl, rr, front, rear = tapes
    offsets = (propagated(_middle, fl, fr, front), propagated(_middle, rl, rr, rear))
    remedy = _remedy(scene, offsets)
    return Judgement(
        (
            _yaw_part(scene, limits, tapes, answers, remedy),
            _shift_part(scene, limits, tapes, answers, remedy),
        ),
        _notes(scene, offsets),
        _picture(scene, offsets),
    )


def _middle(left: float, right: float, between: float) -> float:
    """y of a mark in mm from its distances to two rim points, and the distance between these.

    By Pythagoras right^2 - left^2 = 2 between y, however far the mark lies before, behind or above the
    wheels, as long as that is alike on both sides.
    """
    return (right - left) * (right + left) / (2.0 * between)


def _between_rims(scene: Scene) -> list[Estimate]:
    """How far apart the rim points lie at the front and at the rear, in mm."""
    d = scene.sheet.dimensions
    return [Estimate(track * 1000.0, from_half_width(RIMS_A)) for track in (d.track_front, d.track_rear)]


def _yaw_part(
    scene: Scene, limits: Limits, tapes: list[Estimate], answers: list[Answer], remedy: str
) -> Part:
    marks = scene.sheet.marks

    def yaw(fl: float, fr: float, rl: float, rr: float, front: float, rear: float) -> float:
        return yaw_of_marks(_middle(fl, fr, front), _middle(rl, rr, rear), marks.front, marks.rear)

    return magnitude_part(
        scene, "yaw", "Turn of the centre line", propagated(yaw, *tapes), "deg", limits.yaw, remedy=remedy,
        readings=tuple(r for a in answers for r in a.readings),
    )  # fmt: skip


def _shift_part(
    scene: Scene, limits: Limits, tapes: list[Estimate], answers: list[Answer], remedy: str
) -> Part:
    marks = scene.sheet.marks

    def at(x: float) -> Estimate:
        def off(fl: float, fr: float, rl: float, rr: float, front: float, rear: float) -> float:
            return shift_at(x, _middle(fl, fr, front), _middle(rl, rr, rear), marks.front, marks.rear)

        return propagated(off, *tapes)

    place, x = max(_places(scene), key=lambda p: abs(at(p[1]).value))
    return magnitude_part(
        scene, "shift", f"Shift of the centre line at {place}", at(x), "mm", limits.shift, remedy=remedy,
        readings=tuple(r for a in answers for r in a.readings),
    )  # fmt: skip


def _places(scene: Scene) -> list[tuple[str, float]]:
    """Where the shift counts: name and x in m of every target, or the rear axle without one."""
    return [(f"the {t.id}", t.at.x) for t in scene.sheet.targets] or [("the rear axle", 0.0)]


# --- beside the judgement ------------------------------------------------------------------------


def _where(scene: Scene, end: str, off: Estimate) -> str:
    size = scene.show(abs(off.value), "mm")
    if abs(off.value) <= 2.0 * off.u:
        return f"The {end} mark lies in the middle between the wheels, as near as the tape can tell ({size})."
    side = "left" if off.value > 0 else "right"
    return f"The {end} mark lies {size} {side} of the middle between the wheels."


def _notes(scene: Scene, offsets: tuple[Estimate, Estimate]) -> tuple[str, ...]:
    return tuple(_where(scene, end, off) for end, off in zip(ENDS, offsets, strict=True))


def _remedy(scene: Scene, offsets: tuple[Estimate, Estimate]) -> str:
    end, off = max(zip(ENDS, offsets, strict=True), key=lambda e: abs(e[1].value))
    way = "right" if off.value > 0 else "left"
    return (
        f"Measure the {end} mark again; if it stays off, lay the line out through a point "
        f"{scene.show(abs(off.value), 'mm')} to the {way} of it."
    )


def _picture(scene: Scene, offsets: tuple[Estimate, Estimate] | None) -> Picture:
    """The car from above, the marks where they lie and the line through them."""
    marks = scene.sheet.marks
    if offsets is None:
        return (car_outline(scene.sheet), Spot("target", (marks.front, 0.0), "?"),
                Spot("target", (marks.rear, 0.0), "?"))  # fmt: skip
    at = [(x, off.value / 1000.0) for x, off in zip((marks.front, marks.rear), offsets, strict=True)]
    spots = [
        Spot("target", xy, scene.show(off.value, "mm"), abs(off.value) > 2.0 * off.u)
        for xy, off in zip(at, offsets, strict=True)
    ]
    return (car_outline(scene.sheet), Line("clearance", tuple(at), "centre line"), *spots)

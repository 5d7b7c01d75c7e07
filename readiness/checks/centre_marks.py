"""Centre marks: whether the front and rear marks lie in the middle between the wheels.

The centre line of the car is laid out through the two marks. Each mark is measured to the same point
(the rim's outer edge) of the left and of the right wheel. The marks lie ahead of and behind the wheels, so the
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
from readiness.measure.uncertain import Estimate, Traced, from_half_width, propagated

KIND = "centre_marks"

ENDS = ("front", "rear")
NEAR, FAR = 300.0, 2500.0
"""mm; a tape from a centre mark to a wheel reads between these on any car."""
TELLS = 2.0
"""Standard uncertainties by which a mark is off before one says so."""
RIM, RIMS_A = 210.0, 60.0
"""mm; the outer edges of the rims lie farther apart than the track, which runs from the middle of one tyre to
the middle of the other, by the width of one rim over its flanges, and half of how much that may differ: rims
of 5½J to 9J are about 165 to 255 mm wide (nominal widths by ETRTO and flanges of about 12 mm, from memory)."""


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
        Question(f"{end}.{side}", f"{end.capitalize()} mark, {side} rim", unit="mm", measures="length",
                 low=NEAR, high=FAR, fix=end,
                 hint=f"from the {end} mark to the outer edge of the {side} {end} rim, alike on both sides")
        for end in ENDS for side in ("left", "right")
    ]  # fmt: skip


def judge(scene: Scene, limits: Limits) -> Judgement:
    answers = [scene.answer(q.key) for q in ask(scene, limits)]
    found = offsets(scene)
    if found is None:
        parts = (
            missing_part("yaw", "Turn of the line", *answers),
            missing_part("shift", "Shift of the centre line", *answers),
        )
        return Judgement(parts, picture=_picture(scene, None))
    remedy = _remedy(scene, found)
    return Judgement(
        (
            _yaw_part(scene, limits, found, answers, remedy),
            _shift_part(scene, limits, found, answers, remedy),
        ),
        _notes(scene, found),
        _picture(scene, found),
    )


Offsets = tuple[Traced, Traced]
"""How far the front and the rear mark lie left of the middle between the wheels, in mm."""


def offsets(scene: Scene) -> Offsets | None:
    """The front and the rear mark in mm left of the middle between the wheels; None while a tape is missing.

    Errors: 'front mark, left tape' and so on, one a reading, and 'front rims' and 'rear rims' for how far
    apart the rims lie, in which left and right share. A tape's own scale is not told from its reading.
    """
    front, rear = (_offset(scene, end) for end in ENDS)
    return None if front is None or rear is None else (front, rear)


def _offset(scene: Scene, end: str) -> Traced | None:
    left, right = (scene.answer(f"{end}.{side}").estimate for side in ("left", "right"))
    if left is None or right is None:
        return None
    d = scene.sheet.dimensions
    track = d.track_front if end == "front" else d.track_rear
    return _middle(end, left, right, Estimate(track * 1000.0 + RIM, from_half_width(RIMS_A)))


def _middle(end: str, left: Estimate, right: Estimate, between: Estimate) -> Traced:
    """y of a mark in mm from its distances to two rim points, and the distance between these.

    By Pythagoras right^2 - left^2 = 2 between y, however far the mark lies before, behind or above the
    wheels, as long as that is alike on both sides. The effects are the derivatives of this, to first order.
    """
    apart = between.value
    y = (right.value - left.value) * (right.value + left.value) / (2.0 * apart)
    return Traced(
        y,
        {
            f"{end} mark, left tape": -left.value / apart * left.u,
            f"{end} mark, right tape": right.value / apart * right.u,
            f"{end} rims": -y / apart * between.u,
        },
    )


def _yaw_part(scene: Scene, limits: Limits, found: Offsets, answers: list[Answer], remedy: str) -> Part:
    marks = scene.sheet.marks
    across = found[0].minus(found[1]).estimate
    yaw = propagated(lambda mm: yaw_of_marks(mm, 0.0, marks.front, marks.rear), across)
    return magnitude_part(
        scene, "yaw", f"Turn of the line{_way(yaw)}", yaw, "deg", limits.yaw, remedy=remedy,
        readings=tuple(r for a in answers for r in a.readings),
    )  # fmt: skip


def _shift_part(scene: Scene, limits: Limits, found: Offsets, answers: list[Answer], remedy: str) -> Part:
    front, rear = found
    marks = scene.sheet.marks

    def at(x: float) -> Traced:
        share = shift_at(x, 1.0, 0.0, marks.front, marks.rear)
        return front.scaled(share).plus(rear.scaled(1.0 - share))

    place, x = max(_places(scene), key=lambda p: abs(at(p[1]).value))
    shift = at(x).estimate
    return magnitude_part(
        scene, "shift", f"Shift at {place}{_way(shift)}", shift, "mm", limits.shift,
        remedy=remedy, readings=tuple(r for a in answers for r in a.readings),
    )  # fmt: skip


def _way(off: Estimate) -> str:
    """Which way, where it can be told."""
    if abs(off.value) <= TELLS * off.u:
        return ""
    return f", centre line to the {'left' if off.value > 0 else 'right'},"


def _places(scene: Scene) -> list[tuple[str, float]]:
    """Where the shift counts: name and x in m of every target, or the rear axle without one."""
    return [(f"the {t.id}", t.at.x) for t in scene.sheet.targets] or [("the rear axle", 0.0)]


# --- beside the judgement ------------------------------------------------------------------------


def _where(scene: Scene, end: str, off: Traced) -> str:
    size = scene.show(abs(off.value), "mm")
    if abs(off.value) <= TELLS * off.u:
        return f"The {end} mark lies in the middle between the wheels, as near as the tape can tell ({size})."
    side = "left" if off.value > 0 else "right"
    return f"The {end} mark lies {size} {side} of the middle between the wheels."


def _notes(scene: Scene, found: Offsets) -> tuple[str, ...]:
    return tuple(_where(scene, end, off) for end, off in zip(ENDS, found, strict=True))


def _remedy(scene: Scene, found: Offsets) -> str:
    """For every mark that is clearly off, and at least for the one that is off more."""
    both = list(zip(ENDS, found, strict=True))
    worst = max(both, key=lambda e: abs(e[1].value))
    told = [e for e in both if abs(e[1].value) > TELLS * e[1].u] or [worst]
    marks = " and ".join(f"the {end} mark" for end, _ in told)
    points = " and ".join(beside_mark(scene, end, off) for end, off in told)
    they_stay, them = ("it stays", "that point") if len(told) == 1 else ("they stay", "those points")
    return f"Measure {marks} again. If {they_stay} off, lay the line out through {points}, and measure anew from {them}."


def beside_mark(scene: Scene, end: str, off: Traced) -> str:
    """The point in the middle of the car beside a mark that is off, as words."""
    way = "right" if off.value > 0 else "left"
    return f"a point {scene.show(abs(off.value), 'mm')} to the {way} of the {end} mark"


def _picture(scene: Scene, found: Offsets | None) -> Picture:
    """The car from above, the marks where they lie and the line through them."""
    marks = scene.sheet.marks
    if found is None:
        return (car_outline(scene.sheet), Spot("target", (marks.front, 0.0), "?"),
                Spot("target", (marks.rear, 0.0), "?"))  # fmt: skip
    at = [(x, off.value / 1000.0) for x, off in zip((marks.front, marks.rear), found, strict=True)]
    spots = [
        Spot("target", xy, scene.show(off.value, "mm"), abs(off.value) > TELLS * off.u)
        for xy, off in zip(at, found, strict=True)
    ]
    return (car_outline(scene.sheet), Line("clearance", tuple(at), "centre line"), *spots)

"""Stance: how the body sits, from the ride heights at the four wheels against the sheet.

Heights already contain fuel and load as they are now: the load check says why they are off, it is
not added to them. What is judged is the difference from the sheet: a body meant to sit nose down is level.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import ClassVar, Literal

from msgspec import Struct

from readiness.checks.car import car_outline, wheel_places
from readiness.checks.common import positive_problems
from readiness.checks.kind import Answer, Judgement, Part, Question, Scene
from readiness.checks.parts import magnitude_part, missing_part, number_part
from readiness.checks.picture import Picture, Spot
from readiness.job import WHEEL_NAMES, WHEELS, Degree, Millimetre, RideHeights
from readiness.measure.attitude import pitch_deg, roll_deg, warp
from readiness.measure.uncertain import Estimate, Traced, propagated

KIND = "stance"

BOUNDS = {"hub_to_arch": (150.0, 700.0), "floor_to_arch": (400.0, 1300.0)}
"""mm; outside these the tape was put somewhere else."""
HINTS = {
    "hub_to_arch": "wheel centre straight up to the edge of the arch",
    "floor_to_arch": "floor straight up through the wheel centre to the edge of the arch",
}


class Limits(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What may stand under `limits:` of a check of kind `stance`; all against the sheet, either way."""

    height: Millimetre
    """At each wheel."""
    roll: Degree
    pitch: Degree
    warp: Millimetre
    """How far the diagonals differ."""

    WORDS: ClassVar[dict[str, str]] = {
        "height": "each ride height at most {} from the sheet's",
        "roll": "roll at most {} from the sheet's",
        "pitch": "pitch at most {} from the sheet's",
        "warp": "one corner at most {} off the other three",
    }

    def problems(self) -> Iterator[tuple[str, str, str]]:
        """What is wrong, as (field path, found, expected)."""
        yield from positive_problems(self)


def ask(scene: Scene, limits: Limits) -> list[Question]:
    heights = scene.sheet.ride_heights
    if heights is None:
        return []
    low, high = BOUNDS[heights.kind]
    return [
        Question(f"height.{w}", f"{WHEEL_NAMES[w]}: ride height", unit="mm", measures="length", low=low,
                 high=high, hint=HINTS[heights.kind], part=f"height.{w}")
        for w in WHEELS
    ]  # fmt: skip


def demanded(scene: Scene, limits: Limits) -> bool:
    """A sheet with ride heights asks for them to be met; one without leaves nothing to compare with."""
    return scene.sheet.ride_heights is not None


def judge(scene: Scene, limits: Limits) -> Judgement:
    heights = scene.sheet.ride_heights
    if heights is None:
        return Judgement((_not_given(scene),))
    answers = {w: scene.answer(f"height.{w}") for w in WHEELS}
    parts = [_height_part(scene, limits, w, _wanted(heights, w), answers[w]) for w in WHEELS]
    parts += _attitude_parts(scene, limits, heights, answers)
    return Judgement(tuple(parts), _notes(heights), _picture(scene, parts))


def _wanted(heights: RideHeights, wheel: str) -> float:
    return heights.front if wheel.endswith("f") else heights.rear


def _not_given(scene: Scene) -> Part:
    return Part(
        "height", "Ride heights", "not_done",
        f"Sheet {scene.sheet.sheet} gives no ride heights (field ride_heights), so the stance cannot be judged.",
        remedy="Enter the procedure's ride heights in the sheet"
        + (", or set the check aside with the reason." if scene.check.if_applicable else "."),
    )  # fmt: skip


def _height_part(scene: Scene, limits: Limits, wheel: str, wanted: float, answer: Answer) -> Part:
    key, label = f"height.{wheel}", f"{WHEEL_NAMES[wheel].capitalize()} ride height"
    if not answer.ready or answer.estimate is None:
        return missing_part(key, label, answer)
    low = answer.estimate.value < wanted
    return number_part(
        scene, key, label, answer.estimate, "mm", low=wanted - limits.height, high=wanted + limits.height,
        remedy=_low_remedy(wheel) if low else _high_remedy(wheel), readings=answer.readings,
    )  # fmt: skip


def _low_remedy(wheel: str) -> str:
    return (
        f"Bounce the car and roll it half a metre so the springs settle, read {WHEEL_NAMES[wheel]} again; "
        "if it stays low, put tyres and load right first, then look for a sagged or wrong spring."
    )


def _high_remedy(wheel: str) -> str:
    return (
        f"Bounce the car and roll it half a metre so the springs settle, read {WHEEL_NAMES[wheel]} again; "
        "if it stays high, look for missing load and for joints tightened with the wheels hanging."
    )


def body_kind(scene: Scene) -> Literal["hub_to_arch", "floor_to_arch"] | None:
    """What the deviations hold: 'floor_to_arch' the tyres too; None where the sheet has nothing to compare with."""
    heights = scene.sheet.ride_heights
    return None if heights is None else heights.kind


def deviations(scene: Scene) -> Mapping[str, Traced] | None:
    """How far in mm, up positive, each corner of the body is over where the sheet has it; None if not known.

    Errors: 'height <wheel>', one a wheel. Heights contain the load, whatever it is.
    """
    heights = scene.sheet.ride_heights
    if heights is None:
        return None
    found = {w: scene.answer(f"height.{w}").estimate for w in WHEELS}
    read = {w: e for w, e in found.items() if e is not None}
    if len(read) < len(WHEELS):
        return None
    return {w: Traced.of(f"height {w}", e.shifted(-_wanted(heights, w))) for w, e in read.items()}


# --- roll, pitch, warp ---------------------------------------------------------------------------


def _attitude_parts(
    scene: Scene, limits: Limits, heights: RideHeights, answers: dict[str, Answer]
) -> list[Part]:
    """Of the differences from the sheet, in the order of WHEELS."""
    estimates = [a.estimate for a in answers.values() if a.ready and a.estimate is not None]
    labels = {"roll": "Roll of the body", "pitch": "Pitch of the body", "warp": "Warp between the diagonals"}
    if len(estimates) < len(WHEELS):
        return [missing_part(key, label, *answers.values()) for key, label in labels.items()]
    off = [e.shifted(-_wanted(heights, w)) for w, e in zip(WHEELS, estimates, strict=True)]
    d = scene.sheet.dimensions
    track = (d.track_front + d.track_rear) / 2
    roll = propagated(lambda lf, lr, rr, rf: roll_deg((lf + lr) / 2, (rf + rr) / 2, track), *off)
    pitch = propagated(lambda lf, lr, rr, rf: pitch_deg((lf + rf) / 2, (lr + rr) / 2, d.wheelbase), *off)
    return [
        _attitude(scene, "roll", labels["roll"], roll, "deg", limits.roll, answers,
                  "left" if roll.value < 0 else "right"),
        _attitude(scene, "pitch", labels["pitch"], pitch, "deg", limits.pitch, answers,
                  "rear" if pitch.value < 0 else "front"),
        _attitude(scene, "warp", labels["warp"], propagated(warp, *off), "mm", limits.warp, answers, ""),
    ]  # fmt: skip


def _attitude(
    scene: Scene, key: str, label: str, estimate: Estimate, unit: str, limit: float,
    answers: dict[str, Answer], low_side: str,
) -> Part:  # fmt: skip
    where = (
        f" ({low_side} side low)" if low_side in ("left", "right") else f" ({low_side} low)" * bool(low_side)
    )
    remedy = (
        f"Put tyres and load right first: the {low_side} sits low. Then bounce the car and read all four again."
        if low_side
        else "Check that all four wheels stand on the floor and nothing is jammed, then read all four again."
    )
    return magnitude_part(scene, key, f"{label}{where}", estimate, unit, limit, remedy=remedy,
                          readings=tuple(r for a in answers.values() for r in a.readings))  # fmt: skip


# --- beside the judgement ------------------------------------------------------------------------


def _notes(heights: RideHeights) -> tuple[str, ...]:
    if heights.kind == "hub_to_arch":
        return (
            "Heights from the wheel centre do not see the tyres: a soft tyre lowers the car unseen here.",
        )
    return ()


def _picture(scene: Scene, parts: list[Part]) -> Picture:
    """The car from above with the height at each wheel."""
    by_key = {p.key: p for p in parts}
    spots = []
    for wheel, at in wheel_places(scene.sheet).items():
        part = by_key[f"height.{wheel}"]
        label = scene.show(part.value, "mm") if isinstance(part.value, float) else "?"
        spots.append(Spot("wheel", at, label, part.outcome == "fail"))
    return (car_outline(scene.sheet), *spots)

"""Stance: how the body sits, from the ride heights at the four wheels against the sheet.

Heights already contain fuel and load as they are now: the load check says why they are off, it is
never added to them. From the hub they hold the load, from the floor the load and the tyre, and neither holds
the floor; the two are not mixed. What is judged is the difference from the sheet: a body meant to sit nose
down is level. Where no height can be read, springs and load give an estimate that says it is one.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from functools import partial
from typing import Any, ClassVar, Literal

from msgspec import Struct

from readiness.checks.car import wheel_numbers
from readiness.checks.common import positive_problems
from readiness.checks.kind import Judgement, Part, Question, Scene
from readiness.checks.parts import magnitude_part, missing_part, number_part
from readiness.checks.stance import estimate
from readiness.checks.stance.estimate import Estimated
from readiness.job import WHEEL_NAMES, WHEELS, Degree, Millimetre, Reading, RideHeights
from readiness.measure.attitude import pitch_deg, roll_deg
from readiness.measure.tyre import diameter_mm, parse_size
from readiness.measure.uncertain import Estimate, Traced, propagated

KIND = "stance"

PLAUSIBLE_A = 120.0
"""mm; a height farther from the sheet's was read at another place; common practice, no published source."""
LEVEL = 0.005
"""deg; less than this reads as 0, and no side is low."""
BENT = 5.0
"""mm; springs and load cannot make the diagonals differ by more; common practice, no published source."""
BENT_REMEDY = "Read all four again; if it stays, the body or a spring seat may be bent: find out before any calibration."
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
    asked = [] if heights is None else [_question(scene, heights, w) for w in WHEELS]
    if estimate.chosen(scene):  # then they need not be read
        asked = [replace(q, optional=True) for q in asked]
    return asked + estimate.question(scene.sheet)


def _question(scene: Scene, heights: RideHeights, wheel: str) -> Question:
    wanted = _wanted(heights, wheel)
    return Question(
        f"height.{wheel}", f"{WHEEL_NAMES[wheel]} height", unit="mm", measures="length",
        low=max(wanted - PLAUSIBLE_A, 0.0), high=wanted + PLAUSIBLE_A, hint=HINTS[heights.kind],
        part=f"height.{wheel}", explain=partial(_other_place, scene, heights, wheel),
    )  # fmt: skip


def _other_place(scene: Scene, heights: RideHeights, wheel: str, value: float) -> str:
    """What a height is that differs from the sheet's by about a tyre's radius; empty if it does not."""
    wanted = _wanted(heights, wheel)
    radius = diameter_mm(parse_size(_of_axle(scene.sheet.placard.size, wheel))) / 2
    from_hub = heights.kind == "hub_to_arch"
    if abs(value - wanted - (radius if from_hub else -radius)) > PLAUSIBLE_A:
        return ""
    reads, is_, hold = (
        ("floor to arch", "hub to arch", "at the wheel centre")
        if from_hub
        else ("hub to arch", "floor to arch", "on the floor")
    )
    return (
        f"{scene.show(value, 'mm')} reads like {reads}; the sheet's {scene.show(wanted, 'mm')} is {is_}: "
        f"hold the end of the tape {hold}."
    )


def demanded(scene: Scene, limits: Limits) -> bool:
    """A sheet with ride heights asks for them to be met; one without leaves nothing to compare with."""
    return scene.sheet.ride_heights is not None


def body_kind(scene: Scene) -> Literal["hub_to_arch", "floor_to_arch"] | None:
    """What the deviations hold: 'floor_to_arch' the tyres too; None where the sheet has nothing to compare with."""
    if scene.sheet.ride_heights is not None:
        return scene.sheet.ride_heights.kind
    return "hub_to_arch" if estimate.chosen(scene) else None


def deviations(scene: Scene) -> Mapping[str, Traced] | None:
    """How far in mm, up positive, each corner of the body is over where the sheet has it; None if not known.

    From the four heights, which contain the load, whatever it is: errors 'height <wheel>', one a wheel. Else,
    if the person chose so, from springs and load (see `estimate.estimated`).
    """
    measured = _measured(scene)
    if measured is not None or not estimate.chosen(scene):
        return measured
    guess = estimate.estimated(scene)
    return None if guess.refused else guess.by_wheel


def _measured(scene: Scene) -> Mapping[str, Traced] | None:
    heights = scene.sheet.ride_heights
    if heights is None:
        return None
    found = {w: scene.answer(f"height.{w}").estimate for w in WHEELS}
    read = {w: e for w, e in found.items() if e is not None}
    if len(read) < len(WHEELS):
        return None
    return {w: Traced.of(f"height {w}", e.shifted(-_wanted(heights, w))) for w, e in read.items()}


def judge(scene: Scene, limits: Limits) -> Judgement:
    if body_kind(scene) is None:
        return Judgement((_not_given(scene),))
    by_tape = not estimate.chosen(scene) or _measured(scene) is not None
    guess = None if by_tape else estimate.estimated(scene)
    parts = [_height_part(scene, limits, w, guess) for w in WHEELS]
    parts += _attitude_parts(scene, limits, guess)
    return Judgement(tuple(parts), _notes(scene, parts, guess), wheel_numbers(scene, parts, "height", "mm"))


def _wanted(heights: RideHeights, wheel: str) -> float:
    return float(_of_axle(heights, wheel))


def _of_axle(pair: Any, wheel: str) -> Any:
    return pair.front if wheel.endswith("f") else pair.rear


def _not_given(scene: Scene) -> Part:
    ways = ["Enter the procedure's ride heights in the sheet"]
    ways += ["estimate them from load and springs"] if scene.sheet.springs else []
    ways += ["set the check aside with the reason"] if scene.check.if_applicable else []
    return Part(
        "height", "Ride heights", "not_done",
        f"Sheet {scene.sheet.sheet} gives no ride heights (field ride_heights), so the stance cannot be judged.",
        remedy=f"{', or '.join(ways)}.",
    )  # fmt: skip


def _height_part(scene: Scene, limits: Limits, wheel: str, guess: Estimated | None) -> Part:
    key, label = f"height.{wheel}", f"{WHEEL_NAMES[wheel].capitalize()} ride height"
    answer = scene.answer(key)
    if answer.ready and answer.estimate is not None:
        return _judged_height(scene, limits, wheel, label, answer.estimate, answer.readings)
    if guess is None:
        return missing_part(key, label, answer)
    readings = scene.answer(estimate.KEY).readings
    if wheel in guess.refused:
        return _refused(key, f"{label}, estimated", guess.refused[wheel], readings)
    heights = scene.sheet.ride_heights
    height = guess.by_wheel[wheel].estimate.shifted(_wanted(heights, wheel) if heights else 0.0)
    label = f"{label}{'' if heights else ', over the procedure,'} estimated from load and springs"
    return _judged_height(scene, limits, wheel, label, height, readings)


def _judged_height(
    scene: Scene, limits: Limits, wheel: str, label: str, height: Estimate, readings: tuple[Reading, ...]
) -> Part:
    heights = scene.sheet.ride_heights
    wanted = _wanted(heights, wheel) if heights else 0.0
    return number_part(
        scene, f"height.{wheel}", label, height, "mm", low=wanted - limits.height, high=wanted + limits.height,
        remedy=_low_remedy(wheel) if height.value < wanted else _high_remedy(wheel), readings=readings,
    )  # fmt: skip


def _refused(key: str, label: str, why: str, readings: tuple[Reading, ...]) -> Part:
    return Part(key, label, "not_done", f"{label}: {why}.", remedy="Read the four heights with a tape.",
                readings=readings)  # fmt: skip


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


# --- roll, pitch, warp ---------------------------------------------------------------------------

LABELS = {"roll": "Roll of the body", "pitch": "Pitch of the body", "warp": "Warp of the diagonals"}


def _attitude_parts(scene: Scene, limits: Limits, guess: Estimated | None) -> list[Part]:
    """Of the differences from the sheet. An estimate knows no warp."""
    if guess is not None and guess.refused:
        why, readings = next(iter(guess.refused.values())), scene.answer(estimate.KEY).readings
        return [_refused(key, f"{LABELS[key]}, estimated", why, readings) for key in ("roll", "pitch")]
    off = deviations(scene)
    answers = tuple(scene.answer(f"height.{w}") for w in WHEELS)
    if off is None:
        return [missing_part(key, label, *answers) for key, label in LABELS.items()]
    readings = tuple(r for a in answers for r in a.readings)
    readings = readings if guess is None else (*readings, *scene.answer(estimate.KEY).readings)
    lf, lr, rr, rf = (off[w] for w in WHEELS)
    d = scene.sheet.dimensions
    across = lf.plus(lr).minus(rf.plus(rr)).scaled(0.5).estimate
    along = lf.plus(rf).minus(lr.plus(rr)).scaled(0.5).estimate
    roll = propagated(lambda mm: roll_deg(mm, 0.0, (d.track_front + d.track_rear) / 2), across)
    pitch = propagated(lambda mm: pitch_deg(mm, 0.0, d.wheelbase), along)
    guessed = guess is not None
    parts = [
        _tilt_part(
            scene,
            "roll",
            roll,
            limits.roll,
            "left side" if roll.value < 0 else "right side",
            guessed,
            readings,
        ),
        _tilt_part(
            scene, "pitch", pitch, limits.pitch, "rear" if pitch.value < 0 else "front", guessed, readings
        ),
    ]
    return parts if guessed else [*parts, _warp_part(scene, limits, off, readings)]


def _tilt_part(
    scene: Scene,
    key: str,
    tilt: Estimate,
    limit: float,
    low: str,
    guessed: bool,
    readings: tuple[Reading, ...],
) -> Part:
    """`low` is what sits low, 'left side' or 'rear'."""
    side = f" ({low} low)" if abs(tilt.value) >= LEVEL else ""
    label = f"{LABELS[key]}{', estimated' if guessed else ''}{side}"
    again = "read the four heights" if guessed else "bounce the car and read all four again"
    remedy = f"Put tyres and load right first: the {low.removesuffix(' side')} sits low. Then {again}."
    return magnitude_part(scene, key, label, tilt, "deg", limit, remedy=remedy, readings=readings)


def _warp_part(
    scene: Scene, limits: Limits, off: Mapping[str, Traced], readings: tuple[Reading, ...]
) -> Part:
    warped = off["lf"].minus(off["lr"]).plus(off["rr"]).minus(off["rf"]).estimate
    part = magnitude_part(
        scene, "warp", LABELS["warp"], warped, "mm", limits.warp, readings=readings,
        remedy="Check that all four wheels stand on the floor and nothing is jammed, then read all four again.",
    )  # fmt: skip
    if abs(warped.value) <= BENT:
        return part
    said = f"{part.reason} More than {scene.show(BENT, 'mm')} is mis-measured or bent."
    return replace(part, reason=said, remedy=BENT_REMEDY)


# --- beside the judgement ------------------------------------------------------------------------


def _notes(scene: Scene, parts: list[Part], guess: Estimated | None) -> tuple[str, ...]:
    notes = [estimate.NOTE] if guess is not None else []
    if body_kind(scene) == "hub_to_arch":
        notes.append(
            "Heights from the wheel centre do not see the tyres: how far these give is taken from their pressures."
        )
    if any(p.remedy == BENT_REMEDY and p.outcome == "pass" for p in parts):  # else it is said as what to do
        notes.append(f"The diagonals differ by more than {scene.show(BENT, 'mm')}. {BENT_REMEDY}")
    return tuple(notes)

"""What the four tapes say of one another, as the part of a finding, and how it was worked out."""

from __future__ import annotations

import math
from dataclasses import replace

from readiness.checks.kind import Part, Scene
from readiness.checks.parts import missing_part, number_part
from readiness.checks.taped_place import Candidate, Lines, TapedPlace, misread
from readiness.job import WHEEL_NAMES
from readiness.measure.trilateration import TapesApartError
from readiness.measure.uncertain import Estimate

KEY, LABEL = "tapes", "Tapes agree"
PAIRS = {
    ("lf", "lr"): "left-hand wheels", ("rf", "rr"): "right-hand wheels", ("lf", "rf"): "front wheels",
    ("lr", "rr"): "rear wheels",
}  # fmt: skip
FOUR = "One of the four is misread, or its mark is not where the bay's file has it: read all four again."
IN_LINE = "Measure from other marks, so that the two tapes to a wheel meet there more squarely."


def tapes_part(scene: Scene, closing: float, taped: TapedPlace) -> Part:
    """Whether the tapes agree: simple acceptance, since their own uncertainty is what the limit is about."""
    if taped.apart is not None:
        return _apart(scene, taped, taped.apart)
    if not taped.candidates or taped.lines is None:
        return missing_part(KEY, LABEL, *taped.missing)
    best = taped.found or taped.candidates[0]
    off = Estimate(abs(best.closing) * 1000.0)
    part = number_part(scene, KEY, LABEL, off, "mm", high=closing * 1000.0, readings=taped.readings)
    reason = f"{_by_them(scene, taped.lines, best, taped)}; at most {small(scene, closing)} is allowed."
    if part.outcome != "pass":
        remedy = _remedy(scene, taped) or FOUR
        return replace(part, reason=f"The tapes disagree: {reason}", remedy=remedy)
    if taped.poor:
        known = small(scene, scene.factor * best.posed.u)
        why = f"The tapes agree and still tell little: they meet so flat that the place is known to ±{known} only."
        return replace(part, outcome="not_done", reason=why, remedy=IN_LINE)
    return replace(part, reason=f"The tapes agree: {reason}")


def small(scene: Scene, metres: float) -> str:
    """A short length, to the millimetre or as fine as the shop reads."""
    return scene.show(float(round(metres * 1000.0)), "mm")


def _by_them(scene: Scene, lines: Lines, best: Candidate, taped: TapedPlace) -> str:
    known = math.dist(taped.tapes[0].point, taped.tapes[1].point)
    by_tape, by_sheet = (scene.show(round(v, 3), "m") for v in (known + best.closing, known))
    return f"by them the {PAIRS[lines.wheels]} are {by_tape} apart, by the sheet {by_sheet}, {small(scene, abs(best.closing))} off"


def _apart(scene: Scene, taped: TapedPlace, apart: tuple[str, TapesApartError]) -> Part:
    assert taped.lines is not None
    wheel, fault = apart
    (_, one, _), (_, other, _) = taped.lines.marks
    how = "together too short" if fault.short else "one too long for the other"
    reason = f"The tapes to the {WHEEL_NAMES[wheel]} wheel do not meet: from {one} and {other} they are {how} by {small(scene, fault.gap)}."
    remedy = _remedy(scene, taped) or f"Read both tapes to the {WHEEL_NAMES[wheel]} wheel again."
    return Part(KEY, LABEL, "fail", reason, remedy=remedy, readings=taped.readings)


def _remedy(scene: Scene, taped: TapedPlace) -> str:
    """What to read again: two tapes that would fit if they were swapped, or those that may be misread; empty for all."""
    assert taped.lines is not None
    names = [_name(mark, wheel) for _, mark, wheel in taped.lines.each]
    may_be, swapped = misread(scene, taped)
    if swapped:
        pairs = ", or ".join(f"{names[i]} and {names[j]}" for i, j in swapped)
        return f"They would agree with two of them swapped: {pairs}. Read these again."
    if len(may_be) == 1:
        return f"Read this one again, the others would agree without it: {names[may_be[0]]}."
    if 1 < len(may_be) < len(names):
        return f"One of these is misread, read them again: {'; '.join(names[k] for k in may_be)}."
    return ""


def _name(mark: str, wheel: str) -> str:
    return f"from {mark} to the {WHEEL_NAMES[wheel]} wheel"


def details(scene: Scene, taped: TapedPlace) -> tuple[str, ...]:
    """How the place was worked out, line by line."""
    if not taped.candidates or taped.lines is None:
        return ()
    posed = (taped.found or taped.candidates[0]).posed
    each = [
        f"  {_name(mark, wheel)}: {scene.show(round(t.length, 3), 'm')}, by the place found {small(scene, abs(by))} {'more' if by > 0 else 'less'}"
        for (_, mark, wheel), t, by in zip(taped.lines.each, taped.tapes, posed.residuals, strict=True)
    ]
    x, y = (scene.show(round(v, 3), "m") for v in (posed.x, posed.y))
    nose, unsure = (scene.show(round(v, 2), "deg") for v in (posed.heading, posed.u_heading))
    return (
        f"Four tapes by least squares; standard uncertainty of each {small(scene, taped.u_tape)}, of each mark "
        f"{small(scene, scene.check.limits.mark_u)}.",
        *each,
        f"Middle of the rear axle at x {x}, y {y} of the bay's plan, standard uncertainty {small(scene, posed.u)} in the "
        f"worst direction; nose at {nose}, standard uncertainty {unsure}.",
        f"Sound tapes disagree by as much or more in {100.0 * posed.chance:.2g} cases of 100.",
        *((_other_side(taped.lines),) if taped.two_ways else ()),
    )


def _other_side(lines: Lines) -> str:
    (_, one, _), (_, other, _) = lines.marks
    return (
        f"The same tapes fit on the other side of the line from {one} to {other}; which side it is was asked."
    )

"""Result: what the tester shows when the calibration is done, against what the procedure gives.

The number on the tester's display is compared with the procedure's range as it stands, and a number exactly at
the end of the range lies within it. That is simple acceptance, and what the procedure itself does: neither the
resolution of the display nor any instrument of the shop enters. Common practice, no published source.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from msgspec import Struct

from readiness import units
from readiness.checklist.result_rules import COMPLETED as KEY
from readiness.checklist.results import Span, results_of, span
from readiness.checks.afterwards import RESULT
from readiness.checks.kind import YES_NO, Answer, Judgement, Part, Question, Scene
from readiness.checks.parts import missing_part, number_part, state_part, unit_of_difference
from readiness.checks.words import clock, happening
from readiness.job import Reading, Result
from readiness.measure.decide import SAME
from readiness.measure.uncertain import Estimate

KIND = RESULT
TOUCHED = "sensor_touched"
"""What was calibrated is no longer as it was."""

COMPLETED = Result(key=KEY, label="Tester says completed", message="")
"""Asked where the sheet names no message: a calibration that broke off has no number to show."""


class Limits(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """This kind has no limits: the sheet gives them under `results`."""


def ask(scene: Scene, limits: Limits) -> list[Question]:
    """The messages first; a calibration that was not completed has nothing more to tell."""
    messages, numbers = _wanted(scene)
    broken_off = any(scene.word(m.key) == "no" for m in messages)
    return [*map(_of_message, messages), *(_of_number(scene, n) for n in numbers if not broken_off)]


def judge(scene: Scene, limits: Limits) -> Judgement:
    messages, numbers = _wanted(scene)
    told = [_told(scene, m) for m in messages]
    broken_off = any(p.outcome == "fail" for p in told)
    read = [_read(scene, n) for n in numbers if not broken_off]
    # numbers come first, since one of them is to stand for the whole where all is well
    parts = (_untouched_since(scene, p) for p in (*read, *told))
    since = None if broken_off else _broke_off(scene, messages)
    return Judgement(tuple(_not_before(p, since) for p in parts), tuple(_notes(scene)))


def _wanted(scene: Scene) -> tuple[list[Result], list[Result]]:
    """What the sheet gives for this side: messages, at least one, and numbers."""
    given = results_of(scene.sheet, scene.side)
    messages = [r for r in given if r.message is not None]
    return messages or [COMPLETED], [r for r in given if r.message is None]


# --- messages ------------------------------------------------------------------------------------


def _of_message(wanted: Result) -> Question:
    shows = f"yes if it shows '{wanted.message}'" if wanted.message else "yes if it calls it completed"
    hint = f"{shows}; no if it broke off or says anything else"
    return Question(
        wanted.key, wanted.label, "choice", choices=YES_NO, hint=hint, evidence="seen", part=wanted.key
    )


def _told(scene: Scene, wanted: Result) -> Part:
    message = f"'{wanted.message}'" if wanted.message else "that the calibration was completed"
    return state_part(
        wanted.key, wanted.label, scene.answer(wanted.key), wanted="yes",
        good=f"The tester shows {message}.",
        bad=f"The tester does not show {message}.",
        remedy=scene.check.remedy,
    )  # fmt: skip


# --- numbers -------------------------------------------------------------------------------------


def _of_number(scene: Scene, wanted: Result) -> Question:
    allowed = span(wanted)
    return Question(
        wanted.key, wanted.label, unit=allowed.unit, evidence="seen", part=wanted.key, accuracy=0.0, latest=True,
        hint=f"as the tester shows it; the procedure gives {allowed.words(scene.shop.units)}",
    )  # fmt: skip


def _read(scene: Scene, wanted: Result) -> Part:
    """The last number counts: each calibration has a result of its own, so that there is no mean."""
    answer = scene.answer(wanted.key, accuracy=0.0)
    if not answer.ready:
        return missing_part(wanted.key, wanted.label, answer)
    last, allowed = answer.readings[-1], span(wanted)
    part = number_part(
        scene, wanted.key, wanted.label, Estimate(float(last.value)), allowed.unit,
        low=allowed.low, high=allowed.high, remedy=scene.check.remedy, readings=(last,),
    )  # fmt: skip
    # nobody knows how sure the tester is
    return replace(part, reason=_sentence(scene, part, allowed), u=None, p_conform=None)


def _sentence(scene: Scene, part: Part, allowed: Span) -> str:
    value, margin = float(part.value or 0.0), part.margin or 0.0
    room = scene.show(abs(margin), unit_of_difference(allowed.unit))
    if part.outcome == "fail":
        told = f"{room} beyond it"
    elif margin <= SAME * max(1.0, abs(value)):
        told = "just at its end, which counts"
    else:
        told = f"{room} to spare"
    # finer than other readings are shown, since what the display says is what is compared
    shown = units.show(value, allowed.unit, scene.shop.units, digits=4)
    given = allowed.words(scene.shop.units)
    return f"{part.label} is {shown}. The procedure gives {given}: {told}."


# --- what else there is to say -------------------------------------------------------------------


def _untouched_since(scene: Scene, part: Part) -> Part:
    """A result from before the sensor was touched is none of the sensor as it is now."""
    if not part.readings:
        return part
    last: Reading = part.readings[-1]
    touched = [
        h.at for h in scene.happened if h.event == TOUCHED and h.concerns(scene.side) and h.at > last.at
    ]
    if not touched:
        return part
    reason = (
        f"{part.reason} But that was read at {clock(last.at, scene.now)}, and {happening(TOUCHED)} at "
        f"{clock(min(touched), scene.now)}: calibrate again, then enter the new result."
    )
    return replace(part, outcome="lapsed", reason=reason)


def _broke_off(scene: Scene, messages: list[Result]) -> datetime | None:
    """When a calibration last was not completed; None where none was."""
    said = (scene.readings.get((scene.check.id, scene.side, m.key), ()) for m in messages)
    return max((r.at for rs in said for r in rs if r.value == "no"), default=None)


def _not_before(part: Part, broke_off: datetime | None) -> Part:
    """What was read before a calibration broke off is not of the one that was completed after it."""
    if broke_off is None or part.outcome == "lapsed" or not part.readings or part.readings[-1].at > broke_off:
        return part
    reason = (
        f"{part.reason} But that is from {part.readings[-1].at:%H:%M}, and a calibration broke off at {broke_off:%H:%M}: "
        "enter what the tester shows of the one after it."
    )
    return replace(part, outcome="lapsed", reason=reason)


def _notes(scene: Scene) -> list[str]:
    given = results_of(scene.sheet, scene.side)
    notes = [] if given else [f"Sheet {scene.sheet.sheet} gives no range for the result."]
    answers = [(r, scene.answer(r.key, accuracy=0.0)) for r in given if r.message is None]
    return notes + [_several(scene, r, a) for r, a in answers if len(a.readings) > 1]


def _several(scene: Scene, wanted: Result, answer: Answer) -> str:
    """Whoever calibrates until it passes says so."""
    shown = ", ".join(scene.show(float(r.value), r.unit) for r in answer.readings)
    times = "twice" if len(answer.readings) == 2 else f"{len(answer.readings)} times"
    return f"{wanted.label} was read {times} ({shown}); the last one counts."

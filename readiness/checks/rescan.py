"""Fault re-scan: what the control units have stored once the calibration is done. It has to come after the result."""

from __future__ import annotations

from msgspec import Struct

from readiness.checks.afterwards import from_before
from readiness.checks.kind import YES_NO, Judgement, Part, Question, Scene
from readiness.checks.parts import missing_part

KIND = "rescan"


class Limits(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """This kind has no limits: nothing may be stored."""


def ask(scene: Scene, limits: Limits) -> list[Question]:
    empty = Question(
        "empty", "Fault memory empty", "choice", choices=YES_NO, evidence="seen", part="empty",
        hint="scan all control units once more, now that the calibration is done",
    )  # fmt: skip
    left = Question(
        "left", "What is stored", "text", evidence="seen", part="empty",
        hint="codes and control units, as the tester lists them",
    )  # fmt: skip
    return [empty, left] if scene.word("empty") == "no" else [empty]


def judge(scene: Scene, limits: Limits) -> Judgement:
    return Judgement((_part(scene),))


def _part(scene: Scene) -> Part:
    key, label = "empty", "Fault memory empty"
    answer = scene.answer("empty")
    if not answer.ready:
        return missing_part(key, label, answer)
    if early := from_before(scene, key, label, *answer.readings):
        return early
    if answer.word == "yes":
        reason = "No control unit has a fault stored."
        return Part(key, label, "pass", reason, answer.word, readings=answer.readings)
    left = scene.answer("left")
    listed = f": {left.word}" if left.ready else ", which ones is not said"
    reason = f"Faults are stored{listed}."
    return Part(
        key, label, "fail", reason, answer.word, remedy=scene.check.remedy,
        readings=(*answer.readings, *left.readings),
    )  # fmt: skip

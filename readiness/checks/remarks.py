"""Remarks: whatever else somebody should know of this job. Nothing has to be said, and nothing is judged."""

from __future__ import annotations

from msgspec import Struct

from readiness.checks.kind import Judgement, Part, Question, Scene

KIND = "remarks"
MOST = 9
"""Remarks of one job."""


class Limits(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """This kind has no limits."""


def ask(scene: Scene, limits: Limits) -> list[Question]:
    """One line more than is filled."""
    return [_question(n) for n in range(1, min(_said(scene) + 1, MOST) + 1)]


def judge(scene: Scene, limits: Limits) -> Judgement:
    answers = [scene.answer(f"remark.{n}") for n in range(1, _said(scene) + 1)]
    parts = [
        Part(a.key, f"Remark {n}", "pass", a.word, a.word, readings=a.readings)
        for n, a in enumerate(answers, 1)
    ]
    return Judgement(tuple(parts) or (Part("remark.1", "Remarks", "pass", "No remarks."),))


def _question(n: int) -> Question:
    label = "Remark" if n == 1 else f"Remark {n}"
    hint = "for whoever reads this later; leave it empty if there is nothing to say"
    return Question(
        f"remark.{n}", label, "text", hint=hint, evidence="told", optional=True, part=f"remark.{n}"
    )


def _said(scene: Scene) -> int:
    """How many lines are filled, counted from the first without a gap."""
    return next((n for n in range(MOST) if not scene.answer(f"remark.{n + 1}").ready), MOST)

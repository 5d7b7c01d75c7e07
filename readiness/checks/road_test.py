"""Road test: whether one was made, where, and under which conditions. The caution comes before everything else."""

from __future__ import annotations

from msgspec import Struct

from readiness.checks.afterwards import from_before
from readiness.checks.kind import Answer, Choice, Judgement, Part, Question, Scene
from readiness.checks.parts import missing_part

KIND = "road_test"

NEEDLESS = "not asked for"
MADE = (
    Choice("y", "yes", "yes"),
    Choice("n", "no", "no, though it is asked for"),
    Choice("p", NEEDLESS, "none, as the procedure asks for none"),
)
CONDITIONS = (
    Choice("d", "dry", "dry, by day"),
    Choice("w", "wet", "wet, by day"),
    Choice("n", "dry and dark", "dry, by night"),
    Choice("r", "wet and dark", "wet, by night"),
)
TRAFFIC = (
    Choice("n", "none", "none"),
    Choice("l", "light", "light"),
    Choice("h", "heavy", "heavy"),
)
CAUTION = "keep the law, never trust the system that you test, let another drive or watch"


class Limits(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """This kind has no limits."""


def ask(scene: Scene, limits: Limits) -> list[Question]:
    made = Question(
        "made", "Road test made", "choice", choices=MADE, hint=CAUTION, evidence="seen", part="made"
    )
    return [made, *_DRIVE] if scene.word("made") == "yes" else [made]


_DRIVE = (
    Question("route", "Route", "text", hint="which roads, in a few words", evidence="seen", part="route"),
    Question(
        "conditions", "Conditions", "choice", choices=CONDITIONS, hint="as they were on the way",
        evidence="seen", part="conditions",
    ),
    Question(
        "traffic", "Traffic", "choice", choices=TRAFFIC, hint="what the system had to see",
        evidence="seen", part="traffic",
    ),
)  # fmt: skip


def judge(scene: Scene, limits: Limits) -> Judgement:
    made = scene.answer("made")
    drive = _DRIVE if made.word == "yes" else ()
    return Judgement((_made(scene, made), *(_told(scene, q) for q in drive)))


def _made(scene: Scene, made: Answer) -> Part:
    key, label = "made", "Road test"
    if not made.ready:
        reason = f"{label}: not made yet. Before you drive off: {CAUTION}."
        return Part(key, label, "not_done", reason)
    if early := from_before(scene, key, label, *made.readings):
        return early
    if made.word == "no":
        reason = "No road test was made, although the procedure asks for one."
        return Part(
            key, label, "not_done", reason, made.word, remedy=scene.check.remedy, readings=made.readings
        )
    reason = "A road test was made." if made.word == "yes" else "The procedure asks for no road test."
    return Part(key, label, "pass", reason, made.word, readings=made.readings)


def _told(scene: Scene, question: Question) -> Part:
    answer = scene.answer(question.key)
    if not answer.ready:
        return missing_part(question.key, question.label, answer)
    if early := from_before(scene, question.key, question.label, *answer.readings):
        return early
    words = next((c.label for c in question.choices if c.value == answer.word), answer.word)
    reason = f"{question.label}: {words}."
    return Part(question.key, question.label, "pass", reason, words, readings=answer.readings)

"""What was seen on the road test, a side at a time: in words, and whether it was as it should be."""

from __future__ import annotations

from msgspec import Struct

from readiness.checks import road_test
from readiness.checks.afterwards import from_before
from readiness.checks.kind import YES_NO, Judgement, Part, Question, Scene
from readiness.checks.parts import missing_part, state_part

KIND = "road_seen"


class Limits(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """This kind has no limits."""


def ask(scene: Scene, limits: Limits) -> list[Question]:
    """Nothing before it is said that a road test was made."""
    if _made(scene) != "yes":
        return []
    where = f"on the {scene.side}" if scene.side in ("left", "right") else "on the road"
    return [
        Question("seen", f"Seen {where}", "text", evidence="seen", part="seen",
                 hint="what the system did and when: 'warned when a car overtook'"),
        Question("right", "As it should be", "choice", choices=YES_NO, evidence="seen", part="right",
                 hint="as the owner's manual describes the system"),
    ]  # fmt: skip


def judge(scene: Scene, limits: Limits) -> Judgement:
    made = _made(scene)
    if made == road_test.NEEDLESS:
        reason = "The procedure asks for no road test, so nothing was to be seen."
        return Judgement((Part("seen", "Seen on the road", "pass", reason),))
    if made != "yes":
        reason = "Seen on the road: nothing yet, for no road test was made."
        return Judgement((Part("seen", "Seen on the road", "not_done", reason),))
    return Judgement((_seen(scene), _right(scene)))


def _made(scene: Scene) -> str:
    """Whether there was a road test; a checklist that does not ask is taken to want one."""
    beside = scene.beside(road_test.KIND)
    return "yes" if beside is None else beside.word("made")


def _seen(scene: Scene) -> Part:
    key, label = "seen", "Seen on the road"
    answer = scene.answer(key)
    if not answer.ready:
        return missing_part(key, label, answer)
    if early := from_before(scene, key, label, *answer.readings):
        return early
    return Part(key, label, "pass", f"{label}: {answer.word}.", answer.word, readings=answer.readings)


def _right(scene: Scene) -> Part:
    key, label, answer = "right", "As it should be", scene.answer("right")
    if early := from_before(scene, key, label, *answer.readings):
        return early
    seen = scene.word("seen")
    told = f": {seen}" if seen else ""
    return state_part(
        key, label, answer, wanted="yes",
        good=f"What was seen on the road was as it should be{told}.",
        bad=f"What was seen on the road was not as it should be{told}.",
        remedy=scene.check.remedy,
    )  # fmt: skip

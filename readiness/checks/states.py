"""States: things that are simply so or not so: doors shut, parking brake on, no stored faults.

Each is a yes or no, and what is wanted is said in the checklist. A state that was only told although
it should be seen still counts, and the finding says so.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

from msgspec import Struct

from readiness.checks.common import item_problems
from readiness.checks.kind import YES_NO, Answer, Judgement, Part, Question, Scene
from readiness.checks.parts import state_part

KIND = "states"


class Item(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One state. `label` reads as a statement: 'All doors shut'."""

    key: str
    label: str
    wanted: Literal["yes", "no"] = "yes"
    hint: str = ""
    remedy: str = ""
    evidence: Literal["seen", "told"] = "seen"
    """The evidence asked for: 'seen' means somebody looked."""


class Limits(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What may stand under `limits:` of a check of kind `states`."""

    items: tuple[Item, ...]

    def problems(self) -> Iterator[tuple[str, str, str]]:
        """What is wrong, as (field path, found, expected)."""
        yield from item_problems(self.items)


def ask(scene: Scene, limits: Limits) -> list[Question]:
    return [
        Question(i.key, i.label, "choice", choices=YES_NO, hint=i.hint, evidence=i.evidence, part=i.key)
        for i in limits.items
    ]


def judge(scene: Scene, limits: Limits) -> Judgement:
    answers = {i.key: scene.answer(i.key) for i in limits.items}
    parts = tuple(_part(scene, i, answers[i.key]) for i in limits.items)
    notes = [_only_told(i, answers[i.key]) for i in limits.items]
    return Judgement(parts, tuple(n for n in notes if n))


def _part(scene: Scene, item: Item, answer: Answer) -> Part:
    return state_part(
        item.key, item.label, answer, wanted=item.wanted,
        good=f"{item.label}: {answer.word}, as it has to be.",
        bad=f"{item.label}: the answer is {answer.word}, and it has to be {item.wanted}.",
        remedy=item.remedy or scene.check.remedy,
    )  # fmt: skip


def _only_told(item: Item, answer: Answer) -> str:
    if item.evidence != "seen" or not answer.readings or answer.readings[-1].evidence != "told":
        return ""
    by = answer.readings[-1].told_by
    return f"{item.label}: only told{f' by {by}' if by else ''}, not seen; look at it yourself where you can."

"""Procedure: the vehicle maker's document, and the technician's word that the limits shown are its limits.

Limits shipped with a checklist are starting points; without this check nothing can be a go.
"""

from __future__ import annotations

from msgspec import Struct

from readiness.checks.kind import YES_NO, Answer, Judgement, Part, Question, Scene
from readiness.checks.parts import missing_part, state_part

KIND = "procedure"

SHORTEST = 3
"""Characters; a shorter text names no document."""


class Limits(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """This kind has no limits."""


def ask(scene: Scene, limits: Limits) -> list[Question]:
    return [
        Question("document", "Maker's document", "text", default=scene.sheet.document.reference,
                 hint=_hint(scene), evidence="seen", pattern=_fault, part="document"),
        Question("limits_match", "Limits shown are its limits", "choice", choices=YES_NO, evidence="seen",
                 about_limits=True, hint="compare each limit and dimension with the document open", part="limits_match"),
    ]  # fmt: skip


def judge(scene: Scene, limits: Limits) -> Judgement:
    document = scene.answer("document")
    match = state_part(
        "limits_match", "Limits as in the document", scene.answer("limits_match"), wanted="yes",
        good="The limits shown are those of the document.",
        bad="The limits shown are not those of the document, so they decide nothing for this car.",
        remedy=f"Correct sheet {scene.sheet.sheet} to what the document says, then answer this again.",
    )  # fmt: skip
    return Judgement((_document_part(document), match), _notes(scene, document))


def _document_part(answer: Answer) -> Part:
    key, label = "document", "Maker's document"
    if not answer.ready:
        return missing_part(key, label, answer)
    if fault := _fault(answer.word):
        remedy = "Open the vehicle maker's procedure and type the reference printed on it."
        return Part(key, label, "fail", fault, answer.word, remedy=remedy, readings=answer.readings)
    reason = f"The procedure is {answer.word.strip()}."
    return Part(key, label, "pass", reason, answer.word, readings=answer.readings)


def _fault(text: str) -> str:
    if len(text.strip()) >= SHORTEST:
        return ""
    return f"'{text.strip()}' names no document; type its reference, at least {SHORTEST} characters."


def _hint(scene: Scene) -> str:
    issued = scene.sheet.document.issued
    return "the reference printed on it" + (f"; the sheet's is issued {issued:%Y-%m-%d}" if issued else "")


def _notes(scene: Scene, answer: Answer) -> tuple[str, ...]:
    expected = scene.sheet.document.reference
    if not answer.ready or _plain(answer.word) == _plain(expected):
        return ()
    return (
        f"The document named, {answer.word.strip()}, is not the one that sheet {scene.sheet.sheet} was "
        f"written from, {expected}: make sure that its limits and dimensions are the same.",
    )


def _plain(reference: str) -> str:
    return " ".join(reference.split()).casefold()

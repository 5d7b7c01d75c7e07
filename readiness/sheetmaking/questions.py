"""All that is asked of a sheet, in the order in which a procedure says it; what a typed answer becomes."""

from __future__ import annotations

import re
from collections.abc import Iterator

from readiness import units
from readiness.checks.entry import understood
from readiness.checks.kind import Question
from readiness.sheetmaking import asked_car, asked_limits, asked_places
from readiness.sheetmaking.asked_limits import items_of
from readiness.sheetmaking.asking import Asked, Known, Section, id_of
from readiness.sheetmaking.draft import Draft

SECTIONS = (
    asked_car.document, asked_car.car, asked_car.load, asked_car.stance, asked_car.calibration,
    asked_places.sensors, asked_places.targets, asked_places.zones, asked_limits.aim, asked_limits.limits,
    asked_limits.results,
)  # fmt: skip
_IDS = ("id", "sheet", "key")
_AWAY = {
    "ahead": 1, "forward": 1, "front": 1, "left": 1, "up": 1, "behind": -1, "back": -1, "rearward": -1, "rear": -1, "right": -1,
}  # fmt: skip
_LEADING = re.compile(r"^([+-]?)([.,]\d)")
"""'.92', which reads badly in a file."""
_WAY = re.compile(rf"(.*?)[ ,]*\b({'|'.join(_AWAY)})\b *", re.IGNORECASE)


def sections(draft: Draft, known: Known) -> tuple[Section, ...]:
    """Everything that is to be asked as things stand, in order."""
    return tuple(section(draft, known) for section in SECTIONS)


def all_asked(draft: Draft, known: Known) -> Iterator[Asked]:
    for section in sections(draft, known):
        yield from section.asked


def open_of(draft: Draft, section: Section) -> list[Asked]:
    """Questions that need an answer and have none."""
    return [a for a in section.asked if not a.question.optional and not draft.get(a.key)]


def answered(draft: Draft, known: Known, question: Question, typed: str) -> Draft:
    """With what was typed in answer to a question. Raises units.UnitsError with one sentence."""
    text = kept(question, typed, known)
    checklist = known.checklists.get(draft.get("checklist"))
    whole = items_of(checklist, question.key)
    if whole is not None:
        key = ".".join(question.key.split(".")[:3])
        draft = draft if draft.count(key) else draft.put_tree(key, whole)
    changed = draft.put(question.key, text)
    if question.key == "checklist" and text != draft.get("checklist"):
        changed = changed.drop("limits")
    return changed


def kept(question: Question, typed: str, known: Known) -> str:
    """The text that will stand in the file. Raises units.UnitsError with one sentence."""
    if question.type == "quantity":
        text = _signed(typed) if question.unit == "m" else typed
        understood(question, text, known.system)
        text = _LEADING.sub(r"\g<1>0\2", " ".join(text.split()))
        return units.completed(text, units.entry_unit(question.unit, known.system))
    value, _ = understood(question, typed, known.system)
    if question.key.rpartition(".")[2] in _IDS:
        return id_of(str(value))
    return str(value)


def _signed(typed: str) -> str:
    """'1.2 behind' as '-1.2'; a sign beside such a word is left for the reader of quantities to refuse."""
    found = _WAY.fullmatch(typed.strip())
    if found is None or not found[1].strip():
        return typed
    length, sign = found[1].strip(), _AWAY[found[2].lower()]
    if length[0] in "+-−–":
        raise units.UnitsError(f"'{typed.strip()}' has a sign and a direction; type one of them.")
    return length if sign > 0 else f"-{length}"


def passed(draft: Draft, question: Question) -> Draft:
    """With nothing under an optional question."""
    return draft.drop(question.key)

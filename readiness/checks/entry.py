"""What a person typed in answer to a question -> the value that is kept, and back. Used by every way in."""

from __future__ import annotations

from readiness import units
from readiness.checks.kind import Question
from readiness.checks.words import capital
from readiness.job import Reading, System, Value

MAX_TEXT = 200


def understood(question: Question, text: str, system: System, division: str = "") -> tuple[Value, str]:
    """The value and its canonical unit (empty for choices and text).

    `division` is the sensitivity of the chosen instrument's vial, for a slope or angle read in divisions.

    Raises units.UnitsError with one sentence for anything that is no answer to this question.
    """
    if question.type == "quantity":
        sloping = question.measures in ("slope", "angle")
        value = units.parse(
            units.undivided(text, division) if sloping else text, question.unit, system=system, low=question.low, high=question.high,
            name=question.label, explain=question.explain,
        )  # fmt: skip
        return value, question.unit
    if question.type == "choice":
        return _chosen(question, text), ""
    return _worded(question, text), ""


def as_typed(reading: Reading) -> str:
    """What was read, as it was typed, with the unit that stood beside it: '219 kPa', '2.5 div'; a choice's value."""
    if isinstance(reading.value, str):
        return reading.value
    typed = reading.text.strip()
    systems: tuple[System, ...] = ("metric", "us")
    for system in systems:
        text = units.completed(typed, units.entry_unit(reading.unit, system))
        if typed and (text == typed or _means(text, reading)):
            return text
    return units.show(reading.value, reading.unit)


def in_words(question: Question, reading: Reading) -> str:
    """What was answered: a choice by the words that were offered, a number as it was typed."""
    return next((c.label for c in question.choices if c.value == reading.value), as_typed(reading))


def _means(text: str, reading: Reading) -> bool:
    try:
        return units.parse(text, reading.unit) == reading.value
    except units.UnitsError:
        return False


def _chosen(question: Question, text: str) -> str:
    given = text.strip().casefold()
    for choice in question.choices:
        if given in (choice.key, choice.value.casefold(), choice.label.casefold()):
            return choice.value
    known = ", ".join(f"{c.key} ({c.label})" for c in question.choices)
    raise units.UnitsError(f"{capital(question.label)} takes one of {known}.")


def _worded(question: Question, text: str) -> str:
    words = " ".join("".join(c if c.isprintable() else " " for c in text).split())
    if not words:
        raise units.UnitsError(f"{question.label}: nothing was typed.")
    if len(words) > MAX_TEXT:
        raise units.UnitsError(f"{question.label} takes at most {MAX_TEXT} characters; this is {len(words)}.")
    if question.pattern is not None and (fault := question.pattern(words)):
        raise units.UnitsError(fault)
    return words

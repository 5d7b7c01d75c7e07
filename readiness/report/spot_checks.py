"""Lines of a spot check being taken: what is to be taken again, what came of it, what it comes to."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime

from readiness import units
from readiness.checks.kind import Question
from readiness.checks.words import capital
from readiness.job import Again, Drawn, Instrument, System
from readiness.records.spot_checks import Asked, Item
from readiness.report.text import moment, wrapped
from readiness.spotcheck.words import (
    Told,
    by_whom,
    compared_line,
    count_line,
    result,
)

MARGIN = " " * 8


# --- lines ---------------------------------------------------------------------------------------


def head(told: Told, job: str, now: datetime) -> list[str]:
    """Of which spot check what follows is."""
    check, left = told.check, len(told.to_come)
    many = f"{len(check.drawn)} of {check.of} readings"
    still = "" if left == len(told.rows) else f" {left} of them {'is' if left == 1 else 'are'} still to come."
    return wrapped(
        f"Spot check of {job}, drawn {moment(check.at, now)} by {check.by or 'somebody unnamed'}: {many}, "
        f"seed {check.seed}.{still}"
    )


def item_lines(item: Item, question: Question) -> list[str]:
    """What is to be taken again, and how; nothing of what was found first."""
    title = wrapped(item.what, f"{f'{item.number} of {item.of}':7} ", MARGIN)
    return [*title, *(wrapped(question.hint, MARGIN) if question.hint else [])]


def tool_line(tool: Instrument, used: bool, today: date) -> str:
    """'gauge-2, Dial gauge on the hose, ±5 kPa, due 2027-01-31'."""
    due = f"due {tool.due}" if tool.due >= today else f"OUT OF DATE since {tool.due}"
    first = "; the first reading was taken with it" if used else ""
    return f"{tool.id}, {tool.title}, ±{tool.accuracy}, {due}{first}"


def outcome_lines(drawn: Drawn, again: Again, system: System) -> list[str]:
    """What was recorded, what was found now, whether they agree, and why this one was likely."""
    texts = [f"{capital(result(again))}."]
    if again.said:
        first = f"{again.first_said}{_with(again.first_instrument)}"
        texts = [f"Recorded {first}; now {again.said}{_with(again.instrument)}. {texts[0]}"]
    if line := compared_line(again, system):
        texts.append(f"Compared {line}.")
    if again.why and again.outcome != "not compared":
        texts.append(again.why)
    texts.append(
        f"Likelier than others to be drawn: {', '.join(drawn.why)}."
        if drawn.why
        else "Drawn by chance alone."
    )
    return [line for text in texts for line in wrapped(text, MARGIN)]


def _with(instrument: str) -> str:
    return f" ({instrument})" if instrument else ""


def summary(told: Told) -> list[str]:
    """'Spot-checked by Tamsin Vale: 4 of 5 agree, 1 does not.'"""
    return wrapped(f"Spot-checked by {by_whom(told)}: {count_line(told)}.")


def to_come(items: Sequence[tuple[Asked, Sequence[Asked]]], today: date) -> list[str]:
    """What is to be measured at the car, with what, and what belongs to it."""
    lines: list[str] = []
    for asked, beside in items:
        lines += item_lines(asked.item, asked.question)
        if asked.offers:
            best = asked.offers[0]
            lines += wrapped(f"with {tool_line(best, best.id in asked.used, today)}", MARGIN)
        if needed := ", ".join(one.question.label for one in beside):
            lines += wrapped(f"and beside it: {needed}", MARGIN)
    return lines


def unit_line(question: Question, system: System) -> str:
    """What a bare number means: 'in kPa'."""
    unit = units.entry_unit(question.unit, system)
    return f" in {unit}" if unit else ""

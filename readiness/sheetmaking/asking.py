"""What a question of a sheet is, what is known beside the answers, and the usual kinds of question."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from readiness.checklist.model import Checklist
from readiness.checks.kind import YES_NO, Choice, Question
from readiness.job import System

MOST_ID = 64


@dataclass(frozen=True, slots=True, eq=False)
class Known:
    """What there is beside the answers: the shop's units, the checklists, the ids that are taken. Equal to itself only."""

    system: System
    checklists: Mapping[str, Checklist]
    limit_types: Mapping[str, Any]
    today: date
    taken: frozenset[str] = frozenset()
    """Ids of the shop's sheets."""


@dataclass(frozen=True, slots=True)
class Asked:
    """A question with the heading that comes before it. Its key is the answer's path in the draft."""

    question: Question
    heading: str = ""
    stands: str = ""
    """What holds where nothing is answered."""

    @property
    def key(self) -> str:
        return self.question.key


@dataclass(frozen=True, slots=True)
class Section:
    """Questions that are answered from one place of the document."""

    id: str
    title: str
    asked: tuple[Asked, ...]
    about: str
    """Why it is asked and where it is found, for who asks."""


def words(key: str, label: str, hint: str = "", **more: Any) -> Question:
    return Question(key, label, "text", hint=hint, **more)


def length(key: str, label: str, hint: str = "", **more: Any) -> Question:
    return Question(key, label, unit="m", hint=hint, **more)


def number(key: str, label: str, unit: str, hint: str = "", **more: Any) -> Question:
    return Question(key, label, unit=unit, hint=hint, **more)


def one_of(
    key: str, label: str, choices: Iterable[tuple[str, str, str]], hint: str = "", **more: Any
) -> Question:
    """Each choice: the key that picks it, the value kept, the words shown."""
    return Question(key, label, "choice", choices=tuple(Choice(*c) for c in choices), hint=hint, **more)


def yes_no(key: str, label: str, hint: str = "", **more: Any) -> Question:
    return Question(key, label, "choice", choices=YES_NO, hint=hint, **more)


def day(key: str, label: str, hint: str = "", **more: Any) -> Question:
    return words(key, label, hint or "year-month-day, such as 2026-03-31", pattern=_no_day, **more)


def name(key: str, label: str, hint: str = "", **more: Any) -> Question:
    """An id: what is typed becomes small letters, digits and '-'."""
    return words(key, label, hint, pattern=_no_id, **more)


def page(section: str) -> Asked:
    """Where in the document the answers of a section are found; it stands above the block in the file."""
    hint = "where the document says this, such as 'page 12, figure 3'; Enter leaves it out"
    return Asked(words(f"#pages.{section}", "Page of the document", hint, optional=True))


def headed(heading: str, asked: Iterable[Question | Asked]) -> tuple[Asked, ...]:
    """Questions under a heading."""
    found = [a if isinstance(a, Asked) else Asked(a) for a in asked]
    return tuple(Asked(a.question, heading if k == 0 else "", a.stands) for k, a in enumerate(found))


def plain(*asked: Question | Asked) -> tuple[Asked, ...]:
    return headed("", asked)


def id_of(text: str) -> str:
    """What a person called a thing, as an id: 'Line of sight' -> 'line-of-sight'; may be empty."""
    return re.sub(r"[^a-z0-9_]+", "-", text.lower()).strip("-_")[:MOST_ID].strip("-_")


def _no_id(text: str) -> str:
    return "" if id_of(text) else f"'{text}' has no letter or digit from which an id can be made."


def _no_day(text: str) -> str:
    try:
        date.fromisoformat(text)
    except ValueError:
        return f"'{text}' is no date; write year, month and day, such as 2026-03-31."
    return (
        ""
        if re.fullmatch(r"\d{4}-\d{2}-\d{2}", text)
        else f"Write '{text}' as year-month-day, such as 2026-03-31."
    )


Make = Callable[[str, int], tuple[Asked, ...]]

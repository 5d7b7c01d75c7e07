"""What Ctrl+R says: every reading of a question, by whom and when, and what was done about it since."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from textual.content import Content

from readiness.checklist.model import Check
from readiness.checks.entry import as_typed
from readiness.checks.finding import Visit
from readiness.checks.kind import Place, Question
from readiness.checks.words import capital
from readiness.job import Reading
from readiness.records.history import Story
from readiness.report.story_words import Told, lines, name_of
from readiness.wizard.pages import Piece
from readiness.wizard.rows import Row

NOTHING = "Nothing was answered here yet."


def of_row(row: Row, stories: Mapping[Place, Story], now: datetime) -> Content:
    """One answer; and if the whole check was set aside or put right, that too."""
    pieces: list[Piece] = []
    for place, question in ((row.kept_at, row.question), ((row.check.id, row.side, ""), None)):
        if place in stories:
            pieces += _story(stories[place], question, now)
    return _page(pieces)


def of_checks(
    places: list[tuple[Check, str]],
    visit: Visit,
    stories: Mapping[Place, Story],
    now: datetime,
    *,
    short: bool,
) -> Content:
    """Whole checks, each answer under its name; `short`: only where more was done than one plain reading."""
    told = Told(visit, now, stories)
    pieces: list[Piece] = []
    for check, side in places:
        mine: list[Piece] = []
        for story, question in told.of(check, side):
            if not (short and story.plain):
                mine += _story(story, question, now)
        pieces += [(f"{_title(check, side)}\n", "bold"), *mine, ("\n", "")] if mine else []
    return _page(pieces)


def _title(check: Check, side: str) -> str:
    return f"{check.title}, {side}" if side in ("left", "right") and check.per_side else check.title


def _story(story: Story, question: Question | None, now: datetime) -> list[Piece]:
    said = f": {story.in_short}" if story.in_short else ""

    def say(reading: Reading) -> str:
        return _as_chosen(reading, question)

    return [
        (f"{capital(name_of(story, question))}{said}\n", "underline"),
        *((f"  {line}\n", "") for line in lines(story, now, say)),
    ]


def _as_chosen(reading: Reading, question: Question | None) -> str:
    """A choice by the words that were offered."""
    choices = question.choices if question is not None else ()
    return next((c.label for c in choices if c.value == reading.value), as_typed(reading))


def _page(pieces: list[Piece]) -> Content:
    return Content.assemble(*pieces) if pieces else Content(NOTHING)

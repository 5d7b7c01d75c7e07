"""Answers a sheet's questions as a person with the document would: one after the other, from a sheet that is known."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from readiness.checklist.nodes import read
from readiness.checks import limit_types
from readiness.records import places
from readiness.records.shop import ShopFolder
from readiness.sheetmaking.asking import Asked, Known
from readiness.sheetmaking.draft import Draft, started_from
from readiness.sheetmaking.questions import all_asked, answered

TODAY = date(2026, 11, 25)
SHEETS = sorted((places.demo() / "sheets").glob("*.yaml"))
KNOWN_SHEETS = {path.stem: path for path in SHEETS}
TERN = KNOWN_SHEETS["tern-rear-corner"]


def known(taken: frozenset[str] = frozenset()) -> Known:
    folder = ShopFolder(places.demo())
    lists = {name: folder.checklist(name) for name in folder.checklist_paths}
    return Known("metric", lists, limit_types(), TODAY, taken)


def answers_of(path: Path) -> Draft:
    """What a sheet's file says, as the answers that lead to it."""
    return started_from(read(path))


def next_asked(draft: Draft, wanted: Draft, known: Known) -> Asked | None:
    """The first question that has an answer in `wanted` and none yet."""
    return next((a for a in all_asked(draft, known) if not draft.get(a.key) and wanted.get(a.key)), None)


def written_out(wanted: Draft, known: Known) -> Draft:
    """Everything typed anew, question by question."""
    draft = Draft()
    while (asked := next_asked(draft, wanted, known)) is not None:
        draft = answered(draft, known, asked.question, wanted.get(asked.key))
    return draft

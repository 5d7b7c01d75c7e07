"""Every answer with what became of it: also those that were taken back, by whom, when and why."""

from __future__ import annotations

from collections.abc import Iterator

from readiness.job import Reading
from readiness.records.account import Account
from readiness.records.dossier import Dossier
from readiness.records.history import Step, Story
from readiness.report.markup import Child, Element, el, said
from readiness.report.phrases import when, wide

HEAD = ("Question", "Answer", "How", "By, when", "With", "What became of it")


def answers(told: Account, dossier: Dossier) -> Element | None:
    """One table, a group of rows for each check and side; as far as it is known at the account's moment."""
    groups: dict[tuple[str, str], list[Element]] = {}
    for (check, side, question), story in dossier.stories.items():
        if rows := list(_rows(told, dossier, story, question)):
            groups.setdefault((check, side), []).extend(rows)
    if not groups:
        return None
    table = el(
        "table",
        {"class": "answers"},
        el(
            "thead",
            el("tr", [el("th", {"scope": "col", "class": f"c{k}"}, name) for k, name in enumerate(HEAD, 1)]),
        ),
        [_group(told, check, side, rows) for (check, side), rows in groups.items()],
    )
    return wide("Every answer", table)


def _group(told: Account, check: str, side: str, rows: list[Element]) -> Element:
    titles = {c.id: c.title for c in told.visit.checklist.checks}
    name = titles.get(check, "For several checks")
    head = el("th", {"scope": "rowgroup", "colspan": len(HEAD)}, f"{name}, {side}" if side else name)
    return el("tbody", el("tr", {"class": "group"}, head), rows)


def _rows(told: Account, dossier: Dossier, story: Story, question: str) -> Iterator[Element]:
    """A row for each thing that was done; what took a reading back stands in its own row."""
    name = dossier.label(story.place) if question else "The whole check"
    for step in story.steps:
        if step.took_place <= told.now and step.what != "withdrawn":
            yield _row(told, name, story, step, _answer(dossier, step))
            name = ""


def _row(told: Account, name: str, story: Story, step: Step, answer: Child) -> Element:
    back = story.withdrawal(step)
    gone = back is not None and back.at <= told.now
    reading = step.reading if step.what == "read" else None
    first = el("th", {"scope": "row"}, name, f" ({story.in_short})" if name and story.in_short else None)
    return el(
        "tr",
        first if name else el("td"),
        el("td", el("del", answer) if gone else answer),
        el("td", _how(reading) if reading else None),
        el("td", said(step.by), " ", when(step.at, told.now, told.visit.job.opened), _then(told, step)),
        el("td", said(reading.instrument) if reading and reading.instrument else None),
        el(
            "td",
            said(reading.note) if reading and reading.note else None,
            _taken_back(told, back) if gone else None,
        ),
    )


def _then(told: Account, step: Step) -> str | None:
    """When it took place, where it was entered later."""
    return None if step.then is None else f", as of {when(step.then, told.now, told.visit.job.opened)}"


def _answer(dossier: Dossier, step: Step) -> Child:
    if step.what == "read" and step.reading is not None:
        return said(dossier.answer(step.reading))
    how = {"fixed": "put right", "noted": "note", "set aside": "set aside", "checked": "spot check"}[
        step.what
    ]
    return [how, [": ", said(step.text)] if step.text else None]


def _how(reading: Reading) -> Child:
    return [reading.evidence, [" by ", said(reading.told_by)] if reading.told_by else None]


def _taken_back(told: Account, back: Step | None) -> Child:
    if back is None:
        return None
    return [
        " taken back by ", said(back.by), f" {when(back.at, told.now, told.visit.job.opened)}",
        [": ", said(back.text)] if back.text else None,
    ]  # fmt: skip

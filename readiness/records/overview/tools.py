"""Instruments past due or due soon, and what can no longer be measured because of that."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from datetime import date, datetime
from typing import TypeVar

from readiness import units
from readiness.checklist.model import Checklist
from readiness.checks.finding import Visit, ask
from readiness.checks.floor import KIND as FLOOR
from readiness.checks.instruments import KIND as INSTRUMENTS
from readiness.checks.instruments import Need
from readiness.job import Instrument
from readiness.records.blank_visit import blank_visit
from readiness.records.overview.model import Lacking, ToolDue, Tools
from readiness.records.sheets import Opened
from readiness.records.shop import ShopError, ShopFolder
from readiness.units.names import KINDS

Key = TypeVar("Key")
INSTEAD: Mapping[str, str] = {"height": "slope"}
"""What may be measured in place of another thing: a floor by level where there is no laser."""


def tools(folder: ShopFolder, at: datetime, within: int) -> Tools:
    """A file of instruments that cannot be read is told; the rest of the page stands without it."""
    try:
        there = folder.instruments
    except ShopError as fault:
        return Tools(problem=str(fault))
    today = at.date()
    rows = sorted((_row(tool, today) for tool in there.values()), key=lambda row: (row.due, row.id))
    return Tools(
        past=tuple(row for row in rows if row.days < 0),
        soon=tuple(row for row in rows if 0 <= row.days <= within),
        rest=sum(row.days > within for row in rows),
        lacking=tuple(lacking(folder, [tool for tool in there.values() if tool.due >= today], at)),
    )


def _row(tool: Instrument, today: date) -> ToolDue:
    return ToolDue(tool.id, tool.title, tool.measures, tool.due, (tool.due - today).days)


def lacking(folder: ShopFolder, in_date: Iterable[Instrument], at: datetime) -> Iterator[Lacking]:
    """What a checklist of the shop's sheets demands and none of these measures, then what none measures finely enough."""
    tools = tuple(in_date)
    there = {tool.measures for tool in tools}
    visits = list(_visits(folder, at))
    asked = _gathered((what, title, v.checklist.checklist) for v in visits for what, title in _asked(v, at))
    for what, (titles, names) in asked.items():
        if what not in there and INSTEAD.get(what) not in there:
            yield Lacking(what, titles, names)
    coarse = _gathered(
        ((need.measures, need.accuracy), need.purpose, visit.checklist.checklist)
        for visit in visits
        for need in _needs(visit.checklist)
        if need.measures in there and not any(_fine(tool, need) for tool in tools)
    )
    for (what, accuracy), (purposes, names) in coarse.items():
        yield Lacking(what, purposes, names, accuracy)


def _gathered(found: Iterable[tuple[Key, str, str]]) -> dict[Key, tuple[tuple[str, ...], tuple[str, ...]]]:
    """By what is lacking: for what, and in which checklists, each once."""
    together: dict[Key, tuple[dict[str, None], dict[str, None]]] = {}
    for key, what_for, name in found:
        titles, names = together.setdefault(key, ({}, {}))
        titles[what_for] = names[name] = None
    return {key: (tuple(titles), tuple(names)) for key, (titles, names) in together.items()}


def _visits(folder: ShopFolder, at: datetime) -> Iterator[Visit]:
    """One without an answer for each checklist that a sheet of the shop refers to; files with mistakes are told by lint."""
    by_checklist = {sheet.checklist: sheet for sheet in reversed(folder.sheets.good().values())}
    for sheet in by_checklist.values():
        try:
            opened = Opened(folder, sheet, None)
            yield blank_visit(opened, None, opened.checklist.sides, at)
        except ShopError:
            continue


def _asked(visit: Visit, at: datetime) -> Iterator[tuple[str, str]]:
    """What must be measured, and for which check. A floor asks first how; without a survey it is by laser or by level."""
    for check in visit.checklist.walk():
        if check.kind == FLOOR:
            yield "height", check.title
        for side in visit.job.sides if check.per_side else ("",):
            for question in ask(visit, check, side, at):
                if question.instrumented and not question.optional:
                    yield question.measures, check.title


def _needs(checklist: Checklist) -> Iterator[Need]:
    for check in checklist.checks:
        if check.kind == INSTRUMENTS:
            yield from check.limits.needs


def _fine(tool: Instrument, need: Need) -> bool:
    """Whether it is as fine as is needed, at an everyday value: shares of a reading and half widths are alike then."""
    if tool.measures != need.measures:
        return False
    unit = units.MEASURES[need.measures]
    value = KINDS[unit].example
    try:
        return units.accuracy(tool.accuracy, unit, value) <= units.accuracy(need.accuracy, unit, value) * (
            1 + 1e-9
        )
    except units.UnitsError:
        return False

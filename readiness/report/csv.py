"""A job as a table for a spreadsheet: one row for each number or state that was judged, each figure in a cell of its own.

Numbers are in the canonical units that stand beside them, with a point, as in JSON. A cell of text that a spreadsheet
would take for a formula gets an apostrophe in front; a number that is negative is a number.
"""

from __future__ import annotations

import csv
import io
import unicodedata
from collections.abc import Iterator, Mapping
from datetime import datetime
from typing import Final

from readiness.checklist.describe import limits_in_words
from readiness.checks.finding import Finding, weakest
from readiness.checks.kind import Part
from readiness.job import Reading
from readiness.records.account import Account, Shared
from readiness.records.dossier import Dossier
from readiness.report.text import clean

Cell = str | float | int | None
COLUMNS: Final = (
    "job", "plate", "sheet", "bay", "side", "judged_at", "verdict", "phase", "check", "title", "kind", "part", "label",
    "outcome", "value", "unit", "low", "high", "guard", "u", "p_conform", "margin", "state", "reason", "remedy",
    "evidence", "by", "first_at", "last_at", "instrument", "instrument_due", "limit_source", "history", "note",
)  # fmt: skip
FORMULA: Final = "=+-@"
"""What a cell that a spreadsheet computes begins with."""


def table(told: Account, dossier: Dossier) -> str:
    """The whole table, lines ended as RFC 4180 has it."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    writer.writerows([safe(row[name]) for name in COLUMNS] for row in _rows(told, dossier))
    return out.getvalue()


def safe(cell: Cell) -> Cell:
    """Text on one line that no spreadsheet computes; a number as it is."""
    if not isinstance(cell, str):
        return cell
    text = clean(cell)
    return f"'{text}" if text and unicodedata.normalize("NFKC", text[0])[:1] in FORMULA else text


def _rows(told: Account, dossier: Dossier) -> Iterator[Mapping[str, Cell]]:
    for phase, found in (("before", told.findings), ("after", told.closing_findings)):
        for shared in found:
            head = _head(told, shared, phase)
            for part in shared.finding.parts or (None,):
                yield {**head, **_finding(told, shared.finding), **_part(told, dossier, part)}


def _head(told: Account, shared: Shared, phase: str) -> dict[str, Cell]:
    visit, sides = told.visit, [told.sides[s] for s in shared.sides]
    return {
        "job": visit.job.job,
        "plate": visit.job.plate,
        "sheet": visit.sheet.sheet,
        "bay": visit.bay.bay,
        "side": " ".join(shared.sides),
        "judged_at": told.now.isoformat()
        if phase == "after"
        else " ".join(dict.fromkeys(s.at.isoformat() for s in sides)),
        "verdict": " ".join(dict.fromkeys(s.verdict.verdict for s in sides)),
        "phase": phase,
    }


def _finding(told: Account, finding: Finding) -> dict[str, Cell]:
    """What is said of a check as a whole; a check without numbers has nothing else."""
    check, waiver = told.visit.checklist.check(finding.check), finding.waiver
    sources = dict.fromkeys(source for _, source in limits_in_words(check, told.visit.shop.units))
    return {
        "check": finding.check, "title": finding.title, "kind": finding.kind, "part": "", "label": "",
        "outcome": finding.outcome, **dict.fromkeys(COLUMNS[14:23]), "reason": finding.reason, "remedy": finding.remedy,
        "evidence": finding.evidence, "by": waiver.by if waiver else "", "first_at": _time(waiver.at if waiver else None),
        "last_at": _time(waiver.at if waiver else None), "instrument": "", "instrument_due": "",
        "limit_source": "; ".join(sources), "history": "", "note": " ".join(finding.notes),
    }  # fmt: skip


def _part(told: Account, dossier: Dossier, part: Part | None) -> dict[str, Cell]:
    if part is None:
        return {}
    number = isinstance(part.value, float)
    return {
        "part": part.key, "label": part.label.rstrip(","), "outcome": part.outcome, "reason": part.reason,
        "remedy": part.remedy, "value": part.value if number else None, "state": None if number else part.value,
        "unit": part.unit, "low": part.low, "high": part.high, "guard": part.guard, "u": part.u,
        "p_conform": part.p_conform, "margin": part.margin, **_known(told, dossier, part.readings),
    }  # fmt: skip


def _known(told: Account, dossier: Dossier, readings: tuple[Reading, ...]) -> dict[str, Cell]:
    """Who read it when and with what; several are parted by semicolons."""
    tools = dict.fromkeys(r.instrument for r in readings if r.instrument)
    known = [told.visit.instruments[t] for t in tools if t in told.visit.instruments]
    places = dict.fromkeys((r.check, r.side, r.question) for r in readings)
    stories = [dossier.stories[p].in_short for p in places if p in dossier.stories]
    return {
        "evidence": weakest(readings),
        "by": "; ".join(dict.fromkeys(r.by for r in readings)),
        "first_at": _time(min((r.at for r in readings), default=None)),
        "last_at": _time(max((r.at for r in readings), default=None)),
        "instrument": "; ".join(tools),
        "instrument_due": "; ".join(str(i.due) for i in known),
        "history": "; ".join(dict.fromkeys(filter(None, stories))),
        "note": "; ".join(r.note for r in readings if r.note),
    }


def _time(at: datetime | None) -> str:
    return "" if at is None else at.isoformat()

"""Sheets that are older than the maker's document, or were not compared with it for long."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date, datetime

from readiness.job import Sheet
from readiness.records.listing import JobLine
from readiness.records.overview.model import SheetDue, Sheets
from readiness.records.past import Past
from readiness.records.shop import ShopError, ShopFolder


def sheets(folder: ShopFolder, at: datetime, lines: Iterable[JobLine], pasts: Mapping[str, Past]) -> Sheets:
    """`lines` are jobs, the latest first, of which `pasts` tells what document was named in them."""
    after = folder.shop.compare_sheets_after
    due: list[SheetDue] = []
    rest = 0
    named = [(line, pasts[line.id].document) for line in lines if line.id in pasts]
    for name in folder.sheets:
        try:
            sheet = folder.sheets[name]
        except ShopError as fault:
            file = folder.sheets.paths[name].stem  # what it says of its id may be part of the mistake
            due.append(SheetDue(file, file, "unread", told=str(fault)))
            continue
        found = _due(sheet, at.date(), after, [(j, d) for j, d in named if j.sheet == name])
        due += [found] if found else []
        rest += found is None
    return Sheets(tuple(sorted(due, key=lambda d: (d.why == "never", -d.days, d.sheet))), rest, after)


def _due(sheet: Sheet, today: date, after: int, named: Iterable[tuple[JobLine, str]]) -> SheetDue | None:
    """The gravest reason; None where the sheet is in order."""
    document = sheet.document
    issued, checked = document.issued, document.checked
    days = (today - checked).days if checked else 0
    about = (document.reference, issued, checked, days)
    if checked is not None and checked > today:
        return SheetDue(sheet.sheet, sheet.title, "to come", *about)
    if checked is not None and issued is not None and checked < issued:
        return SheetDue(sheet.sheet, sheet.title, "older", *about)
    if other := _other_document(sheet, named):
        return SheetDue(sheet.sheet, sheet.title, "other document", *about, named=other[0], jobs=other[1])
    if checked is None:
        return SheetDue(sheet.sheet, sheet.title, "never", *about)
    return SheetDue(sheet.sheet, sheet.title, "long ago", *about) if days > after else None


def _other_document(sheet: Sheet, named: Iterable[tuple[JobLine, str]]) -> tuple[str, tuple[str, ...]] | None:
    """Another document than the sheet's that was named since it was compared, the one named last, and in which jobs."""
    own, checked = plain(sheet.document.reference), sheet.document.checked
    since = [
        (document, job)
        for job, document in named
        if document and plain(document) != own and job.last is not None
        and (checked is None or job.last.astimezone().date() > checked)
    ]  # fmt: skip
    if not since:
        return None
    last = since[0][0]
    return last, tuple(job.id for document, job in since if plain(document) == plain(last))


def plain(reference: str) -> str:
    """A reference as two people would write it who mean the same."""
    return " ".join(reference.split()).casefold()

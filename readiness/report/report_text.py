"""The report of a job as plain lines: what `check` says, at the moments that matter, and what proves the record."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from readiness import __version__
from readiness.job import Instrument
from readiness.records.account import Account, SideAccount
from readiness.records.dossier import Dossier
from readiness.report.closing_words import ended_line
from readiness.report.phrases import FILES, WHY_THEN, grouped, local, side_name, signature_in_words, when
from readiness.report.plain import finding_lines, plain
from readiness.report.story_words import Told
from readiness.report.text import clean, wrapped


def report_text(told: Account, dossier: Dossier) -> str:
    """78 columns wide, ending in a line end."""
    made = f"{local(told.made, told.made):%Y-%m-%d %H:%M}"
    head = wrapped(f"Report of job {told.visit.job.job}, made by readiness {__version__} on {made}")
    record = Told(told.visit, told.now, dossier.stories)
    after = list(_after(told, record)) if told.closing.begun else []
    body = plain(told.verdict, told.visit, dossier.stories, judged=" ".join(_judged(told)), after=after)
    lists = _block("Instruments", map(_instrument, told.instruments)) + _block(
        "The record", _proof(told, dossier)
    )
    return "\n".join((*head, "", body.rstrip("\n"), *lists)) + "\n"


def _block(title: str, texts: Iterable[str]) -> list[str]:
    lines = [line for text in texts for line in wrapped(text, "  ", "    ")]
    return ["", title, *lines] if lines else []


def _instrument(tool: Instrument) -> str:
    return f"{tool.title} ({tool.id}), calibration due {tool.due}"


def _after(told: Account, record: Told) -> Iterator[str]:
    """Every finding from after the calibration, with all that was answered; how the go stood; the end."""
    for found in told.closing_findings:
        finding, check = found.finding, told.visit.checklist.check(found.finding.check)
        title = finding.title if found.every else f"{finding.title}, {' and '.join(found.sides)}"
        more = [p.reason for p in finding.parts if p.readings and p is not finding.deciding]
        became = record.in_short(check, found.sides[0] if check.per_side else "")
        yield from finding_lines(title, finding, [*more, *became])
    for side in told.sides.values():
        yield from wrapped(side.closing.said, "  ") if side.closing.said else ()
    if told.closing.ended is not None:
        yield from wrapped(ended_line(told.closing.ended, told.now), "  ")


def _judged(told: Account) -> Iterator[str]:
    """'Left side judged as of 10:05, when its result was read.'"""
    for side in told.sides.values():
        yield f"{side_name(side.side) or 'It is'} judged as of {_moment(told, side)}, {WHY_THEN[side.basis]}."


def _moment(told: Account, side: SideAccount) -> str:
    return (
        f"{when(side.at, told.now, side.at)}"
        if told.now.date() == side.at.date()
        else f"{local(side.at, told.now):%Y-%m-%d %H:%M}"
    )


def _proof(told: Account, dossier: Dossier) -> Iterator[str]:
    yield from map(clean, dossier.warnings)
    for checked in dossier.attachments:
        a = checked.attached
        what = f" ({a.what})" if a.what else ""
        yield clean(f"File {a.path}{what}: {FILES[checked.state]}.")
    for vouched in dossier.signatures:
        yield signature_in_words(vouched, told.now)
    if dossier.head is not None:
        yield f"{dossier.head.lines} lines, SHA-256 {grouped(dossier.head.digest)}"

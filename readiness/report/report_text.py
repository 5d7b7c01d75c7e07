"""The report of a job as plain lines: what `check` says, at the moments that matter, and what proves the record."""

from __future__ import annotations

from collections.abc import Iterator

from readiness import __version__
from readiness.records.account import Account, SideAccount
from readiness.records.dossier import Dossier
from readiness.report.phrases import FILES, WHY_THEN, grouped, local, side_name, signature_in_words, when
from readiness.report.plain import plain
from readiness.report.text import clean, wrapped


def report_text(told: Account, dossier: Dossier) -> str:
    """78 columns wide, ending in a line end."""
    made = f"{local(told.made, told.made):%Y-%m-%d %H:%M}"
    head = wrapped(f"Report of job {told.visit.job.job}, made by readiness {__version__} on {made}")
    body = plain(told.verdict, told.visit, dossier.stories, judged=" ".join(_judged(told)))
    proof = [line for text in _proof(told, dossier) for line in wrapped(text, "  ")]
    return "\n".join((*head, "", body.rstrip("\n"), *(["", "The record", *proof] if proof else ()))) + "\n"


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
    for checked in dossier.attachments:
        a = checked.attached
        what = f" ({a.what})" if a.what else ""
        yield clean(f"File {a.path}{what}: {FILES[checked.state]}.")
    for vouched in dossier.signatures:
        yield signature_in_words(vouched, told.now)
    if dossier.head is not None:
        yield f"{dossier.head.lines} lines, SHA-256 {grouped(dossier.head.digest)}"

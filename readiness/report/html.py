"""A job as one file of HTML: a page for the customer, a page for the trade, an annex. Nothing is computed here."""

from __future__ import annotations

from typing import Final

from readiness import __version__
from readiness.records.account import Account
from readiness.records.dossier import Dossier
from readiness.report import line_svg, style
from readiness.report.html_annex import annex
from readiness.report.html_customer import customer_sheet
from readiness.report.html_trade import trade_sheet
from readiness.report.markup import Child, el, page, said
from readiness.report.phrases import grouped, local

CSS: Final = (
    style.BASE
    + line_svg.STYLE
    + """
.over { color: var(--quiet); margin: 0 0 0.2em; }
.under { color: var(--quiet); margin: 0.2em 0 1em; }
.title { font-size: 1.4em; border: 0; padding: 0; margin: 0 0 0.3em; }
.answer { margin-bottom: 0.5em; }
.notice { border-top: 2px solid var(--ink); border-bottom: 2px solid var(--ink); padding: 0.5em 0; }
.result { margin-bottom: 0.8em; }
.foot { border-top: 1px solid var(--hair); margin-top: 1.5em; padding-top: 0.4em; color: var(--quiet); font-size: 0.85em; }
.foot p { margin: 0; }
.hash { font-family: "Liberation Mono", "Courier New", monospace; font-size: 0.92em; }
.findings, .parts, .answers { font-size: 0.88em; }
.findings td, .findings th, .parts td, .parts th, .answers td, .answers th { padding: 0.22em 0.7em 0.22em 0; }
.group th { font-weight: bold; color: var(--ink); padding-top: 0.7em; border-top: 1px solid var(--ink); }
.what { display: block; }
.known { color: var(--quiet); }
.notes { font-size: 0.85em; color: var(--quiet); }
.check { break-inside: auto; }
h4 { font-size: 1em; margin: 1em 0 0.2em; break-after: avoid; }
.working ul { list-style: none; padding: 0; font-size: 0.85em; color: var(--quiet); }
.working .in-1 { padding-left: 1.5em; }
.working .in-2, .working .in-3 { padding-left: 3em; }
del { color: var(--quiet); }
@media print {
  .sheet { font-size: 8pt; line-height: 1.3; }
  .customer { font-size: 10pt; line-height: 1.4; }
}
"""
)


def html_page(told: Account, dossier: Dossier) -> str:
    """The whole file."""
    job = told.visit.job
    made = _made(told, dossier)
    sheets = (
        customer_sheet(told, dossier, made),
        trade_sheet(told, dossier, made),
        annex(told, dossier, made),
    )
    return page(
        f"{job.job} {told.visit.sheet.title}", [el("main", sheets)], css=CSS + _running(told, dossier)
    )


def _made(told: Account, dossier: Dossier) -> list[Child]:
    """The foot of each sheet: what the record comes to, so that this paper proves it."""
    job, head = told.visit.job, dossier.head
    printed = f"{local(told.now, told.now):%Y-%m-%d %H:%M}"
    made = el(
        "p",
        "Job ",
        said(job.job),
        f", made {printed} with readiness {__version__}. {dossier.signature}".rstrip(),
    )
    if head is None:
        return [made, el("p", "Made of a file of answers, which has no history and cannot be proved.")]
    return [
        made,
        el(
            "p",
            f"Record of {head.lines} lines, SHA-256 ",
            el("span", {"class": "hash"}, grouped(head.digest)),
        ),
    ]


def _running(told: Account, dossier: Dossier) -> str:
    """At the foot of every printed page, where the browser can (CSS Paged Media, margin boxes)."""
    return ""

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
.sheet { font-size: 14px; }
.title { font-size: 1.5em; border: 0; padding: 0; margin: 0 0 0.2em; }
.over { color: var(--quiet); margin: 0 0 0.3em; }
.customer .under { color: var(--quiet); margin: 0.3em 0 1.4em; }
.notice { border: 1px solid var(--ink); border-width: 2px 0; padding: 0.5em 0; }
.notice .word { white-space: normal; }
.foot { border-top: 1px solid var(--ink); margin-top: 1.2em; padding-top: 0.5em; color: var(--quiet); font-size: 0.85em; }
.foot p { margin: 0; }
.hash { font-family: "Courier New", "Liberation Mono", monospace; }
.notes { font-size: 0.9em; color: var(--quiet); }
sup { font-size: 0.75em; line-height: 0; color: var(--quiet); }
del { color: var(--quiet); }
svg.plan { font-family: inherit; }

.customer { font-size: 16px; }
.customer dl, .customer > section { display: grid; grid-template-columns: 10em minmax(0, 1fr); column-gap: 1.6em; }
.customer dl { row-gap: 0.2em; margin-bottom: 1.4em; }
.customer > section { border-top: 1px solid var(--hair); padding: 0.7em 0 0.3em; break-inside: avoid; }
.customer > .notice + section { border-top: 0; }
.customer h2 { font-size: 1em; margin: 0; padding: 0; border: 0; break-after: auto; }
.customer p { margin-bottom: 0.4em; }
.customer h3 { margin: 0 0 0.2em; }
.customer .answer .word { font-size: 1.3em; white-space: normal; }
.results { display: grid; grid-template-columns: repeat(auto-fit, minmax(15em, 1fr)); gap: 0.2em 1.6em; align-items: end; }
.result { margin-bottom: 0.8em; }
.result figcaption { margin-bottom: 0.4em; }
.signed { display: grid; grid-template-columns: 1.2em minmax(0, 1fr); margin-bottom: 0.35em; }
@media screen and (max-width: 36rem) {
  .findings .outcome, .parts .c1 { width: 11%; }
  .customer dl, .customer > section { grid-template-columns: minmax(0, 1fr); }
  .customer dd { margin-bottom: 0.4em; }
  .customer h2 { margin-bottom: 0.3em; }
}

.findings, .parts, .answers { table-layout: fixed; }
.findings td, .findings th, .parts td, .parts th, .answers td, .answers th { padding: 0.16em 0.8em 0.16em 0; }
.findings .outcome { width: 9%; } .findings .line-of { width: 21.5%; } .findings .known-of { width: 20%; }
.findings tbody:not(:first-of-type) { border-top: 1px solid var(--ink); }
.trade header p, .trade > .notes { margin-bottom: 0.2em; }
.parts { font-size: 0.93em; }
.parts .c1 { width: 8.5%; } .parts .c2 { width: 18.5%; } .parts .c3 { width: 16%; } .parts .c4 { width: 9%; }
.parts .c5 { width: 10.5%; } .parts .c6 { width: 6.5%; } .parts .c7 { width: 6.5%; } .parts .c8 { width: 8%; }
.answers { font-size: 0.93em; }
.answers .c1 { width: 23%; } .answers .c2 { width: 23%; } .answers .c3 { width: 10%; } .answers .c4 { width: 15%; }
.answers .c5 { width: 11%; }
.group th { font-weight: bold; color: var(--ink); padding-top: 0.6em; border-top: 1px solid var(--ink); font-size: 1em; }
.group { break-after: avoid; }
.known { color: var(--quiet); }
.known bdi { white-space: nowrap; }
.findings .word, .parts .word { white-space: normal; }
.drawn { padding-top: 0.1em; padding-bottom: 0; }
.remarks td { border-top: 0; padding-top: 0; }
.remarks p, .remarks ul { margin: 0 0 0.2em; }
.working { list-style: none; padding: 0; font-size: 0.9em; color: var(--quiet); }
.working li { margin: 0; }
.working .in-1 { padding-left: 1.5em; }
.working .in-2, .working .in-3 { padding-left: 3em; }
.pictures { display: grid; grid-template-columns: repeat(auto-fit, minmax(20rem, 1fr)); gap: 1rem 1.6rem; align-items: start; }
.broad { grid-column: 1 / -1; }
@media print {
  .customer { font-size: 9.5pt; }
  .customer > section { padding: 0.5em 0 0.1em; }
  .customer p, .customer dl { margin-bottom: 0.3em; }
  .trade, .annex { font-size: 7.5pt; line-height: 1.25; }
  .trade .foot { display: none; }
  .pictures { grid-template-columns: 1fr 1fr; }
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
    printed = f"{local(told.made, told.made):%Y-%m-%d %H:%M}"
    made = el(
        "p",
        "Job ",
        said(job.job),
        f", made {printed} with readiness {__version__}.",
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
    """What stands at the foot of every printed page: which job, and what proves its record.

    The first page says the latter by itself."""
    head = dossier.head
    proof = "" if head is None else f" · {head.lines} lines · SHA-256 {grouped(head.digest)}"
    return style.running_foot(f"{told.visit.job.job}{proof}", told.visit.job.job)

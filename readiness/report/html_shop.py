"""The page of a shop as one file of HTML: the words of `shop_words`, bars beside their numbers. Nothing is computed here."""

from __future__ import annotations

from typing import Final

from readiness import __version__
from readiness.records.overview.model import ShopPage
from readiness.report import style
from readiness.report.markup import Child, el, page, said
from readiness.report.shop_rows import SIGNS, Bar, Row, Section
from readiness.report.shop_words import headline, sections
from readiness.report.text import moment

CSS: Final = (
    style.BASE
    + """
.shop { font-size: 14px; }
.shop header p { margin-bottom: 0.2em; }
.shop .headline { font-size: 1.15em; font-weight: bold; }
.shop h2 { font-size: 1.05em; margin: 1.1em 0 0.2em; padding-top: 0.45em; }
.shop table { table-layout: fixed; margin-bottom: 0.2em; }
.shop td, .shop th { border-top: 0; padding: 0.15em 0.8em 0.15em 0; }
.rows .how { width: 9.5em; }
.rows th { font-weight: bold; }
.bars .what { width: 11em; } .bars .many { width: 18em; }
.shop .bar { padding-right: 1em; vertical-align: middle; }
.bar span { display: inline-block; height: 0.75em; vertical-align: middle; }
.bar .sure { background: var(--guard); }
.bar .close { background: var(--band); outline: 1px solid var(--guard); outline-offset: -1px; }
.shop .rest { color: var(--quiet); margin: 0.15em 0 0; }
.shop footer { border-top: 1px solid var(--ink); margin-top: 1.3em; padding-top: 0.5em; color: var(--quiet); font-size: 0.85em; }
@media screen and (max-width: 36rem) {
  .shop table, .shop tbody, .shop tr, .shop td, .shop th { display: block; width: auto; padding: 0; }
  .shop tr { padding: 0.3em 0; }
  .shop .bars tr { display: grid; grid-template: "what many" "bar bar" / minmax(0, 1fr) max-content; column-gap: 1em; }
  .bars .what { grid-area: what; } .bars .many { grid-area: many; } .bars .bar { grid-area: bar; }
}
@media print {
  .shop { font-size: 8.5pt; line-height: 1.3; }
  .shop h2 { margin-top: 0.8em; padding-top: 0.35em; }
  .shop section { break-inside: avoid; }
}
"""
)


def html_page(told: ShopPage) -> str:
    """The whole file."""
    head = el(
        "header",
        el("h1", said(told.shop)),
        el("p", {"class": "quiet"}, f"The shop as of {moment(told.at)}"),
        el("p", {"class": "headline"}, headline(told)),
    )
    foot = el(
        "footer",
        el(
            "p",
            f"Made with readiness {__version__}. The vehicle makers' procedures and local codes come first.",
        ),
    )
    body = el("main", {"class": "shop"}, head, [_section(s) for s in sections(told)], foot)
    css = CSS + style.running_foot(f"{told.shop}, as of {moment(told.at)}")
    return page(f"{told.shop}, the shop at a glance", [body], css=css)


def _section(section: Section) -> Child:
    return el(
        "section",
        el("h2", said(section.title)),
        el("table", {"class": "rows"}, el("tbody", map(_row, section.rows))) if section.rows else None,
        _bars(section.bars) if section.bars else None,
        [el("p", {"class": "rest"}, said(line)) for line in section.quiet],
    )


def _row(row: Row) -> Child:
    word = el("th", {"scope": "row", "class": f"how {row.colour}"}, f"{SIGNS[row.colour]} {row.word}")
    return el("tr", word, el("td", said(row.text)))


def _bars(bars: tuple[Bar, ...]) -> Child:
    longest = max(bar.number for bar in bars)
    return el("table", {"class": "bars"}, el("tbody", [_bar(bar, longest) for bar in bars]))


def _bar(bar: Bar, longest: int) -> Child:
    """The number stands beside it, so that who cannot see the bar misses nothing."""
    close = bar.number - bar.sure
    return el(
        "tr",
        el("th", {"scope": "row", "class": "what"}, said(bar.label)),
        el("td", {"class": "bar", "aria-hidden": "true"},
           _length("sure", bar.sure, longest), _length("close", close, longest)),
        el("td", {"class": "many"}, said(bar.said)),
    )  # fmt: skip


def _length(kind: str, number: int, longest: int) -> Child:
    return el("span", {"class": kind, "style": f"width: {100 * number / longest:.2f}%"}) if number else None

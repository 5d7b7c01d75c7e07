"""The spot checks in the annex: every reading that was taken again, beside what was recorded first."""

from __future__ import annotations

from readiness.job import Again, Drawn
from readiness.records.account import Account
from readiness.report.markup import Child, Element, el, said
from readiness.report.phrases import clock, day, signed, when, wide
from readiness.spotcheck.words import Told, by_whom, compared_line, count_line, e_n_said, told_of

HEAD = ("What", "Recorded", "Taken again", "Compared", "Came to", "Drawn as")
SAID = {
    "agrees": ("✓", "agrees", "good"),
    "differs": ("✗", "does not agree", "bad"),
    "not compared": ("?", "not compared", "doubt"),
}


def spot_checks(told: Account) -> list[Child] | None:
    """A table for each; None where there was none."""
    found = told_of(told.visit.job)
    return [piece for one in found for piece in (_head(told, one), _table(told, one))] if found else None


def _head(told: Account, one: Told) -> Element:
    check = one.check
    drawn: Child = ["; drawn by ", said(check.by)] if check.by and check.by not in one.hands else None
    return el(
        "p",
        f"{day(check.at, told.now)}, {clock(check.at, told.now)}, by ", said(by_whom(one)), drawn,
        f": {count_line(one)}. {len(check.drawn)} of {check.of} readings were drawn, seed {check.seed}.",
    )  # fmt: skip


def _table(told: Account, one: Told) -> Element:
    head = el("thead", el("tr", [el("th", {"scope": "col"}, name) for name in HEAD]))
    rows = el("tbody", [_row(told, drawn, again) for drawn, again in one.rows])
    return wide("Spot check", el("table", {"class": "parts"}, head, rows))


def _row(told: Account, drawn: Drawn, again: Again | None) -> Element:
    """Of what is still to come nothing but its name: who takes it again may have this paper at hand."""
    first = el("th", {"scope": "row"}, said(drawn.what))
    if again is None:
        return el("tr", first, el("td", {"colspan": len(HEAD) - 1}, "still to come"))
    cells: list[Child] = [
        [said(again.first_said), _with(again.first_instrument)],
        [
            said(again.said),
            _with(again.instrument),
            _note(again),
            f" {when(again.at, told.now, told.visit.job.opened)}",
        ],
        compared_line(again, told.visit.shop.units),
        _outcome(again),
        ", ".join(drawn.why) or "by chance alone",
    ]
    return el("tr", first, [el("td", cell) for cell in cells])


def _with(instrument: str) -> Child:
    return [" (", said(instrument), ")"] if instrument else None


def _note(again: Again) -> Child:
    return [", note: ", said(again.note)] if again.note else None


def _outcome(again: Again) -> Child:
    number = f" E_n {e_n_said(again.compared.e_n)}" if again.compared is not None else ""
    why: Child = [". ", said(again.why)] if again.why else None
    return [signed(*SAID[again.outcome]), number, why]

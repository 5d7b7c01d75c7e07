"""The customer's page: what was done to the car, whether it was ready, what came of it; in plain words, on one page."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from readiness.checks.finding import Finding
from readiness.checks.kind import Part
from readiness.checks.words import capital
from readiness.closing import RESULT
from readiness.job import System
from readiness.records.account import Account, SideAccount
from readiness.records.dossier import Dossier
from readiness.report.line_svg import number_line
from readiness.report.markup import Child, Element, el, said
from readiness.report.numbers import limits_in_words, shown
from readiness.report.phrases import (
    between,
    clock,
    count,
    day,
    joined,
    listed,
    outcome,
    side_name,
    signed,
    when,
)

BIG = 300.0
"""Pixels; the number line of a result is the one thing on the page that catches the eye."""
IS = (
    "It tells what was measured and looked at before the calibration and what came of it, as it was entered at the "
    "time. The vehicle maker's instructions came first; where they say otherwise, they count.",
    "It is no warranty and no certificate of roadworthiness, and it says nothing of parts of the car that are not "
    "named here. It does not promise that an assist system sees everything.",
    "It holds for the car as it stood then. Other tyres, a changed suspension, a new windscreen or bumper, a bump "
    "near the sensor: each of these can undo it, and then the calibration is due again.",
)
MIND = (
    "Assist systems help you drive; they do not drive. Keep your hands on the wheel and your eyes on the road.",
    "Keep the place in front of the sensor clean and free of snow and stickers.",
    "If a warning lamp comes on, or the system acts up, do not rely on it, and have it looked at.",
)
NO_RESULT = "No result of a calibration is on this record. Ask the shop before you rely on this system."
BAD_RESULT = "Do not rely on this system until it has been put right and calibrated again."


def customer_sheet(told: Account, dossier: Dossier, made: Sequence[Child]) -> Element:
    """The first sheet; `made` is its foot."""
    return el(
        "section",
        {"class": "sheet customer", "aria-labelledby": "title"},
        _head(told),
        _ended(told),
        _part("Was the car ready?", [_readiness(told, s) for s in told.sides.values()]),
        _part("What did the calibration give?", [_results(told, s) for s in told.sides.values()]),
        _part("What was set aside, and why", _set_aside(told)),
        _part("What was not done", _not_done(told)),
        _part("What this paper is, and is not", [el("p", text) for text in IS]),
        _part("Please mind", el("ul", [el("li", text) for text in _cautions(told)])),
        el("footer", {"class": "foot"}, made),
    )


def _part(title: str, *children: Child) -> Element | None:
    held = [child for child in children if child]
    return el("section", el("h2", title), held) if held else None


def _head(told: Account) -> Element:
    visit, job = told.visit, told.visit.job
    facts: list[tuple[str, Child]] = [
        ("Car", said(visit.sheet.car)),
        ("Registration", said(job.plate) if job.plate else None),
        ("When", between(job.opened, told.last_entry, told.now)),
        ("Where", [said(visit.shop.shop), ", ", said(visit.bay.title)]),
        ("By", joined(said(name) for name in told.hands)),
        ("After", ["the vehicle maker's document ", said(visit.sheet.document.reference)]),
        ("Job", said(job.job)),
    ]
    return el(
        "header",
        el("p", {"class": "over"}, said(visit.shop.shop)),
        el("h1", {"id": "title"}, said(visit.sheet.title)),
        el("p", {"class": "under"}, "What was checked before the calibration, and what came of it"),
        el("dl", [el("div", el("dt", name), el("dd", value)) for name, value in facts if value is not None]),
    )


def _ended(told: Account) -> Element | None:
    """At the top where a job is over without a go."""
    ended = told.visit.job.ended
    if ended is None or not told.ended_without_go:
        return None
    return el(
        "p",
        {"class": "notice"},
        signed("✗", "The car was not calibrated.", "bad"),
        " The job was ended without a go by ",
        said(ended.by),
        f" on {day(ended.at, told.now)} at {clock(ended.at, told.now)}",
        [": ", said(ended.why)] if ended.why else None,
        ".",
    )


# --- was the car ready ---------------------------------------------------------------------------


def _readiness(told: Account, side: SideAccount) -> Element:
    name = side_name(side.side)
    sign, word, colour = _answer(side)
    return el(
        "p",
        {"class": "answer"},
        el("strong", f"{name}: ") if name else None,
        signed(sign, word, colour),
        " ",
        _sentence(told, side),
    )


def _answer(side: SideAccount) -> tuple[str, str, str]:
    if side.verdict.verdict == "go":
        return "✓", "yes.", "good"
    if side.verdict.verdict == "go-with-waivers":
        return "–", "yes, with waivers.", "doubt"
    return "✗", "no.", "bad"


def _sentence(told: Account, side: SideAccount) -> str:
    at = f"at {when(side.at, told.now, told.visit.job.opened)}"
    at += ", when the calibration was done" if side.basis == "result" else ""
    every = len(side.verdict.findings)
    waived = side.verdict.waived
    if not side.go:
        return " ".join(_why_not(side, at))
    if waived:
        done = every - len(waived)
        names = listed([f.title for f in waived])
        return (
            f"{capital(count(len(waived)))} of {count(every)} checks {'was' if len(waived) == 1 else 'were'} set aside "
            f"by a person ({names}); the other {count(done)} were in order {at}.{_held(told, side)}"
        )
    return f"All {count(every)} checks on the car and on the place were in order {at}.{_held(told, side)}"


def _held(told: Account, side: SideAccount) -> str:
    if side not in told.lapsed or side.verdict.lapses_at is None:
        return ""
    return f" That held until {when(side.verdict.lapses_at, told.now, side.at)}."


def _why_not(side: SideAccount, at: str) -> Iterator[str]:
    every = len(side.verdict.findings)
    wrong, barred = side.of_outcome("fail", "too_close"), [f for f in side.verdict.waived if not f.counts]
    missing = side.of_outcome("not_done", "lapsed")
    for found, one, several in (
        (wrong, "was not in order", "were not in order"),
        (barred, "was set aside, which nobody may do", "were set aside, which nobody may do"),
        (missing, "was not finished", "were not finished"),
    ):
        if found:
            names = listed([f.title for f in found]) if len(found) <= 4 else ""
            yield (
                f"{capital(count(len(found)))} of {count(every)} checks {one if len(found) == 1 else several} "
                f"{at}{f': {names}' if names else ''}."
            )


# --- what came of it -----------------------------------------------------------------------------


def _results(told: Account, side: SideAccount) -> Element | None:
    findings = [f for f in side.closing.findings if not f.untouched]
    name = side_name(side.side)
    if not findings:
        words = "its result is not on this record." if name else "Its result is not on this record."
        return el("p", el("strong", f"{name}: ") if name else None, words)
    system = told.visit.shop.units
    return el("div", el("h3", name) if name else None, [_result(f, system) for f in findings])


def _result(finding: Finding, system: System) -> Element:
    lines = [_number(part, system) for part in finding.parts if part.outcome != "not_done"]
    if finding.kind == RESULT and any(lines):
        return el("div", {"class": "result"}, lines)
    return el("p", outcome(finding.outcome), " ", finding.reason)


def _number(part: Part, system: System) -> Element:
    if (line := number_line(part, system, BIG)) is None:
        return el("p", outcome(part.outcome), " ", part.reason)
    return el(
        "figure",
        el(
            "figcaption",
            part.label.rstrip(","),
            ": ",
            el("strong", shown(part, system)),
            f", allowed {limits_in_words(part, system)} ",
            outcome(part.outcome),
        ),
        line,
    )


# --- what is missing, what to mind ---------------------------------------------------------------


def _set_aside(told: Account) -> Element | None:
    rows = [
        el("li", "" if f.every else f"{listed([side_name(s) for s in f.sides])}. ", f.finding.reason)
        for f in (*told.findings, *told.closing_findings)
        if f.finding.outcome == "waived"
    ]
    return el("ul", rows) if rows else None


def _not_done(told: Account) -> Element | None:
    rows = []
    for side in told.sides.values():
        before = [f.title for f in side.of_outcome("not_done", "lapsed")]
        after = [f.title for f in side.closing.findings if f.outcome in ("not_done", "lapsed")]
        for names, of in ((before, "Of the checks before the calibration"), (after, "After the calibration")):
            if names:
                rows.append(el("li", _side_before(told, side), f"{of}: {listed(names)}."))
    return el("ul", rows) if rows else None


def _side_before(told: Account, side: SideAccount) -> str:
    return f"{side_name(side.side)}. " if len(told.sides) > 1 else ""


def _cautions(told: Account) -> list[str]:
    states = {s.closing.state for s in told.sides.values()}
    results = all(s.closing.ready is not None for s in told.sides.values())
    first = [BAD_RESULT] * ("wrong" in states) + [NO_RESULT] * (not results)
    return [*first, *MIND]

"""The customer's page: what was done to the car, whether it was ready, what came of it; in plain words, on one page."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from readiness.checks.finding import Finding
from readiness.checks.kind import Part
from readiness.checks.procedure import KIND as PROCEDURE
from readiness.checks.remarks import KIND as REMARKS
from readiness.checks.words import capital
from readiness.closing import RESULT
from readiness.job import Outcome, System
from readiness.records.account import Account, Shared, SideAccount
from readiness.records.dossier import Dossier
from readiness.report.line_svg import number_line
from readiness.report.markup import Child, Element, el, said
from readiness.report.numbers import limits_in_words, shown
from readiness.report.phrases import (
    answered,
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
from readiness.report.signs import COLOURS, SIGNS

BROAD, ENLARGED = 230.0, 1.7
"""The number line of a result is the one thing on the page that catches the eye."""
MOST_EXPLAINED = 3
IS = (
    "It tells what was measured and looked at before the calibration, and what came of it, as it was entered at the "
    "time. The vehicle maker's instructions came first; where they say otherwise, they count.",
    "It is no warranty and no certificate of roadworthiness, and it promises nothing of parts that are not named here.",
    "It holds for the car as it stood then. Other tyres, a changed suspension, a new windscreen or bumper, or a bump "
    "near the sensor can undo it; then the calibration is due again.",
)
MIND = (
    "Assist systems help you drive; they do not drive. Keep your hands on the wheel and your eyes on the road.",
    "Keep the place in front of the sensor clean and free of snow and stickers.",
    "If a warning lamp comes on, or the system acts up, do not rely on it, and have it looked at.",
)
NOT_ON_RECORD = "its result is not on this record."
ASK = "Ask the shop before you rely on this system."
NO_RESULT = f"No result of a calibration is on this record. {ASK}"
NO_CALIBRATION = "No calibration is on this record."
NOT_IN_ORDER = "After the calibration something was not in order."
DO_NOT_RELY = "Do not rely on this system until it has been put right and calibrated again."


def customer_sheet(told: Account, dossier: Dossier, made: Sequence[Child]) -> Element:
    """The first sheet; `made` is its foot."""
    return el(
        "section",
        {"class": "sheet customer", "aria-labelledby": "title"},
        _head(told),
        _notices(told),
        _part(
            "Was the car ready?", [_readiness(told, s) for s in told.sides.values()], _why_it_matters(told)
        ),
        _part("What did the calibration give?", _came_of_it(told)),
        _part("What was set aside, and why", _set_aside(told)),
        _part("What was not done", _not_done(told)),
        _part("What this paper is, and is not", [el("p", {"class": "notes"}, text) for text in IS]),
        _part("Please mind", el("ul", [el("li", text) for text in _cautions(told)])),
        el("footer", {"class": "foot"}, made),
    )


def _part(title: str, *children: Child) -> Element | None:
    held = [child for child in children if child]
    return el("section", el("h2", title), el("div", held)) if held else None


def _head(told: Account) -> Element:
    visit, job = told.visit, told.visit.job
    facts: list[tuple[str, Child]] = [
        ("Car", [said(visit.sheet.car), [", ", said(job.plate)] if job.plate else None]),
        (
            "When",
            between(job.opened, told.last_entry, told.now) + ("; still open" if job.ended is None else ""),
        ),
        ("Where", said(visit.bay.title)),
        ("By", joined(said(name) for name in told.hands)),
        ("Procedure", ["the vehicle maker's, ", said(visit.sheet.document.reference), _confirmed(told)]),
    ]
    return el(
        "header",
        el("p", {"class": "over"}, said(visit.shop.shop), " · Job ", said(job.job)),
        el("h1", {"id": "title"}, said(visit.sheet.title)),
        el("p", {"class": "under"}, "What was checked before the calibration, and what came of it"),
        el("dl", [[el("dt", name), el("dd", value)] for name, value in facts]),
    )


def _confirmed(told: Account) -> str | None:
    """The sheet names a document; that it was the one at hand, somebody has to have said."""
    asked = [f.finding for f in told.findings if f.finding.kind == PROCEDURE]
    return None if asked and all(f.outcome == "pass" for f in asked) else "; nobody confirmed it"


def _notices(told: Account) -> list[Child]:
    """At the top: what a customer has to know before all else."""
    wrong = any(side.closing.state == "wrong" for side in told.sides.values())
    return [
        el("p", {"class": "notice"}, signed("✗", NOT_IN_ORDER, "bad"), " ", DO_NOT_RELY) if wrong else None,
        _ended(told) if told.ended_without_go else None,
    ]


def _ended(told: Account) -> Element | None:
    """That a job is over without a go; whether there was a calibration all the same, its result tells."""
    ended = told.visit.job.ended
    if ended is None:
        return None
    return el(
        "p",
        {"class": "notice"},
        None if told.calibrated else [signed("✗", NO_CALIBRATION, "bad"), " "],
        "The job was ended without a go by ",
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
        _named(name),
        signed(sign, word, colour),
        " ",
        _sentence(told, side),
    )


def _answer(side: SideAccount) -> tuple[str, str, str]:
    if side.verdict.verdict == "go":
        return "✓", "yes.", "good"
    if side.verdict.verdict == "go-with-waivers":
        return "(✓)", "yes, with something set aside.", "doubt"
    return "✗", "no.", "bad"


def _sentence(told: Account, side: SideAccount) -> str:
    at = f"at {when(side.at, told.now, told.visit.job.opened)}"
    at += ", when its result was read" if side.basis == "result" else ""
    every = len(side.verdict.findings)
    waived = side.verdict.waived
    if not side.go:
        return " ".join((*_why_not(side, at), *_until(told, side)))
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


def _until(told: Account, side: SideAccount) -> Iterator[str]:
    """That the car had been ready before."""
    if side.last_go is not None:
        then = f"; then {side.last_go.why}" if side.last_go.why else ""
        yield f"It had been ready until {when(side.last_go.until, told.now, side.at)}{then}."


def _why_not(side: SideAccount, at: str) -> Iterator[str]:
    every = len(side.verdict.findings)
    barred = [f for f in side.verdict.waived if not f.counts]
    for found, one, several in (
        (side.of_outcome("fail", "too_close"), "was not in order", "were not in order"),
        (barred, "was set aside, which nobody may do", "were set aside, which nobody may do"),
        (side.of_outcome("lapsed"), "no longer held", "no longer held"),
        (side.of_outcome("not_done"), "was not finished", "were not finished"),
    ):
        if found:
            names = listed([f.title for f in found]) if len(found) <= 4 else ""
            yield (
                f"{capital(count(len(found)))} of {count(every)} checks {one if len(found) == 1 else several} "
                f"{at}{f': {names}' if names else ''}."
            )


def _why_it_matters(told: Account) -> list[Child]:
    """Of what was not in order, what the check is there for, in its own words."""
    wrong = dict.fromkeys(f.finding.check for f in told.findings if f.finding.wrong)
    checks = [told.visit.checklist.check(c) for c in wrong][:MOST_EXPLAINED]
    return [el("p", {"class": "notes"}, f"{c.title}: {c.why}") for c in checks]


# --- what came of it -----------------------------------------------------------------------------


def _came_of_it(told: Account) -> list[Child]:
    """Numbers on their lines, side by side where there are several; then messages and what was found afterwards."""
    drawn: list[Element] = []
    sentences: list[Element] = []
    for side in told.sides.values():
        name = side_name(side.side)
        found = [f for f in side.closing.findings if f.kind == RESULT]
        parts = [p for f in found for p in f.parts if p.readings]
        for part in parts:
            figure = _number(part, name, told.visit.shop.units)
            drawn += [figure] if figure else []
            sentences += [] if figure else [_sign(part.outcome, _named(name), part.reason)]
        if not parts and not any(f.outcome == "waived" for f in found):
            sentences.append(el("p", _named(name), NOT_ON_RECORD if name else capital(NOT_ON_RECORD)))
    rest = [f for f in told.closing_findings if f.finding.kind != RESULT and told_of(f.finding)]
    sentences += [
        _line(f.finding, "" if f.every else side_name(f.sides[0])) for f in rest if f.finding.kind != REMARKS
    ]
    sentences += [_remark(part) for f in rest if f.finding.kind == REMARKS for part in f.finding.parts]
    return [el("div", {"class": "results"}, drawn) if drawn else None, sentences]


def told_of(finding: Finding) -> bool:
    """What was set aside stands under a heading of its own."""
    return finding.outcome != "waived" and answered(finding)


def _remark(part: Part) -> Element:
    """Nothing that passes or fails, so it has no sign."""
    return el("p", el("strong", "Remark: "), part.reason)


def _number(part: Part, name: str, system: System) -> Element | None:
    line = number_line(part, system, BROAD, ENLARGED)
    if line is None:
        return None
    told: list[Child] = [
        el("strong", shown(part, system)),
        f", allowed {limits_in_words(part, system)}  ",
        outcome(part.outcome),
    ]
    return el(
        "figure",
        {"class": "result"},
        el("figcaption", _named(name), part.label.rstrip(","), ": ", told),
        line,
    )


def _line(finding: Finding, name: str) -> Element:
    return _sign(finding.outcome, _named(name), finding.reason)


def _sign(word: Outcome, *sentence: Child) -> Element:
    """A sentence that says by itself how it stands, with the sign before it."""
    sign = el("span", {"class": f"word {COLOURS[word]}", "aria-hidden": "true"}, SIGNS[word])
    return el("p", {"class": "signed"}, sign, el("span", *sentence))


def _named(name: str) -> Element | None:
    return el("strong", f"{name}: ") if name else None


# --- what is missing, what to mind ---------------------------------------------------------------


def _set_aside(told: Account) -> Element | None:
    rows = [
        el("li", _aside(told, f))
        for f in (*told.findings, *told.closing_findings)
        if f.finding.outcome == "waived"
    ]
    return el("ul", rows) if rows else None


def _aside(told: Account, found: Shared) -> list[Child]:
    waiver = found.finding.waiver
    side = "" if found.every else f", {listed(found.sides)}"
    if waiver is None:
        return [found.finding.reason]
    who = said(waiver.by) if waiver.by.strip() else "somebody unnamed"
    at = when(waiver.at, told.now, told.visit.job.opened)
    return [f"{found.finding.title}{side}, by ", who, f" at {at}: ", said(waiver.reason)]


def _not_done(told: Account) -> Element | None:
    rows: list[Element] = []
    for side in told.sides.values():
        before = [f.title for f in side.of_outcome("not_done")]
        after = [f.title for f in side.closing.findings if f.outcome in ("not_done", "lapsed")]
        for names, of in ((before, "Of the checks before the calibration"), (after, "After the calibration")):
            if names:
                rows.append(el("li", _side_before(told, side), f"{of}: {listed(names)}."))
    return el("ul", rows) if rows else None


def _side_before(told: Account, side: SideAccount) -> str:
    return f"{side_name(side.side)}. " if len(told.sides) > 1 else ""


def _cautions(told: Account) -> list[str]:
    without = [side.side for side in told.sides.values() if side.closing.ready is None]
    if not without:
        return [*MIND]
    some = f"For the {listed(without)} side no result is on this record. {ASK}"
    return [NO_RESULT if len(without) == len(told.sides) else some, *MIND]

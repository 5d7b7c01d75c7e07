"""The page for the trade: every finding on a line of its own, what was set aside first, what passed last."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from readiness.checklist.describe import limits_in_words as check_limits
from readiness.checks.finding import Finding
from readiness.checks.kind import Part
from readiness.job import Outcome, System
from readiness.records.account import Account, Shared, SideAccount
from readiness.records.dossier import Dossier
from readiness.records.history import typed_in_later
from readiness.report.line_svg import number_line
from readiness.report.markup import Child, Element, el, said
from readiness.report.numbers import chance, limits_in_words, shown, spread
from readiness.report.phrases import (
    FILES,
    WHY_THEN,
    answered,
    clock,
    day,
    in_full,
    joined,
    known,
    outcome,
    side_name,
    signature_in_words,
    signed,
    verdict,
    when,
    wide,
)
from readiness.report.story_words import Told
from readiness.spotcheck.words import by_whom, count_line, notices, told_of

GROUPS: tuple[tuple[Outcome, ...], ...] = (
    ("waived",),
    ("fail", "too_close"),
    ("lapsed", "not_done"),
    ("pass",),
)
"""What a reader has to know first comes first."""
HEAD = (
    ("Outcome", "outcome"),
    ("Check, and what decided it", "what-of"),
    ("Limits and reading", "line-of"),
    ("How it is known", "known-of"),
)
CAPTION = (
    "Light bar: pass. Hatched: guard band, too close to call. Tall strokes: limits. u: standard uncertainty. P: "
    "probability of conforming. +2: two more in the annex. Letters: sources."
)
MOST_TOLD = 2
"""Answers of which a row says what became of them."""
LETTERS = "abcdefghijklmnopqrstuvwxyz"
LINE = 140.0
"""Pixels of a number line in the table."""


def trade_sheet(told: Account, dossier: Dossier, made: Sequence[Child]) -> Element:
    """The second sheet; `made` is its foot."""
    sources = _sources(told)
    return el(
        "section",
        {"class": "sheet trade", "aria-labelledby": "trade"},
        _head(told, dossier),
        _table(told, dossier, sources),
        _footnotes(told, sources),
        el("footer", {"class": "foot"}, made),
    )


def _head(told: Account, dossier: Dossier) -> Element:
    visit, job = told.visit, told.visit.job
    what = joined(
        [said(visit.shop.shop), said(job.job), said(job.plate) if job.plate else None, said(visit.sheet.title), said(visit.bay.title),
         ["procedure ", said(visit.sheet.document.reference)],
         day(job.opened, told.now), "still open" if job.ended is None else None], "\u00a0· ",
    )  # fmt: skip
    return el(
        "header",
        el("h2", {"class": "title", "id": "trade"}, "For the trade"),
        el("p", {"class": "quiet"}, what),
        [_answer(told, side) for side in told.sides.values()],
        _ended(told),
        _spot_checks(told),
        [el("p", signed("≈", "The record", "doubt"), ": ", text) for text in _doubts(told, dossier)],
    )


def _doubts(told: Account, dossier: Dossier) -> Iterator[Child]:
    """What speaks against the record or what belongs to it; the annex tells of the rest."""
    if later := [s for s in typed_in_later(dossier.stories.values()) if s.took_place <= told.now]:
        opened = told.visit.job.opened
        first, last = (when(step.at, told.now, opened) for step in (later[0], later[-1]))
        many = "one answer was" if len(later) == 1 else f"{len(later)} answers were"
        yield f"{many} typed in later, {f'at {first}' if first == last else f'from {first} to {last}'}; when they were read, the paper said."
    yield from dossier.warnings
    for checked in dossier.attachments:
        if checked.state != "same" and checked.attached.at <= told.now:
            yield ["the file ", said(checked.attached.path), f" is {FILES[checked.state]}."]
    for vouched in dossier.signatures:
        if vouched.state in ("wrong", "unknown"):
            yield signature_in_words(vouched, told.now)


def _answer(told: Account, side: SideAccount) -> Element:
    name = side_name(side.side)
    wrong = [f.title for f in side.closing.findings if f.wrong]
    said_of_go = side.said if side.verdict.verdict == "no-go" else ""
    return el(
        "p",
        {"class": "answer"},
        el("strong", f"{name}: ") if name else None,
        verdict(side.verdict.verdict),
        f", judged as of {when(side.at, told.now, told.visit.job.opened)}, {WHY_THEN[side.basis]}{_until(told, side)}. {said_of_go}".rstrip(),
        [" ", signed("✗", "not in order after the calibration", "bad"), f": {', '.join(wrong)}."]
        if wrong
        else None,
    )


def _until(told: Account, side: SideAccount) -> str:
    lapses = side.verdict.lapses_at
    if lapses is None:
        return ""
    return f"; {'holds' if told.now < lapses else 'held'} until {when(lapses, told.now, side.at)}"


def _ended(told: Account) -> Element | None:
    ended = told.visit.job.ended
    if ended is None:
        return None
    how = " without a go" if told.ended_without_go else ""
    at = f"{day(ended.at, told.now)}, {clock(ended.at, told.now)}"
    why: Child = [": ", said(ended.why)] if ended.why else None
    return el("p", f"The job was ended{how} by ", said(ended.by), f", {at}", why, ".")


def _spot_checks(told: Account) -> list[Child]:
    """What came of each, and before it what did not agree."""
    job = told.visit.job
    doubts = [
        el("p", signed("✗", "Spot check", "bad"), ": ", said(text.removeprefix("a spot check ")), ".")
        for text in notices(job)
    ]
    lines = [
        el(
            "p",
            "Spot-checked by ",
            said(by_whom(t)),
            f", {day(t.check.at, told.now)}, {clock(t.check.at, told.now)}: {count_line(t)}.",
        )
        for t in told_of(job)
    ]
    return [*doubts, *lines]


# --- the table -----------------------------------------------------------------------------------


def _table(told: Account, dossier: Dossier, sources: dict[str, str]) -> Element:
    record = Told(told.visit, told.now, dossier.stories)
    groups = [
        _group(told, record, sources, [f for f in told.findings if f.finding.outcome in outcomes])
        for outcomes in GROUPS
    ]
    after = [f for f in told.closing_findings if answered(f.finding)]
    table = el(
        "table",
        {"class": "findings"},
        el("caption", CAPTION),
        el("thead", el("tr", [el("th", {"scope": "col", "class": kind}, name) for name, kind in HEAD])),
        groups,
        _group(told, record, sources, after, "After the calibration"),
    )
    return wide("Findings", table)


def _group(
    told: Account, record: Told, sources: dict[str, str], found: Sequence[Shared], title: str = ""
) -> Element | None:
    if not found:
        return None
    head = (
        el("tr", {"class": "group"}, el("th", {"scope": "rowgroup", "colspan": len(HEAD)}, title))
        if title
        else None
    )
    return el("tbody", head, [_row(told, record, sources, f) for f in found])


def _row(told: Account, record: Told, sources: dict[str, str], found: Shared) -> Element:
    """What has no number to draw has the room of the line for its words."""
    finding = found.finding
    part = finding.deciding
    line = None if part is None else number_line(part, told.visit.shop.units, LINE)
    became = el("span", {"class": "quiet"}, f" {text}") if (text := _became(told, record, found)) else None
    words = [el("b", titled(told, found)), _letters(told, finding, sources), " ", _what(told, found), became]
    return el(
        "tr",
        el("td", outcome(finding.outcome)),
        el("th", {"scope": "row", "colspan": 1 if line else 2}, words),
        el("td", {"class": "drawn"}, line) if line else None,
        el("td", {"class": "known"}, _known(told, finding)),
    )


def titled(told: Account, found: Shared) -> str:
    """The check's name, with its side where sides differ."""
    differs = len(told.sides) > 1 and not (found.every and not _per_side(told, found.finding.check))
    return f"{found.finding.title}, {' and '.join(found.sides)}" if differs else found.finding.title


def _per_side(told: Account, check: str) -> bool:
    return told.visit.checklist.check(check).per_side


def _what(told: Account, found: Shared) -> Element:
    """What decided it: of a pass the number, of everything else the sentence and what to do about it."""
    finding, part = found.finding, found.finding.deciding
    system, more = told.visit.shop.units, len(finding.parts) - 1
    number = "" if part is None else shown(part, system)
    if finding.outcome != "pass":
        text = _without(finding.title, f"{finding.reason} {_remedy(finding)}".strip())
        sure = "" if part is None else ", ".join(how_sure(part, system))
        return el("span", text, el("span", {"class": "quiet"}, f" {sure}") if sure else None)
    if part is None or not number:
        text = _without(finding.title, finding.reason)
    else:
        text = f"{part.label.rstrip(',')}: {', '.join((number, limits_in_words(part, system), *how_sure(part, system)))}"
    return el("span", text, f" +{more}" if more else None)


def _remedy(finding: Finding) -> str:
    """What only wants to be answered says so already."""
    deciding = finding.deciding
    said = finding.wrong or (deciding is not None and deciding.remedy)
    return finding.remedy if said else ""


def _without(title: str, text: str) -> str:
    """A sentence under its title, which is not said twice."""
    return text.removeprefix(f"{title}: ")


def how_sure(part: Part, system: System) -> list[str]:
    """'guard 3.1 kPa', 'u 1.9 kPa', 'P > 99.99 %', as far as they are known."""
    told = (
        f"guard {spread(part.guard, part.unit, system)}" if part.guard else "",
        f"u {spread(part.u, part.unit, system)}" if part.u else "",
        f"P\u00a0{chance(part.p_conform)}" if part.p_conform is not None else "",
    )
    return list(filter(None, told))


def _known(told: Account, finding: Finding) -> list[Child]:
    sources = (source.name for source in finding.rests_on)
    return known(finding.readings, sources, told.now, told.visit.job.opened)


def _became(told: Account, record: Told, found: Shared) -> str:
    """What became of its answers: 'Left rear, pressure: measured three times, fix in between.'"""
    check = told.visit.checklist.check(found.finding.check)
    sides = found.sides if check.per_side else found.sides[:1]
    lines = [line for side in sides for line in record.in_short(check, side)]
    more = [f"{len(lines) - MOST_TOLD} more in the annex."] if len(lines) > MOST_TOLD else []
    return " ".join((*lines[:MOST_TOLD], *more))


# --- where the limits come from ------------------------------------------------------------------


def _sources(told: Account) -> dict[str, str]:
    """Source -> the letter that stands for it."""
    found = dict.fromkeys(
        source
        for f in (*told.findings, *told.closing_findings)
        for _, source in check_limits(told.visit.checklist.check(f.finding.check), told.visit.shop.units)
    )
    return {source: LETTERS[n % 26] * (n // 26 + 1) for n, source in enumerate(found)}


def _letters(told: Account, finding: Finding, sources: dict[str, str]) -> Element | None:
    rows = check_limits(told.visit.checklist.check(finding.check), told.visit.shop.units)
    letters = dict.fromkeys(sources[source] for _, source in rows)
    return el("sup", " ".join(letters)) if letters else None


def _footnotes(told: Account, sources: dict[str, str]) -> list[Child]:
    """What letters and names of instruments stand for."""
    limits = joined(([el("sup", letter), " ", source] for source, letter in sources.items()), "; ")
    tools = joined(([said(i.id), f" due {i.due}"] for i in told.instruments), "; ")
    written = dict.fromkeys(s for f in told.findings for s in f.finding.rests_on if s.on is not None)
    told_ = (
        ("Limits: ", limits),
        ("Instruments: ", tools),
        ("Known from before: ", joined(map(in_full, written), "; ")),
    )
    return [el("p", {"class": "notes"}, el("b", name), notes, ".") for name, notes in told_ if notes]

"""Small pieces that the pages of a report share: times, sides, outcomes, who knows it and how."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from readiness.checks.finding import Finding, grades
from readiness.checks.source import Source
from readiness.job import Outcome, Reading
from readiness.records.account import Basis
from readiness.records.attachments import State
from readiness.report.markup import Child, Element, el, said
from readiness.report.signs import COLOURS, SIGNS, WORDS
from readiness.verdict import Word

if TYPE_CHECKING:
    from readiness.records.signing import State as SignatureState
    from readiness.records.signing import Vouched

COUNTS = (
    "no",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
)
GROUP = 8
"""Digits of a hash that stand together."""


def local(at: datetime, now: datetime) -> datetime:
    """A time as the clock on the wall showed it, where the report is made; summer time as it was then."""
    try:
        here = now.astimezone().utcoffset() == now.utcoffset()
        return at.astimezone(None if here else now.tzinfo)
    except (OverflowError, ValueError, OSError):  # a year that no clock of this machine has
        return at


def clock(at: datetime, now: datetime) -> str:
    return f"{local(at, now):%H:%M}"


def day(at: datetime, now: datetime) -> str:
    """'25 November 2026': the same to read in every country."""
    there = local(at, now)
    return f"{there.day} {there:%B} {there.year}"


def when(at: datetime, now: datetime, beside: datetime | None = None) -> str:
    """'09:41', with its date where that is another day's than `beside`."""
    there, near = local(at, now), local(beside or now, now)
    return f"{there:%H:%M}" if there.date() == near.date() else f"{there:%Y-%m-%d %H:%M}"


def between(first: datetime, last: datetime, now: datetime) -> str:
    """'25 November 2026, 09:10 to 10:00', over as many days as it took."""
    start, end = local(first, now), local(last, now)
    if start.date() == end.date():
        span = f"{start:%H:%M}" if last - first < timedelta(minutes=1) else f"{start:%H:%M} to {end:%H:%M}"
        return f"{day(first, now)}, {span}"
    return f"{day(first, now)}, {start:%H:%M} to {day(last, now)}, {end:%H:%M}"


def count(n: int) -> str:
    return COUNTS[n] if n < len(COUNTS) else str(n)


def listed(names: Sequence[str], last: str = "and") -> str:
    """'tyres, floor and light'; with a comma more where a name holds the last word itself."""
    if len(names) < 2:
        return "".join(names)
    comma = "," if any(f" {last} " in name for name in names) else ""
    return f"{', '.join(names[:-1])}{comma} {last} {names[-1]}"


def joined(pieces: Iterable[Child], between: str = ", ") -> list[Child]:
    """Elements with a mark between them."""
    found: list[Child] = []
    for piece in pieces:
        if piece is not None and piece != "":
            found += [between, piece] if found else [piece]
    return found


def side_name(side: str) -> str:
    """'Left side'; empty where there is one side only."""
    return "" if side == "single" else f"{side.capitalize()} side"


def outcome(word: Outcome) -> Element:
    """The word with its sign; read aloud, the word alone."""
    return signed(SIGNS[word], WORDS[word], COLOURS[word])


WHY_THEN: dict[Basis, str] = {
    "result": "when its result was read",
    "last entry": "at the last entry about the car",
    "asked": "as was asked for",
}
"""Why a side is judged at that moment."""
FILES: dict[State, str] = {
    "same": "unchanged since then",
    "changed": "CHANGED since then",
    "gone": "no longer there",
    "unreadable": "there, but it cannot be read",
}
"""How an attached file is found today."""
VERDICTS: dict[Word, tuple[str, str, str]] = {
    "go": ("✓", "go", "good"),
    "go-with-waivers": ("(✓)", "go with waivers", "doubt"),
    "no-go": ("✗", "no-go", "bad"),
}


def verdict(word: Word) -> Element:
    return signed(*VERDICTS[word])


def signed(sign: str, word: str, colour: str) -> Element:
    return el("span", {"class": f"word {colour}"}, el("span", {"aria-hidden": "true"}, f"{sign} "), word)


def people(readings: Iterable[Reading]) -> list[Child]:
    return joined(said(name) for name in dict.fromkeys(r.by for r in readings if r.by))


def span_of(readings: Sequence[Reading], now: datetime, beside: datetime) -> str:
    """When they were taken: '09:41', or from the first to the last."""
    if not readings:
        return ""
    first, last = min(r.at for r in readings), max(r.at for r in readings)
    a, b = when(first, now, beside), when(last, now, beside)
    return a if a == b else f"{a} to {b}"


def tools_of(readings: Iterable[Reading]) -> list[Child]:
    """What they were taken with, by the names that the shop gave."""
    return joined(said(name) for name in dict.fromkeys(r.instrument for r in readings if r.instrument))


def known(
    readings: Sequence[Reading], sources: Iterable[Child], now: datetime, beside: datetime
) -> list[Child]:
    """'measured, told · Odo Brack 09:41 · gauge-1 · floor survey'."""
    who: list[Child] = [people(readings), " ", span_of(readings, now, beside)] if readings else []
    told = [", ".join(grades(readings)), who or None, tools_of(readings) or None, *sources]
    return joined(told, "\u00a0· ")


def in_full(source: Source) -> list[Child]:
    """'floor survey of 2026-09-15 by Tamsin Vale, laser-1'."""
    on = f" of {source.on}" if source.on is not None else ""
    tools: list[Child] = [", ", joined(map(said, source.tools))] if source.tools else []
    return [source.name, on, [" by ", said(source.by)] if source.by else None, tools]


def grouped(digest: str) -> str:
    """A hash in groups that an eye can follow."""
    return " ".join(digest[k : k + GROUP] for k in range(0, len(digest), GROUP))


def answered(finding: Finding) -> bool:
    """Whether anybody said anything about it."""
    return finding.outcome == "waived" or any(p.readings for p in finding.parts)


def wide(title: str, table: Element) -> Element:
    """A table with its title, pushed to and fro in its own place where the window is narrow, also by keys.

    The title is for who hears the page: a heading over the table shows it already.
    """
    captioned = replace(
        table, children=(el("caption", el("span", {"class": "unseen"}, title)), *table.children)
    )
    whole = table if any(isinstance(c, Element) and c.tag == "caption" for c in table.children) else captioned
    return el("div", {"class": "wide", "role": "region", "aria-label": title, "tabindex": 0}, whole)


SIGNATURES: dict[SignatureState, str] = {
    "good": "signed with the shop's key of {who}",
    "wrong": "SIGNED WRONGLY: the signature is not of these lines",
    "unknown": "signed with a key that is none of the shop's",
    "unchecked": "signed; the signature was not checked here",
}


def signature_in_words(vouched: Vouched, now: datetime) -> str:
    """Who signed how many lines, when, and whether that holds."""
    signed = vouched.signed
    told = SIGNATURES[vouched.state].format(who=vouched.who)
    why = f" ({vouched.why})" if vouched.why else ""
    return f"The first {signed.number - 1} lines are {told}, by {signed.by} on {day(signed.at, now)} at {clock(signed.at, now)}{why}."

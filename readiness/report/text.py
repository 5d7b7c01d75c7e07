"""Words and lines: text from people made harmless, outcomes as words, paragraphs of a set width."""

from __future__ import annotations

import textwrap
import unicodedata
from datetime import datetime

from readiness.checks.finding import Finding, grades
from readiness.job import Outcome
from readiness.verdict import Word

WIDTH = 78

VERDICT_WORDS: dict[Word, str] = {"go": "GO", "go-with-waivers": "GO WITH WAIVERS", "no-go": "NO-GO"}

OUTCOME_WORDS: dict[Outcome, str] = {
    "pass": "pass",
    "fail": "FAIL",
    "too_close": "TOO CLOSE",
    "not_done": "NOT DONE",
    "lapsed": "LAPSED",
    "waived": "set aside",
}

_JOINERS = "\u200c\u200d"
"""Marks without width that some scripts need inside a word."""


def clean(text: str) -> str:
    """Text on one line without anything that could steer a terminal or turn the writing round."""
    return " ".join(harmless(text).split())


def harmless(text: str) -> str:
    """The same with its blanks as they were: a line end or tab is one blank."""
    return text if text.isprintable() else "".join(map(_safe, text))


def _safe(char: str) -> str:
    category = unicodedata.category(char)
    if category in ("Zl", "Zp") or char in "\t\n\r\v\f\x85":
        return " "
    unseen = category in ("Cc", "Cf", "Cs", "Cn") and char not in _JOINERS
    return "" if unseen else char


def wrapped(text: str, first: str = "", rest: str | None = None) -> list[str]:
    """Lines of at most WIDTH columns; `first` begins the first, `rest` (or as many blanks) the others."""
    after = " " * len(first) if rest is None else rest
    return textwrap.wrap(
        clean(text), WIDTH, initial_indent=first, subsequent_indent=after, break_on_hyphens=False
    ) or [first.rstrip()]


def moment(at: datetime, beside: datetime | None = None) -> str:
    """A time to the minute, in the zone of `beside`; the date only where it is another day's."""
    if beside is None:
        return f"{at:%Y-%m-%d %H:%M}"
    local = at.astimezone(beside.tzinfo)
    return f"{local:%H:%M}" if local.date() == beside.date() else f"{local:%Y-%m-%d %H:%M}"


def known_by(finding: Finding) -> str:
    """How what decided is known: 'measured, told', 'seen, floor survey'; empty where nobody said anything."""
    return ", ".join((*grades(finding.readings), *(source.name for source in finding.rests_on)))

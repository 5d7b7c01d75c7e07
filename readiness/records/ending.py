"""What stands in the way of a job simply being over: who ends it all the same says why."""

from __future__ import annotations

from collections.abc import Iterator

from readiness.checks.words import capital
from readiness.job import Outcome
from readiness.records.account import Account

WORDS: dict[Outcome, str] = {
    "fail": "not as it should be",
    "too_close": "too close to call",
    "lapsed": "to be done again",
    "not_done": "not done",
}
"""Outcomes that do not count, the gravest first."""


def unsettled(account: Account) -> tuple[str, ...]:
    """What is open or wrong at the end of a job, a sentence each; empty where every side has all it needs."""
    return (*_without_go(account), *_after_the_calibration(account))


def _without_go(account: Account) -> Iterator[str]:
    for side in account.sides.values():
        if not side.go:
            said = side.said or "there was no go."
            name = "" if side.side == "single" or f"{side.side} side" in said else f"{side.side} side: "
            yield capital(f"{name}{said[0].lower() if name else said[0]}{said[1:]}")


def _after_the_calibration(account: Account) -> Iterator[str]:
    for outcome, words in WORDS.items():
        of_it = [s for s in account.closing_findings if s.finding.outcome == outcome]
        titles = [s.finding.title + ("" if s.every else f" ({' and '.join(s.sides)})") for s in of_it]
        if titles:
            yield capital(f"{words}: {', '.join(titles)}.")

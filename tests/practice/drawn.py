"""Exercises as they might have been finished, in short notation."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from readiness.practice.finished import Finished, KeptCall, KeptGo
from readiness.practice.model import Said, Worth

AT = datetime(2026, 5, 4, 9, 0, tzinfo=UTC)


def worth(said: Said, bad: bool) -> Worth:
    if bad:
        return "missed" if said == "pass" else "caught"
    return "right" if said == "pass" else "false_alarm"


def call(check: str, said: Said, bad: bool, side: str = "") -> KeptCall:
    return KeptCall(
        check=check, said=said, worth=worth(said, bad), bad=bad, side=side, title=check.capitalize()
    )


def go(said: bool, bad: bool, side: str = "left") -> KeptGo:
    return KeptGo(said, worth("pass" if said else "fail", bad), bad, side)


def done(
    seed: int, calls: list[KeptCall] | None = None, goes: list[KeptGo] | None = None, *, by: str = "Odo Brack",
    level: int = 1, sheet: str = "tern-rear-corner", catalogue: str = "1", minutes: int | None = None,
) -> Finished:  # fmt: skip
    at = AT + timedelta(minutes=seed if minutes is None else minutes)
    calls = [call("tyres", "pass", False)] if calls is None else calls
    return Finished(by, at, seed, level, sheet, catalogue, tuple(calls), tuple(goes or ()))

"""The close of a job in a few lines, for the page of a verdict."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime

from readiness.closing import Closing, SideClosing
from readiness.job import Ended
from readiness.report.text import moment


def closing_lines(closing: Closing, sides: Sequence[str]) -> Iterator[str]:
    """A line a side, and one for the end; nothing before anything of it was entered."""
    if closing.begun:
        yield from (f"{_name(side)}{_state(closing.sides[side])}" for side in sides)
    if closing.ended is not None:
        yield ended_line(closing.ended, closing.at)


def ended_line(ended: Ended, now: datetime) -> str:
    """When a job was ended, by whom and why."""
    why = f": {ended.why.rstrip('.')}" if ended.why else ""
    return f"Ended at {moment(ended.at, now)} by {ended.by}{why}."


def _name(side: str) -> str:
    return "" if side == "single" else f"{side.capitalize()} side: "


def _state(side: SideClosing) -> str:
    """What is wrong, else what is missing, else the result; then what is to be said of its go."""
    wrong = [f.reason for f in side.findings if f.wrong]
    missing = [f.title for f in side.findings if not f.counts]
    told = wrong or ([f"not done yet: {', '.join(missing)}."] if missing else [])
    told = told or [f.reason for f in side.findings[:1]] or ["nothing is asked after the calibration."]
    return " ".join([*told, side.said]).strip()

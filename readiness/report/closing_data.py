"""The close of a job as plain data, for programs."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from readiness.closing import Closing, SideClosing
from readiness.report.finding_data import finding_data


def closing_as_dict(closing: Closing, sides: Sequence[str] = ()) -> dict[str, Any]:
    """The close as JSON-ready data; numbers in their canonical units, times in ISO 8601; of the sides named, or of all.

    `verdict` is what the side had when its result was read, None without a result; `said` a sentence where that
    was no plain go.
    """
    ended = closing.ended
    return {
        "begun": closing.begun,
        "state": closing.state,
        "ended": None if ended is None else {"at": ended.at.isoformat(), "by": ended.by, "why": ended.why},
        "sides": {name: _side(closing.sides[name]) for name in sides or closing.sides},
    }


def _side(side: SideClosing) -> dict[str, Any]:
    return {
        "state": side.state,
        "verdict": None if side.ready is None else side.ready.verdict,
        "said": side.said,
        "findings": [finding_data(f) for f in side.findings],
    }

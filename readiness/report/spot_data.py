"""The spot checks of a job: in short for every page, and as JSON."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from readiness.checks.words import capital
from readiness.job import Again, Beside, Drawn, Job
from readiness.report.text import moment
from readiness.spotcheck.words import Told, by_whom, count_line, notices, told_of


def in_short(job: Job) -> Iterator[str]:
    """For every page: what speaks against a reading, then what each spot check came to."""
    yield from (f"{capital(text)}." for text in notices(job))
    yield from map(came_to, told_of(job))


def came_to(told: Told) -> str:
    """'Spot-checked by Tamsin Vale, 2026-11-25 10:40: 4 of 5 agree, 1 does not.'"""
    return f"Spot-checked by {by_whom(told)}, {moment(told.check.at)}: {count_line(told)}."


def as_list(job: Job) -> list[dict[str, Any]]:
    """Every spot check, the oldest first. Of what is still to come only the name: the rest would tell of the first."""
    return [
        {
            "line": told.check.number,
            "at": told.check.at.isoformat(),
            "by": told.check.by,
            "seed": told.check.seed,
            "of": told.check.of,
            "agree": told.count("agrees"),
            "differ": told.count("differs"),
            "not_compared": told.count("not compared"),
            "to_come": len(told.to_come),
            "readings": [_row(drawn, again) for drawn, again in told.rows],
        }
        for told in told_of(job)
    ]


def _row(drawn: Drawn, again: Again | None) -> dict[str, Any]:
    return {
        "entry": drawn.entry,
        "what": drawn.what,
        "weight": drawn.weight if again else None,
        "drawn_because": list(drawn.why) if again else None,
        "outcome": again.outcome if again else None,
        **_found(again),
    }


def _found(again: Again | None) -> dict[str, Any]:
    c = again.compared if again else None
    return {
        "line": again.number if again else None,
        "at": again.at.isoformat() if again else None,
        "by": again.by if again else None,
        "why": again.why if again else None,
        "recorded": again.first_said if again else None,
        "found": again.said if again else None,
        "value": again.value if again else None,
        "unit": again.unit if again else None,
        "instrument": again.instrument if again else None,
        "recorded_with": again.first_instrument if again else None,
        "evidence": again.evidence if again and again.said else None,
        "note": again.note if again else None,
        "beside": [_beside(b) for b in again.beside] if again else [],
        "e_n": c.e_n if c else None,
        "compared": {
            "recorded": c.first, "recorded_expanded": c.first_u, "found": c.again, "found_expanded": c.again_u,
            "unit": c.unit, "how": c.how,
        } if c else None,
    }  # fmt: skip


def _beside(beside: Beside) -> dict[str, Any]:
    return {"what": beside.what, "value": beside.value, "unit": beside.unit, "instrument": beside.instrument}

"""A verdict as plain data, for programs: the object that `readiness check --json` prints."""

from __future__ import annotations

from typing import Any

from readiness.checks.finding import Finding, Visit, weakest
from readiness.checks.kind import Part
from readiness.verdict import SideVerdict, Verdict


def as_dict(verdict: Verdict, visit: Visit) -> dict[str, Any]:
    """The verdict as JSON-ready data; numbers in their canonical units, times in ISO 8601.

    A finding of several parts has them under `parts`, each with the same fields and its own name.
    `notes` is what everybody is told beside the reason, `details` how it was worked out.
    """
    return {
        "job": verdict.job,
        "checklist": verdict.checklist,
        "sheet": verdict.sheet,
        "bay": verdict.bay,
        "at": verdict.at.isoformat(),
        "sides": {name: _side(side) for name, side in verdict.sides.items()},
    }


def _side(side: SideVerdict) -> dict[str, Any]:
    return {
        "verdict": side.verdict,
        "lapses_at": side.lapses_at.isoformat() if side.lapses_at else None,
        "fix_first": list(side.fix_first),
        "findings": [_finding(f) for f in side.findings],
    }


def _finding(finding: Finding) -> dict[str, Any]:
    told = {
        "check": finding.check,
        "kind": finding.kind,
        "outcome": finding.outcome,
        **_numbers(finding.deciding),
        "reason": finding.reason,
        "remedy": finding.remedy,
        "evidence": finding.evidence,
        "notes": list(finding.notes),
        "details": list(finding.details),
    }
    if len(finding.parts) > 1:
        told["parts"] = [_part(finding, p) for p in finding.parts]
    return told


def _part(finding: Finding, part: Part) -> dict[str, Any]:
    return {
        "check": finding.check,
        "part": part.key,
        "kind": finding.kind,
        "outcome": part.outcome,
        **_numbers(part),
        "reason": part.reason,
        "remedy": part.remedy,
        "evidence": weakest(part.readings),
    }


def _numbers(part: Part | None) -> dict[str, Any]:
    names = ("value", "unit", "low", "high", "u", "p_conform", "margin")
    return {name: getattr(part, name, None) for name in names}

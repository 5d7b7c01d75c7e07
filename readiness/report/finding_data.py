"""A finding as plain data, before the calibration and after it."""

from __future__ import annotations

from typing import Any

from readiness.checks.finding import Finding, weakest
from readiness.checks.kind import Part
from readiness.checks.source import Source


def finding_data(finding: Finding) -> dict[str, Any]:
    told = {
        "check": finding.check,
        "kind": finding.kind,
        "outcome": finding.outcome,
        **_numbers(finding.deciding),
        "reason": finding.reason,
        "remedy": finding.remedy,
        "evidence": finding.evidence,
        "rests_on": [_source(s) for s in finding.rests_on],
        "notes": list(finding.notes),
        "details": list(finding.details),
    }
    if len(finding.parts) > 1:
        told["parts"] = [_part(finding, p) for p in finding.parts]
    return told


def _source(source: Source) -> dict[str, Any]:
    on = None if source.on is None else source.on.isoformat()
    return {"what": source.name, "by": source.by, "on": on, "instruments": list(source.tools)}


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
    names = ("value", "unit", "low", "high", "guard", "u", "p_conform", "margin")
    return {name: getattr(part, name, None) for name in names}

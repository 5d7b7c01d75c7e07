"""A verdict with what a person has not called yet left out: so nobody reads off the screen what he is to say himself."""

from __future__ import annotations

from collections.abc import Set
from dataclasses import replace

from readiness.checks.finding import Finding
from readiness.practice.model import Topic
from readiness.verdict import SideVerdict, Verdict

WAITS = "Your call first: the program says what it found once you have said go or no-go."


def hidden(verdict: Verdict, topics: Set[Topic]) -> Verdict:
    """The verdict in which the findings of these topics say nothing; a side with one of them is no go."""
    return replace(verdict, sides={name: _side(side, topics) for name, side in verdict.sides.items()})


def _side(side: SideVerdict, topics: Set[Topic]) -> SideVerdict:
    findings = tuple(_finding(f, _of(f, side.side, topics)) for f in side.findings)
    if findings == side.findings:
        return side
    return replace(side, verdict="no-go", lapses_at=None, fix_first=(), findings=findings)


def _of(finding: Finding, side: str, topics: Set[Topic]) -> bool:
    return (finding.check, side) in topics or (finding.check, "") in topics


def _finding(finding: Finding, hide: bool) -> Finding:
    if not hide:
        return finding
    return replace(
        finding, outcome="not_done", reason=WAITS, remedy="", parts=(), deciding=None, notes=(), picture=(),
        details=(), lapses_at=None,
    )  # fmt: skip

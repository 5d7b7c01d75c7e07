"""A verdict as plain data, for programs: the object that `readiness check --json` prints."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from readiness.checks.finding import Finding, Visit
from readiness.checks.kind import Place
from readiness.closing import closing
from readiness.records.history import Step, Story
from readiness.report.closing_data import closing_as_dict
from readiness.report.finding_data import finding_data
from readiness.report.spot_data import as_list as spot_checks
from readiness.verdict import SideVerdict, Verdict


def as_dict(verdict: Verdict, visit: Visit, stories: Mapping[Place, Story] | None = None) -> dict[str, Any]:
    """The verdict as JSON-ready data; numbers in their canonical units, times in ISO 8601.

    A side's `verdict` is 'go', 'go-with-waivers' or 'no-go'; `waived` lists what a person set aside, empty for a
    plain go. A finding of several parts has them under `parts`, each with the same fields and its own name.
    `notes` is what everybody is told beside the reason, `details` how it was worked out.

    `history` stands once for the whole job, since one answer may serve several checks and both sides. It holds every
    answer (and every check as a whole, with an empty `question`) about which more was done than one plain reading, each with
    its `steps` in order: nothing that was taken back is missing. It is always there, and empty where no journal
    tells it. The value of a step that took back or noted is that of the reading which it is about; all values
    are null where there was none.

    `spot_checks` lists every sample that was taken again, see `spot_data.as_list`; no verdict changes by it.

    `closing` is what came after the calibration, see `closing_as_dict`; null before anything of it was entered.
    """
    close = closing(visit, verdict.at)
    return {
        "job": verdict.job,
        "checklist": verdict.checklist,
        "sheet": verdict.sheet,
        "bay": verdict.bay,
        "at": verdict.at.isoformat(),
        "sides": {name: _side(side) for name, side in verdict.sides.items()},
        "history": [
            _story(story)
            for place, story in (stories or {}).items()
            if place[1] in ("", *verdict.sides) and not story.plain
        ],
        "spot_checks": spot_checks(visit.until(verdict.at).job),
        "closing": closing_as_dict(close, tuple(verdict.sides)) if close.begun or close.ended else None,
    }


def _side(side: SideVerdict) -> dict[str, Any]:
    return {
        "verdict": side.verdict,
        "lapses_at": side.lapses_at.isoformat() if side.lapses_at else None,
        "waived": [_waived(f) for f in side.waived],
        "fix_first": list(side.fix_first),
        "findings": [finding_data(f) for f in side.findings],
    }


def _waived(finding: Finding) -> dict[str, Any]:
    waiver = finding.waiver
    return {
        "check": finding.check,
        "title": finding.title,
        "by": waiver.by if waiver else "",
        "reason": waiver.reason if waiver else "",
        "at": waiver.at.isoformat() if waiver else None,
    }


def _story(story: Story) -> dict[str, Any]:
    check, side, question = story.place
    return {
        "check": check,
        "side": side,
        "question": question,
        "in_short": story.in_short,
        "steps": [_step(story, step) for step in story.steps],
    }


def _step(story: Story, step: Step) -> dict[str, Any]:
    read, back = step.reading, story.withdrawal(step)
    return {
        "line": step.number,
        "at": step.at.isoformat(),
        "as_of": step.took_place.isoformat(),
        "by": step.by,
        "what": step.what,
        "text": step.text,
        "about": step.of,
        "taken_back": back.number if back else None,
        "value": read.value if read else None,
        "unit": read.unit if read else None,
        "instrument": read.instrument if read else None,
        "evidence": read.evidence if read else None,
        "told_by": read.told_by if read else None,
        "note": read.note if read else None,
    }

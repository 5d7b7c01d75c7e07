"""The page of a shop as plain data for programs."""

from __future__ import annotations

from typing import Any

from readiness.measure.moved import Moved
from readiness.measure.trend import Trend
from readiness.records.overview.model import (
    BayDue,
    FloorDrift,
    Jobs,
    Lacking,
    Reasons,
    SheetDue,
    ShopPage,
    ToolDue,
    ZeroDrift,
)


def as_dict(page: ShopPage) -> dict[str, Any]:
    """One object; lengths in mm, zeros in mm/m, days as whole numbers, dates as text."""
    return {
        "shop": page.shop, "at": page.at.isoformat(), "within_days": page.within, "weeks": page.weeks,
        "idle_days": page.idle, "needs": page.needs,
        "instruments": {
            "past_due": [_tool(t) for t in page.tools.past], "due_soon": [_tool(t) for t in page.tools.soon],
            "in_date": page.tools.rest, "lacking": [_lacking(lack) for lack in page.tools.lacking],
            "problem": page.tools.problem or None,
        },
        "bays": {"due": [_bay(b) for b in page.bays.due], "in_order": page.bays.rest},
        "sheets": {
            "due": [_sheet(s) for s in page.sheets.due], "in_order": page.sheets.rest,
            "compare_after_days": page.sheets.after,
        },
        "jobs": _jobs(page.jobs),
        "in_the_way": _reasons(page.reasons),
        "floors": [_floor(f) for f in page.floors],
        "zeros": [_zero(z) for z in page.zeros],
    }  # fmt: skip


def _tool(tool: ToolDue) -> dict[str, Any]:
    return {
        "id": tool.id,
        "title": tool.title,
        "measures": tool.measures,
        "due": str(tool.due),
        "days": tool.days,
    }


def _lacking(lack: Lacking) -> dict[str, Any]:
    return {
        "measures": lack.measures, "needed_for": list(lack.checks), "checklists": list(lack.checklists),
        "accuracy_needed": lack.accuracy or None,
    }  # fmt: skip


def _bay(bay: BayDue) -> dict[str, Any]:
    return {
        "bay": bay.bay, "title": bay.title, "why": bay.why, "surveyed": _day(bay.surveyed), "until": _day(bay.until),
        "days": bay.days if bay.until else None, "told": bay.told or None,
    }  # fmt: skip


def _sheet(sheet: SheetDue) -> dict[str, Any]:
    return {
        "sheet": sheet.sheet, "title": sheet.title, "why": sheet.why, "reference": sheet.reference or None,
        "issued": _day(sheet.issued), "checked": _day(sheet.checked),
        "days": sheet.days if sheet.checked else None, "document_named": sheet.named or None,
        "jobs": list(sheet.jobs), "told": sheet.told or None,
    }  # fmt: skip


def _jobs(jobs: Jobs) -> dict[str, Any]:
    return {
        "all": jobs.all, "open": jobs.open, "lapsed": list(jobs.lapsed), "untouched": list(jobs.untouched),
        "ended_without_go": list(jobs.without_go), "go_with_waivers": list(jobs.waivers),
        "unread": list(jobs.unread), "problem": jobs.problem or None,
    }  # fmt: skip


def _reasons(found: Reasons) -> dict[str, Any]:
    return {
        "jobs": found.jobs, "jobs_with_something": found.in_the_way,
        "checks": [
            {"title": r.title, "jobs": r.jobs, "failed": r.failed, "too_close": r.too_close, "put_right_unjudged": r.put_right}
            for r in found.checks
        ],
        "parts": [{"check": p.title, "part": p.part, "jobs": p.jobs} for p in found.parts],
    }  # fmt: skip


def _floor(drift: FloorDrift) -> dict[str, Any]:
    told = {"bay": drift.bay, "title": drift.title, "older": str(drift.older), "newer": str(drift.newer)}
    return {**told, "problem": drift.why} if drift.found is None else {**told, **_moved(drift.found)}


def _moved(found: Moved) -> dict[str, Any]:
    return {
        "moved": found.moved, "ratio": found.ratio, "factor": found.factor,
        "places": [
            {"before": c.before, "after": c.after, "rise_mm": c.rise.value, "u_mm": c.rise.u} for c in found.changes
        ],
    }  # fmt: skip


def _zero(drift: ZeroDrift) -> dict[str, Any]:
    return {
        "instrument": drift.instrument, "title": drift.title, "unit": drift.unit, "accuracy": drift.accuracy,
        "state": drift.state, "change": drift.change,
        "trend_per_month": None if drift.trend is None else _trend(drift.trend),
        "points": [
            {"at": p.at.isoformat(), "zero": p.value, "source": p.source, "pairs": p.pairs} for p in drift.points
        ],
    }  # fmt: skip


def _trend(line: Trend) -> dict[str, Any]:
    return {
        "slope": line.slope,
        "u": line.u,
        "low": line.low,
        "high": line.high,
        "degrees_of_freedom": line.dof,
    }


def _day(day: object) -> str | None:
    return None if day is None else str(day)

"""A visit with other limits in its checklist, and other tolerances in its sheet."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from msgspec.structs import replace as changed

from readiness.checklist.model import Check
from readiness.checks.finding import Visit
from readiness.job import AimTolerance, Sheet


def limited(visit: Visit, limits: Mapping[tuple[str, str], float | None]) -> Visit:
    """`limits` by check and name; a reading's are '<item>.low' and '<item>.high', the aim's are its axes."""
    checks = tuple(
        _check(c, {n: v for (id_, n), v in limits.items() if id_ == c.id}) for c in visit.checklist.checks
    )
    sheet = _aimed(visit.sheet, {n: v for (id_, n), v in limits.items() if id_ == "aim"})
    return replace(visit, checklist=changed(visit.checklist, checks=checks), sheet=sheet)


def _check(check: Check, values: Mapping[str, float | None]) -> Check:
    if not values or check.kind == "aim":
        return check
    if check.kind != "readings":
        return changed(check, limits=changed(check.limits, **values))
    items = []
    for item in check.limits.items:
        for end in ("low", "high"):
            if f"{item.key}.{end}" in values:
                wide = {"low": None, "high": None, end: f"{values[f'{item.key}.{end}']:.9f} {item.unit}"}
                item = changed(item, **wide)
        items.append(item)
    return changed(check, limits=changed(check.limits, items=tuple(items)))


def _aimed(sheet: Sheet, values: Mapping[str, float | None]) -> Sheet:
    if not values:
        return sheet
    (sensor,) = sheet.sensors
    return changed(sheet, sensors=(changed(sensor, tolerance=AimTolerance(**values)),))

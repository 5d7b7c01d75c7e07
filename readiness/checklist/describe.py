"""The limits of a check in words, each with its source, for the faces."""

from __future__ import annotations

from typing import Any, get_args, get_type_hints

from msgspec import Meta, Struct
from msgspec.structs import fields

from readiness import units
from readiness.checklist.model import Check
from readiness.job import System

Row = tuple[str, str]
"""A limit in words, and its source."""


def limits_in_words(check: Check, system: System) -> list[Row]:
    """One row for every number that the check is judged against; empty for checks of states."""
    limits = check.limits
    if not isinstance(limits, Struct):
        return []
    hints = get_type_hints(type(limits), include_extras=True)
    rows: list[Row] = []
    for f in fields(limits):
        value = getattr(limits, f.name)
        if isinstance(value, float | int) and not isinstance(value, bool):
            unit = unit_of_field(hints[f.name])
            shown = units.show(float(value), unit, system)
            words = getattr(limits, "WORDS", {}).get(f.name, f"{f.name.replace('_', ' ')}: {{}}")
            rows.append((words.format(shown), check.source_of(f.name)))
        elif isinstance(value, tuple):
            rows += [row for item in value for row in _item(check, item, system)]
    return rows


def _item(check: Check, item: Any, system: System) -> list[Row]:
    """An item of a list of readings, whose limits are texts with a unit."""
    low, high = (_text(item, name, system) for name in ("low", "high"))
    if not low and not high:
        return []
    key = getattr(item, "key", "")
    span = f"{low} to {high}" if low and high else f"at least {low}" if low else f"at most {high}"
    return [(f"{getattr(item, 'label', key)}: {span}", check.source_of(key))]


def _text(item: Any, name: str, system: System) -> str:
    text, measures = getattr(item, name, None), getattr(item, "measures", "")
    if not text or measures not in units.MEASURES:
        return ""
    unit = units.MEASURES[measures]
    return units.show(units.parse_written(text, unit), unit, system)


def unit_of_field(hint: Any) -> str:
    """The unit in the metadata of an annotated number, looked for through unions."""
    for part in (hint, *get_args(hint)):
        for meta in getattr(part, "__metadata__", ()):
            if isinstance(meta, Meta) and meta.extra and "unit" in meta.extra:
                return str(meta.extra["unit"])
    return ""

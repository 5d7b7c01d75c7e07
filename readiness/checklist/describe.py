"""The limits of a check in words, each with its source, for the faces."""

from __future__ import annotations

from typing import Any, get_args, get_type_hints

from msgspec import Meta, Struct
from msgspec.structs import fields

from readiness import units
from readiness.checklist.model import Check
from readiness.job import System

Row = tuple[str, str, str]
"""Name, value with unit, source."""


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
            unit = _unit(hints[f.name])
            rows.append((_words(f.name), units.show(float(value), unit, system), check.source_of(f.name)))
        elif isinstance(value, tuple):
            rows += [row for item in value for row in _item(check, item)]
    return rows


def _item(check: Check, item: Any) -> list[Row]:
    """An item of a list of readings or needs, whose limits are texts with a unit."""
    low, high = getattr(item, "low", None), getattr(item, "high", None)
    if low is None and high is None:
        return []
    key = getattr(item, "key", "")
    span = f"{low} to {high}" if low and high else f"at least {low}" if low else f"at most {high}"
    return [(str(getattr(item, "label", key)), span, check.source_of(key))]


def _words(name: str) -> str:
    return name.replace("_", " ")


def _unit(hint: Any) -> str:
    """The unit in the metadata of an annotated number, looked for through unions."""
    for part in (hint, *get_args(hint)):
        for meta in getattr(part, "__metadata__", ()):
            if isinstance(meta, Meta) and meta.extra and "unit" in meta.extra:
                return str(meta.extra["unit"])
    return ""

"""JSON Schema (2020-12) of the files, for editors that check and complete while one types."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

import msgspec

from readiness import job
from readiness.checklist import scalars
from readiness.checklist.model import Check, Checklist, CommonPart

DIALECT = "https://json-schema.org/draft/2020-12/schema"

_TYPES: dict[str, type[Any]] = {
    "checklist": Checklist,
    "part": CommonPart,
    "shop": job.Shop,
    "instruments": job.Instruments,
    "bay": job.Bay,
    "sheet": job.Sheet,
}

_QUANTITY = re.compile(r"a quantity, for example '1 (.*)'")
"""How job.py describes a number that is written with its unit."""

SCHEMAS = tuple(_TYPES)
"""Kinds of file that have a schema."""


def schema(kind: str, limit_types: Mapping[str, Any]) -> dict[str, Any]:
    """The schema of one kind of file; KeyError for a kind without one.

    `limit_types` maps a kind of check to the structure of its limits.
    """
    wanted = [_TYPES[kind]]
    if kind in ("checklist", "part"):
        wanted += limit_types.values()
    roots, definitions = msgspec.json.schema_components(wanted, ref_template="#/$defs/{name}")
    if kind in ("checklist", "part"):
        _tie_limits(definitions[Check.__name__], dict(zip(limit_types, roots[1:], strict=True)))
    if kind == "sheet":
        by_limit = {"type": "object", "additionalProperties": {"type": "object"}}
        definitions[job.Sheet.__name__]["properties"]["limits"] = {"anyOf": [by_limit, {"type": "null"}]}
    _as_written(definitions)
    return {"$schema": DIALECT, "title": f"readiness: {kind}", **roots[0], "$defs": definitions}


def _tie_limits(check: dict[str, Any], limits: Mapping[str, Any]) -> None:
    """What `limits` may say follows from `kind`."""
    check["properties"]["kind"] = {"enum": sorted(limits)}
    check["properties"]["limits"] = {"type": "object"}
    check["allOf"] = [
        {"if": {"properties": {"kind": {"const": kind}}}, "then": {"properties": {"limits": root}}}
        for kind, root in limits.items()
    ]


def _as_written(part: Any) -> None:
    """What stands in a file: quantities are text with a unit, yes and no are as good as true and false."""
    if isinstance(part, dict):
        quantity = _QUANTITY.fullmatch(str(part.get("description", "")))
        if quantity and part.get("type") == "number":
            _quantity(part, quantity.group(1))
        elif part.get("type") == "boolean":
            part["type"] = ["boolean", "string"]
            part["enum"] = [True, False, "yes", "no"]
        for value in part.values():
            _as_written(value)
    elif isinstance(part, list):
        for value in part:
            _as_written(value)


def _quantity(part: dict[str, Any], unit: str) -> None:
    """A part of a whole may be a bare number; anything else needs its unit."""
    bare = unit == "fraction"
    part["type"] = ["string", "number"] if bare else "string"
    part["description"] = scalars.example(unit)
    if "default" in part and not bare:
        part["default"] = f"{part['default']:g} {unit}"
    for bound in ("minimum", "maximum", "exclusiveMinimum", "exclusiveMaximum"):
        part.pop(bound, None)

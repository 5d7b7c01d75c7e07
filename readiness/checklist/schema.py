"""JSON Schema (2020-12) of the files, for editors that check and complete while one types."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import msgspec

from readiness import job
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
    _accept_words(definitions)
    return {"$schema": DIALECT, "title": f"readiness: {kind}", **roots[0], "$defs": definitions}


def _tie_limits(check: dict[str, Any], limits: Mapping[str, Any]) -> None:
    """What `limits` may say follows from `kind`."""
    check["properties"]["kind"] = {"enum": sorted(limits)}
    check["properties"]["limits"] = {"type": "object"}
    check["allOf"] = [
        {"if": {"properties": {"kind": {"const": kind}}}, "then": {"properties": {"limits": root}}}
        for kind, root in limits.items()
    ]


def _accept_words(part: Any) -> None:
    """Yes and no are as good as true and false; an editor may take them for text."""
    if isinstance(part, dict):
        if part.get("type") == "boolean":
            part["type"] = ["boolean", "string"]
            part["enum"] = [True, False, "yes", "no"]
        for value in part.values():
            _accept_words(value)
    elif isinstance(part, list):
        for value in part:
            _accept_words(value)

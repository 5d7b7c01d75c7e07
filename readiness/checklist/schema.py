"""JSON Schema (2020-12) of the files, for editors that check and complete while one types."""

from __future__ import annotations

import re
from collections.abc import Mapping
from inspect import cleandoc
from typing import Any

import msgspec

from readiness import job, units
from readiness.checklist import scalars
from readiness.checklist.meanings import field_meanings
from readiness.checklist.model import Check, Checklist, CommonPart
from readiness.checklist.shapes import OBSTACLE_SHAPES, ZONE_SHAPES

DIALECT = "https://json-schema.org/draft/2020-12/schema"

_TYPES: dict[str, type[Any]] = {
    "checklist": Checklist,
    "part": CommonPart,
    "shop": job.Shop,
    "instruments": job.Instruments,
    "bay": job.Bay,
    "sheet": job.Sheet,
    "survey": job.Survey,
}

_QUANTITY = re.compile(r"a quantity, for example '1 (.*)'")
"""How job.py describes a number that is written with its unit."""

SCHEMAS = tuple(_TYPES)
"""Kinds of file that have a schema."""


def schema(kind: str, limit_types: Mapping[str, Any]) -> dict[str, Any]:
    """The schema of one kind of file; KeyError for a kind without one.

    `limit_types` maps a kind of check to the structure of its limits.
    """
    limits = limit_types if kind in ("checklist", "part") else {}
    wanted = [_TYPES[kind], *limits.values()]
    roots, definitions = msgspec.json.schema_components(wanted, ref_template="#/$defs/{name}")
    if limits:
        _tie_limits(definitions[Check.__name__], dict(zip(limits, roots[1:], strict=True)))
        for key in ("voided_by", "a_fix_is"):
            definitions[Check.__name__]["properties"][key]["items"] = {"enum": list(job.VOID_EVENTS)}
        del definitions[Check.__name__]["properties"]["hold"]["default"]  # for ever is left out, not written
    if kind == "instruments":
        definitions[job.Instrument.__name__]["properties"]["measures"]["enum"] = list(units.MEASURES)
    for name, shapes in ((job.Zone.__name__, ZONE_SHAPES), (job.Obstacle.__name__, OBSTACLE_SHAPES)):
        if name in definitions:
            definitions[name]["oneOf"] = [_given(shape) for shape in shapes]
    if kind == "bay":
        _tie_origins(definitions[job.Obstacle.__name__])
    if kind == "sheet":
        by_limit = {"type": "object", "additionalProperties": {"type": "object"}}
        definitions[job.Sheet.__name__]["properties"]["limits"] = {"anyOf": [by_limit, {"type": "null"}]}
        _tie_ways(definitions[job.Result.__name__])
    return finished(kind, roots[0], definitions, wanted)


def finished(
    kind: str, root: dict[str, Any], definitions: dict[str, Any], types: list[Any]
) -> dict[str, Any]:
    """The whole schema from the parts that msgspec made: as things are written, with what they mean."""
    _as_written(definitions)
    meanings = field_meanings(types)
    for name, definition in definitions.items():
        for key, part in definition.get("properties", {}).items():
            told = [meanings.get((name, key), ""), part.get("description", "")]
            if any(told):
                part["description"] = ": ".join(filter(None, (told[0].rstrip("."), told[1])))
    return {"$schema": DIALECT, "title": f"readiness: {kind}", **root, "$defs": definitions}


def _tie_limits(check: dict[str, Any], limits: Mapping[str, Any]) -> None:
    """What `limits` may say follows from `kind`."""
    check["properties"]["kind"] = {"enum": sorted(limits)}
    check["properties"]["limits"] = {"type": "object"}
    check["allOf"] = [
        {"if": {"properties": {"kind": {"const": kind}}}, "then": {"properties": {"limits": root}}}
        for kind, root in limits.items()
    ]


def _given(key: str) -> dict[str, Any]:
    """That this key is there and is not left empty."""
    return {"required": [key], "properties": {key: {"not": {"enum": [None, ""]}}}}


def _tie_origins(obstacle: dict[str, Any]) -> None:
    """A thing counts from a mark or from where two tapes meet, not from both."""
    obstacle["not"] = {"allOf": [_given("from"), _given("taped")]}


def _tie_ways(result: dict[str, Any]) -> None:
    """A result has a range, or one given either way of nought, or a message."""
    span = {"anyOf": [_given("low"), _given("high")]}
    result["oneOf"] = [span, _given("within"), _given("message")]
    for key in ("low", "high", "within"):
        result["properties"][key]["anyOf"][0]["type"] = ["string", "number"]


def _as_written(part: Any) -> None:
    """What stands in a file: quantities are text with a unit, yes and no are as good as true and false."""
    if isinstance(part, dict):
        quantity = _QUANTITY.fullmatch(str(part.get("description", "")))
        if quantity and part.get("type") == "number":
            _quantity(part, quantity.group(1))
        elif part.get("type") == "boolean":
            part["type"] = ["boolean", "string"]
            part["enum"] = [True, False, "yes", "no"]
        if part.get("type") == "object" and "description" in part:
            part["description"] = cleandoc(part["description"])
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

"""JSON Schema of a file of answers, for editors. What may be asked depends on the job; see lint."""

from __future__ import annotations

from typing import Any

import msgspec

from readiness.checklist.schema import finished
from readiness.job import VOID_EVENTS
from readiness.records.answers_file import Circumstances, File

_WORD: dict[str, Any] = {"type": ["string", "number", "boolean"]}


def answers_schema() -> dict[str, Any]:
    """The schema: answers by question, each a word, a series, or a mapping of its circumstances."""
    roots, definitions = msgspec.json.schema_components([File, Circumstances], ref_template="#/$defs/{name}")
    definitions["Answer"] = {
        "description": "what the instrument shows, with its unit; a list is a series of repeat readings",
        "anyOf": [_WORD, roots[1], {"type": "array", "items": {"anyOf": [_WORD, roots[1]]}}],
    }
    by_question = {"type": "object", "additionalProperties": {"$ref": "#/$defs/Answer"}}
    whole = definitions[File.__name__]["properties"]
    whole["shared"] = {"description": "answers that every check may use, by question", **by_question}
    whole["checks"] = {
        "description": "answers by check (with its side, as in 'clear_area left'), then by question",
        "type": "object",
        "additionalProperties": by_question,
    }
    definitions[Circumstances.__name__]["properties"]["value"] = {
        "anyOf": [_WORD, {"type": "array", "items": _WORD}]
    }
    for definition in definitions.values():
        fields = definition.get("properties", {})
        if "event" in fields:
            fields["event"]["enum"] = list(VOID_EVENTS)
        if "at" in fields:
            fields["at"]["description"] = "a date and time such as 2026-03-31 14:05"
    return finished("answers", roots[0], definitions, [File, Circumstances])

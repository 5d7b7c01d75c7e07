"""The JSON object: its shape is a promise to other programs, so it is spelt out here as a schema."""

from __future__ import annotations

import json

import jsonschema
import pytest

from readiness.report.data import as_dict
from readiness.report.plain import plain
from tests.report.findings import judged_by_hand

NUMBER = {"type": ["number", "null"]}
FIELDS = {
    "check": {"type": "string"},
    "kind": {"type": "string"},
    "outcome": {"enum": ["pass", "fail", "too_close", "not_done", "lapsed", "waived"]},
    "value": {"type": ["number", "string", "null"]},
    "unit": {"type": ["string", "null"]},
    "low": NUMBER,
    "high": NUMBER,
    "u": NUMBER,
    "p_conform": NUMBER,
    "margin": NUMBER,
    "reason": {"type": "string", "minLength": 1},
    "remedy": {"type": "string"},
    "evidence": {"enum": ["measured", "seen", "told", None]},
}
PART = {"type": "object", "properties": FIELDS | {"part": {"type": "string"}}, "additionalProperties": False,
        "required": [*FIELDS, "part"]}  # fmt: skip
LINES = {"type": "array", "items": {"type": "string", "minLength": 1}}
TOLD = FIELDS | {"notes": LINES, "details": LINES}
FINDING = {"type": "object", "properties": TOLD | {"parts": {"type": "array", "minItems": 2, "items": PART}},
           "additionalProperties": False, "required": list(TOLD)}  # fmt: skip
SIDE = {
    "type": "object",
    "properties": {
        "verdict": {"enum": ["go", "no-go"]},
        "lapses_at": {"type": ["string", "null"], "format": "date-time"},
        "fix_first": {"type": "array", "items": {"type": "string"}},
        "findings": {"type": "array", "items": FINDING, "minItems": 1},
    },
    "required": ["verdict", "lapses_at", "fix_first", "findings"],
    "additionalProperties": False,
}
VERDICT = {
    "type": "object",
    "properties": {
        **{k: {"type": "string"} for k in ("job", "checklist", "sheet", "bay")},
        "at": {"type": "string", "format": "date-time"},
        "sides": {
            "type": "object", "propertyNames": {"enum": ["left", "right", "single"]},
            "additionalProperties": SIDE, "minProperties": 1,
        },
    },
    "required": ["job", "checklist", "sheet", "bay", "at", "sides"],
    "additionalProperties": False,
}  # fmt: skip


@pytest.mark.parametrize("go", [True, False])
def test_the_object_has_the_promised_shape(go):
    seen, verdict = judged_by_hand(go)
    told = json.loads(json.dumps(as_dict(verdict, seen), allow_nan=False))
    jsonschema.validate(told, VERDICT, format_checker=jsonschema.FormatChecker())
    assert set(told["sides"]) == {"left", "right"}


def test_the_numbers_are_those_of_the_deciding_part():
    seen, verdict = judged_by_hand()
    tyres = as_dict(verdict, seen)["sides"]["left"]["findings"][1]
    deciding = verdict.sides["left"].finding("tyres").deciding
    for name in ("value", "unit", "low", "high", "u", "p_conform", "margin"):
        assert tyres[name] == getattr(deciding, name)
    assert [p["part"] for p in tyres["parts"]] == ["pressure.lf", "pressure.lr"]


def test_how_it_was_worked_out_is_for_who_asks():
    """In the object, and not among the plain lines, where the answer is read."""
    seen, verdict = judged_by_hand()
    tyres = next(f for f in verdict.sides["left"].findings if f.check == "tyres")
    assert tyres.details
    told = as_dict(verdict, seen)["sides"]["left"]["findings"][1]
    assert told["details"] == list(tyres.details)
    assert told["notes"] == list(tyres.notes)
    assert not any(line in plain(verdict, seen) for line in tyres.details)

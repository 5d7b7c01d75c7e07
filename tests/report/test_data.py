"""The JSON object: its shape is a promise to other programs, so it is spelt out here as a schema."""

from __future__ import annotations

import json

import jsonschema
import pytest

from readiness.checklist.model import EVER, Step
from readiness.report.data import as_dict
from readiness.report.plain import plain
from readiness.verdict import judge
from tests.report.findings import MARKS_ASIDE, judged_by_hand, told_by_hand
from tests.scenes import NOW, check, visit

NUMBER = {"type": ["number", "null"]}
FIELDS = {
    "check": {"type": "string"},
    "kind": {"type": "string"},
    "outcome": {"enum": ["pass", "fail", "too_close", "not_done", "lapsed", "waived"]},
    "value": {"type": ["number", "string", "null"]},
    "unit": {"type": ["string", "null"]},
    "low": NUMBER,
    "high": NUMBER,
    "guard": NUMBER,
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
SOURCE = {"type": "object", "properties": {"what": {"type": "string"}, "by": {"type": "string"}, "on": {"type": ["string", "null"]},
                                            "instruments": {"type": "array", "items": {"type": "string"}}},
          "required": ["what", "by", "on", "instruments"], "additionalProperties": False}  # fmt: skip
TOLD = FIELDS | {"notes": LINES, "details": LINES, "rests_on": {"type": "array", "items": SOURCE}}
FINDING = {"type": "object", "properties": TOLD | {"parts": {"type": "array", "minItems": 2, "items": PART}},
           "additionalProperties": False, "required": list(TOLD)}  # fmt: skip
TEXT, TIME = {"type": "string"}, {"type": "string", "format": "date-time"}
WAIVED = {"type": "object", "properties": {"check": TEXT, "title": TEXT, "by": TEXT, "reason": TEXT, "at": TIME},
          "required": ["check", "title", "by", "reason", "at"], "additionalProperties": False}  # fmt: skip
MAYBE_TEXT, LINE = {"type": ["string", "null"]}, {"type": "integer", "minimum": 1}
STEP = {
    "line": LINE, "at": TIME, "as_of": TIME, "by": TEXT, "text": TEXT, "about": LINE,
    "what": {"enum": ["read", "withdrawn", "fixed", "noted", "set aside", "checked"]},
    "taken_back": {"type": ["integer", "null"]}, "value": {"type": ["number", "string", "null"]},
    **dict.fromkeys(("unit", "instrument", "evidence", "told_by", "note"), MAYBE_TEXT),
}  # fmt: skip
STEPS = {"type": "array", "minItems": 1, "items": {"type": "object", "properties": STEP, "required": list(STEP),
                                                   "additionalProperties": False}}  # fmt: skip
STORY = {**dict.fromkeys(("check", "side", "question", "in_short"), TEXT), "steps": STEPS}
HISTORY = {"type": "array", "items": {"type": "object", "properties": STORY, "required": list(STORY),
                                      "additionalProperties": False}}  # fmt: skip
COUNT, MAYBE_LINE = {"type": "integer", "minimum": 0}, {"type": ["integer", "null"]}
BESIDE = {"what": TEXT, "value": {"type": ["number", "string"]}, "unit": TEXT, "instrument": TEXT}
TWO = {
    **{key: {"type": "number"} for key in ("recorded", "recorded_expanded", "found", "found_expanded")},
    "unit": TEXT,
    "how": TEXT,
}
AGAIN = {
    "entry": LINE, "what": TEXT, "weight": NUMBER, "drawn_because": {"type": ["array", "null"], "items": TEXT},
    "outcome": {"enum": ["agrees", "differs", "not compared", None]}, "line": MAYBE_LINE, "e_n": NUMBER,
    "value": {"type": ["number", "string", "null"]},
    **dict.fromkeys(("at", "by", "why", "recorded", "found", "unit", "instrument", "recorded_with", "note"), MAYBE_TEXT),
    "evidence": {"enum": ["measured", "seen", "told", None]},
    "beside": {"type": "array", "items": {"type": "object", "properties": BESIDE, "required": list(BESIDE),
                                          "additionalProperties": False}},
    "compared": {"type": ["object", "null"], "properties": TWO, "required": list(TWO), "additionalProperties": False},
}  # fmt: skip
SPOT_FIELDS = {
    "line": LINE, "at": TIME, "by": TEXT, "seed": COUNT,
    **dict.fromkeys(("of", "agree", "differ", "not_compared", "to_come"), COUNT),
    "readings": {"type": "array", "minItems": 1, "items": {"type": "object", "properties": AGAIN, "required": list(AGAIN),
                                                           "additionalProperties": False}},
}  # fmt: skip
SPOT_CHECK = {
    "type": "object",
    "properties": SPOT_FIELDS,
    "required": list(SPOT_FIELDS),
    "additionalProperties": False,
}
SIDE = {
    "type": "object",
    "properties": {
        "verdict": {"enum": ["go", "go-with-waivers", "no-go"]},
        "waived": {"type": "array", "items": WAIVED},
        "lapses_at": {"type": ["string", "null"], "format": "date-time"},
        "fix_first": {"type": "array", "items": {"type": "string"}},
        "findings": {"type": "array", "items": FINDING, "minItems": 1},
    },
    "required": ["verdict", "lapses_at", "waived", "fix_first", "findings"],
    "additionalProperties": False,
}
CLOSED_SIDE = {"state": {"enum": ["done", "open", "wrong"]}, "verdict": {"enum": ["go", "go-with-waivers", "no-go", None]},
               "said": TEXT, "findings": {"type": "array", "items": FINDING}}  # fmt: skip
ENDED = {"type": ["object", "null"], "properties": {"at": TIME, "by": TEXT, "why": TEXT}, "required": ["at", "by", "why"],
         "additionalProperties": False}  # fmt: skip
CLOSING = {
    "type": ["object", "null"],
    "properties": {
        "begun": {"type": "boolean"}, "state": {"enum": ["done", "open", "wrong"]}, "ended": ENDED,
        "sides": {"type": "object", "additionalProperties": {"type": "object", "properties": CLOSED_SIDE,
                                                             "required": list(CLOSED_SIDE), "additionalProperties": False}},
    },
    "required": ["begun", "state", "ended", "sides"], "additionalProperties": False,
}  # fmt: skip
VERDICT = {
    "type": "object",
    "properties": {
        **{k: {"type": "string"} for k in ("job", "checklist", "sheet", "bay")},
        "at": {"type": "string", "format": "date-time"},
        "sides": {
            "type": "object", "propertyNames": {"enum": ["left", "right", "single"]},
            "additionalProperties": SIDE, "minProperties": 1,
        },
        "history": HISTORY,
        "spot_checks": {"type": "array", "items": SPOT_CHECK},
        "closing": CLOSING,
    },
    "required": ["job", "checklist", "sheet", "bay", "at", "sides", "history", "spot_checks", "closing"],
    "additionalProperties": False,
}  # fmt: skip


@pytest.mark.parametrize("stories", [None, told_by_hand()], ids=["answers", "journal"])
@pytest.mark.parametrize(("go", "waived"), [(True, False), (True, True), (False, True)])
def test_the_object_has_the_promised_shape(go, waived, stories):
    seen, verdict = judged_by_hand(go, waived)
    told = json.loads(json.dumps(as_dict(verdict, seen, stories), allow_nan=False))
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


def test_what_a_person_set_aside_is_listed_for_each_side():
    seen, verdict = judged_by_hand(True, True)
    left = as_dict(verdict, seen)["sides"]["left"]
    assert left["verdict"] == "go-with-waivers"
    assert left["lapses_at"] is not None
    assert left["waived"] == [
        {"check": "centre_marks", "title": "Centre marks", "by": MARKS_ASIDE.by, "reason": "no marks",
         "at": MARKS_ASIDE.at.isoformat()}
    ]  # fmt: skip
    seen, verdict = judged_by_hand(True)
    assert as_dict(verdict, seen)["sides"]["left"]["waived"] == []


def test_the_history_holds_what_is_more_than_one_plain_reading():
    seen, verdict = judged_by_hand(True)
    assert as_dict(verdict, seen)["history"] == []
    told = {s["question"]: s for s in as_dict(verdict, seen, told_by_hand())["history"]}
    assert list(told) == ["pressure.lr", "air", ""]
    assert told["pressure.lr"]["in_short"] == "measured twice, fix in between"
    assert [(s["what"], s["value"], s["text"][:8]) for s in told["pressure.lr"]["steps"]] == [
        ("read", 210.0, "210"),
        ("fixed", None, "inflated"),
        ("read", 231.0, "231"),
    ]
    assert [s["line"] for s in told["pressure.lr"]["steps"]] == [2, 4, 5]


def test_what_came_after_the_calibration_has_its_place():
    scan = check("rescan", hold=EVER)
    step = Step(id="after", title="After", checks=("rescan",))
    doors = check("states", {"items": [{"key": "doors", "label": "Doors"}]})
    seen = visit(
        doors, scan, readings={"states": {"doors": "y"}, "rescan": {"empty": "n"}},
        steps=(Step(id="all", title="All", checks=("states",)),), closing=(step,),
    )  # fmt: skip
    told = json.loads(json.dumps(as_dict(judge(seen, NOW), seen), allow_nan=False))
    jsonschema.validate(told, VERDICT, format_checker=jsonschema.FormatChecker())
    assert told["closing"]["sides"]["single"]["findings"][0]["outcome"] == "fail"
    assert "After the calibration\n  Faults are stored" in plain(judge(seen, NOW), seen)
    before = visit(
        doors, scan, readings={"states": {"doors": "y"}}, closing=(step,), steps=seen.checklist.steps
    )
    assert as_dict(judge(before, NOW), before)["closing"] is None
    assert "After the calibration" not in plain(judge(before, NOW), before)

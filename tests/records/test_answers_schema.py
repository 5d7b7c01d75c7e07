"""The schema of answers against the jsonschema library and the answers of the demo shop."""

from __future__ import annotations

import jsonschema
import pytest

from readiness.records import places
from readiness.records.answers_schema import answers_schema
from tests.checklist.test_schema import seen

ANSWERS = sorted((places.demo() / "answers").glob("*.yaml"))


def test_it_is_a_schema():
    jsonschema.Draft202012Validator.check_schema(answers_schema())


@pytest.mark.parametrize("path", ANSWERS, ids=lambda p: p.stem)
def test_it_accepts_the_answers_of_the_demo(path):
    jsonschema.validate(seen(path), answers_schema(), jsonschema.Draft202012Validator)


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("sides", ["middle"]),
        ("checks", {"tyres": ["231 kPa"]}),
        ("checks", {"tyres": {"pressure.lf": {"value": "231 kPa", "when": "noon"}}}),
        ("events", [{"event": "car_flew"}]),
        ("fixes", [{"question": "pressure.lf"}]),
        ("units", "imperial"),
        ("colour", "red"),
    ],
)
def test_it_refuses_what_the_reader_refuses(key, value):
    data = seen(ANSWERS[0]) | {key: value}
    errors = list(jsonschema.Draft202012Validator(answers_schema()).iter_errors(data))
    assert any(key in [str(p) for p in e.absolute_path] or key in e.message for e in errors)

"""The schemas against the jsonschema library: valid themselves, and of one mind with the reader."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import jsonschema
import pytest
import yaml

from readiness import units
from readiness.checklist.schema import SCHEMAS, schema
from readiness.job import VOID_EVENTS
from tests.checklist.kinds import BAD, GOOD, LIMITS

FILES = {p.stem: p for p in GOOD.rglob("*.yaml")}
FILE_OF = {"checklist": "corner", "part": "closed"}


class Editor(yaml.SafeLoader):
    """Reads scalars as YAML 1.2 does, like editors: true and false, numbers; no dates, no yes and no."""


Editor.yaml_implicit_resolvers = {}
Editor.add_implicit_resolver("tag:yaml.org,2002:bool", re.compile("^(true|false)$"), list("tf"))
Editor.add_implicit_resolver("tag:yaml.org,2002:int", re.compile("^-?[0-9]+$"), list("-0123456789"))
Editor.add_implicit_resolver("tag:yaml.org,2002:null", re.compile("^(~|null|)$"), ["~", "n", ""])


def seen(path: Path) -> Any:
    return yaml.load(path.read_text(encoding="utf-8"), Editor)


def test_the_schema_of_a_bay_accepts_things_measured_from_marks() -> None:
    jsonschema.validate(seen(FILES["measured"]), schema("bay", LIMITS), jsonschema.Draft202012Validator)


@pytest.mark.parametrize("kind", SCHEMAS)
def test_schema_is_valid_and_accepts_the_good_file(kind: str) -> None:
    made = json.loads(json.dumps(schema(kind, LIMITS)))
    jsonschema.Draft202012Validator.check_schema(made)
    jsonschema.validate(seen(FILES[FILE_OF.get(kind, kind)]), made, jsonschema.Draft202012Validator)


@pytest.mark.parametrize(
    ("kind", "name", "path"),
    [
        ("checklist", "limit-unknown", "limits"),
        ("checklist", "check-unknown-kind", "kind"),
        ("checklist", "check-unknown-key", "checks"),
        ("checklist", "sides-unknown", "sides"),
        ("checklist", "decision-out-of-bounds", "factor"),
        ("shop", "shop-unknown-units", "units"),
        ("shop", "shop-no-unit", "altitude"),
        ("part", "part-with-include", ""),
        ("sheet", "zone-reason-free", "reason"),
        ("sheet", "zone-sector-start", "sector"),
        ("sheet", "zone-sector-no-unit", "sector"),
        ("sheet", "zone-polygon-two-corners", "polygon"),
        ("sheet", "zone-polygon-many-corners", "polygon"),
        ("sheet", "zone-two-shapes", "zones"),
        ("bay", "bay-two-corners", "outline"),
        ("bay", "obstacle-no-shape", "obstacles"),
        ("bay", "obstacle-two-shapes", "obstacles"),
        ("bay", "obstacle-people", "people"),
        ("bay", "from-and-taped", "obstacles"),
        ("bay", "mark-no-place", "marks"),
        ("bay", "taped-one-mark", "taped"),
        ("bay", "taped-three", "taped"),
        ("bay", "taped-side", "taped"),
    ],
)
def test_schema_refuses_what_the_reader_refuses(kind: str, name: str, path: str) -> None:
    validator = jsonschema.Draft202012Validator(schema(kind, LIMITS))
    errors = list(validator.iter_errors(seen(BAD / f"{name}.yaml")))
    assert errors
    assert any(path in [str(p) for p in e.absolute_path] or not path for e in errors)


def test_limits_of_one_kind_are_not_those_of_another() -> None:
    data = seen(FILES["corner"])
    data["checks"][0]["limits"] = {"least": "300 lx"}
    validator = jsonschema.Draft202012Validator(schema("checklist", LIMITS))
    assert not validator.is_valid(data)


def test_editors_are_told_what_a_field_means_and_what_it_may_hold() -> None:
    overhang = schema("sheet", LIMITS)["$defs"]["Dimensions"]["properties"]["front_overhang"]
    assert overhang["description"] == "From the front axle to the foremost point: a quantity such as '1 m'"
    counted = schema("bay", LIMITS)["$defs"]["Obstacle"]["properties"]["from"]
    assert counted["description"].startswith("What its lengths count from: name of a mark, or 'corner 1'")
    measures = schema("instruments", LIMITS)["$defs"]["Instrument"]["properties"]["measures"]
    assert set(measures["enum"]) == set(units.MEASURES)
    voided = schema("part", LIMITS)["$defs"]["Check"]["properties"]["voided_by"]
    assert set(voided["items"]["enum"]) == set(VOID_EVENTS)


def test_no_schema_for_an_unknown_kind() -> None:
    with pytest.raises(KeyError):
        schema("answers", LIMITS)

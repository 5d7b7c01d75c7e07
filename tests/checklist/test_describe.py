"""Limits in words, as the technician is asked to compare them with the document."""

from __future__ import annotations

import re

import msgspec
import pytest

from readiness.checklist.describe import limits_in_words
from readiness.checklist.files import read_checklist
from readiness.checks import kinds, limit_types
from readiness.records import places

LISTS = ("rear_corner_radar", "front_radar", "windscreen_camera", "surround_view")


@pytest.mark.parametrize("kind", sorted(kinds()))
def test_every_number_of_a_kind_has_its_words(kind):
    limits = limit_types()[kind]
    words = getattr(limits, "WORDS", {})
    numbers = {f.name for f in msgspec.structs.fields(limits) if re.search(r"\b(float|int)\b", str(f.type))}
    assert set(words) == numbers
    assert all(w.count("{}") == 1 for w in words.values())


@pytest.mark.parametrize("name", LISTS)
@pytest.mark.parametrize("system", ["metric", "us"])
def test_every_limit_of_a_shipped_list_is_told_with_its_source(name, system):
    checklist = read_checklist(places.checklists() / f"{name}.yaml", limit_types(), (places.checklists(),))
    told = [row for check in checklist.checks for row in limits_in_words(check, system)]
    assert len(told) > 15
    assert all(any(c.isdigit() for c in words) and source for words, source in told)


def test_us_readers_get_us_units():
    checklist = read_checklist(
        places.checklists() / "front_radar.yaml", limit_types(), (places.checklists(),)
    )
    air = dict(limits_in_words(checklist.check("air"), "us"))
    # 5 °C = 41 °F and 35 °C = 95 °F by the definition of the Fahrenheit scale
    assert "Air in the bay: 41 °F to 95 °F" in air

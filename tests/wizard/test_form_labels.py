"""Labels that are longer than their column: what tells one question from the next stays in view."""

from __future__ import annotations

import pytest
from rich.cells import cell_len

from readiness.checks.kind import Question
from readiness.wizard.form import _label
from readiness.wizard.form_lines import Columns, FormLine
from readiness.wizard.rows import Row
from tests.scenes import check


def question(label: str, unit: str = "mm") -> FormLine:
    return FormLine(label, Row(check("floor", LIMITS), "", Question("q", label, unit=unit)), unit=unit)


LIMITS = {"slope_along": 3, "slope_across": 3, "flatness": 6, "twist": 4, "target_height": 6}


@pytest.mark.parametrize("width", [20, 22, 34])
def test_questions_about_two_feet_are_told_apart(width):
    labels = [f"LR to right reflector foot {n}{turned}" for n in (1, 2) for turned in ("", ", turned")] + [
        f"Right reflector foot {n}, packed" for n in (1, 2)
    ]
    drawn = [_label(question(label), width) for label in labels]
    assert len(set(drawn)) == len(labels)
    assert all(cell_len(d) == width for d in drawn)


def test_questions_about_a_thing_with_a_long_name_are_told_apart():
    ends = ("forward", "left", "radius", "top", "tape 1", "tape 2", "along", "across")
    labels = [_label(question(f"Steel in the floor: {end}", "m"), 22) for end in ends]
    assert [label.rstrip().endswith(f": {end}") for label, end in zip(labels, ends, strict=True)] == [
        True
    ] * 8


def test_a_label_that_fits_is_as_it_is():
    assert _label(question("LF to plate foot 1"), 22).rstrip() == "LF to plate foot 1"


def test_a_long_unit_takes_its_room_from_label_and_line():
    inches, metric = question("RF to LF", "in per 10 ft"), question("RF to LF", "mm/m")
    assert inches.short_unit == "in/10ft"
    for width in (61, 80, 43):
        long, short = Columns.of(width, (metric, inches)), Columns.of(width, (metric,))
        assert long.unit > cell_len(inches.short_unit)
        assert long.label + long.line + long.unit == short.label + short.line + short.unit

"""The files that a shop of one's own begins with: right as they stand, with each example put in force, and never a go."""

from __future__ import annotations

import random
import re
from datetime import timedelta

import pytest

from readiness.job import Job
from readiness.records.new_shop import new_shop
from readiness.records.opening import mistakes_in
from readiness.records.shop import ShopFolder
from readiness.verdict import judge
from tests.records.invented import AT, filled

EXAMPLE = re.compile(r"^( *)# (?:  .*|(?P<key>[a-z_]+):(?: \{.*\}| \[.*\]| [a-z0-9-]+)?)$")
"""A line of YAML that was made a note; prose is not of its form."""


@pytest.fixture
def folder(tmp_path) -> ShopFolder:
    new_shop(tmp_path)
    return ShopFolder(tmp_path)


def in_force(text: str) -> tuple[str, list[str]]:
    """The text with its examples put in force, and the keys of these."""
    lines, keys = [], []
    for line in text.splitlines():
        found = EXAMPLE.match(line)
        lines.append(line.replace("# ", "", 1) if found else line)
        keys += [found["key"]] if found and found["key"] else []
    return "\n".join(lines) + "\n", keys


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("sheets/example.yaml", {"issued", "checked", "ride_heights", "axle_loads", "springs", "self_levelling", "refers_to",
                                 "tolerance", "sees", "from", "tape", "stand", "results", "limits"}),
        ("bays/example.yaml", {"survey"}),
    ],
)  # fmt: skip
def test_every_example_in_its_notes_can_be_put_in_force(folder, name, expected):
    path = folder.path / name
    text, keys = in_force(path.read_text(encoding="utf-8"))
    assert set(keys) == expected
    if name.startswith("bays"):
        text = text.replace("by: who measured", "by: A. Test").replace(
            "id of the level or laser in instruments.yaml", "laser-1"
        )
    path.write_text(text, encoding="utf-8", newline="\n")
    assert [str(m) for m in mistakes_in([folder.path])] == []
    kept = folder.bays["example"].survey if name.startswith("bays") else folder.sheets["example"].springs
    assert kept is not None


def test_the_tools_are_of_the_kinds_that_a_survey_and_a_car_in_its_place_ask_for(folder):
    assert {"height", "slope", "length", "distance", "pressure"} <= {
        i.measures for i in folder.instruments.values()
    }
    assert folder.instruments["level-1"].division == "0.3 mm/m"


@pytest.mark.parametrize("seed", range(5))
def test_no_answers_make_it_a_go(folder, seed):
    """Not even those that lie in the middle of every limit: its tools are long out of date."""
    job = Job(job="N-1", sheet="example", bay="example", sides=("single",), opened=AT, by="A. Test")
    job = filled(folder, job, random.Random(seed).randrange(1000))
    verdict = judge(folder.visit(job), max(r.at for r in job.readings) + timedelta(seconds=1))
    assert not verdict.go
    tools = next(f for f in verdict.sides["single"].findings if f.check == "instruments")
    assert not tools.counts

"""The table of tape distances, as a page and as the command prints it."""

from __future__ import annotations

import re
from functools import partial
from math import hypot

import pytest
from msgspec.structs import replace as changed

from readiness.checks.aim.layout import rows
from readiness.job import Place, Target
from readiness.records import places
from readiness.report.layout import table
from readiness.report.text import WIDTH
from readiness.units import show
from tests.scenes import SHEET
from tests.test_cli import one_sentence, run

DEMO = places.demo()


def page(sides=("left", "right"), sheet=SHEET, system="metric"):
    return table(sheet, rows(sheet, sides), partial(show, system=system))


def test_a_line_for_each_target_side_and_mark():
    lines = [re.split(r"  +", line) for line in page().splitlines() if "reflector" in line]
    assert [line[:3] for line in lines] == [
        [side, "reflector", f"{mark} mark"] for side in ("left", "right") for mark in ("front", "rear")
    ]
    # the sheet: marks at x 3.55 and -0.95, the reflector at -3.0, 1.5
    assert lines[1][3:] == ["2050 mm behind", "1500 mm left", show(hypot(2050, 1500), "mm")]
    assert lines[3][3:] == ["2050 mm behind", "1500 mm right", show(hypot(2050, 1500), "mm")]
    assert lines[0][3] == "6550 mm behind"


def test_one_side_goes_without_saying():
    assert "side" not in page(("single",)).split("\n\n")[2]
    ahead = changed(SHEET, targets=(Target(id="plate", at=Place(x=6.0, y=0.0, z=0.5)),))
    assert re.search(
        r"plate +front mark +2450 mm ahead +on the line +2450 mm$", page(("single",), ahead), re.M
    )


def test_us_units_caution_and_width():
    text = page(system="us")
    assert "59.055 in left" in text
    assert text.endswith("follow the\ndocument and correct the sheet.\n")
    assert all(len(line) <= WIDTH for line in text.splitlines())
    assert "has no targets" in page(sheet=changed(SHEET, targets=()))


def test_names_cannot_steer_a_terminal():
    odd = changed(SHEET, targets=(changed(SHEET.targets[0], id="\x1b[31mred\n"),))
    assert "\x1b" not in page(sheet=odd)
    assert "[31mred" in page(sheet=odd)


@pytest.mark.parametrize("name", ["tern-rear-corner", "dunlin-surround"])
def test_the_command_takes_an_id_or_a_file(name):
    by_id = run("layout", name, shop=DEMO)
    by_file = run("layout", DEMO / "sheets" / f"{name}.yaml")
    assert (by_id.returncode, by_id.stderr) == (0, "")
    assert by_file.stdout == by_id.stdout
    assert ("right  reflector" in by_id.stdout) == (name == "tern-rear-corner")


def test_a_file_outside_any_shop_is_shown_in_metric(tmp_path):
    copy = tmp_path / "sheet.yaml"
    copy.write_text((DEMO / "sheets" / "pipit-front.yaml").read_text(encoding="utf-8"), encoding="utf-8")
    done = run("layout", copy, shop=tmp_path)
    assert done.returncode == 0, done.stderr
    assert "2560 mm ahead" in done.stdout


def test_what_is_wrong_is_one_sentence(tmp_path):
    assert "Did you mean 'pipit-front'" in one_sentence(run("layout", "pipit-frnt", shop=DEMO))
    assert "There is no file" in one_sentence(run("layout", tmp_path / "nothing.yaml"))
    assert "expected a sheet" in one_sentence(run("layout", DEMO / "bays" / "bay-1.yaml"))

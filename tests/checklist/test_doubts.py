"""What in a sheet is seldom meant: told by lint, and no mistake. The bounds are common practice, no published source."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner

from readiness.checklist.files import read_sheet
from readiness.cli import commands
from readiness.records import places
from readiness.records.opening import looked_at, mistakes_in

TERN = places.demo() / "sheets" / "tern-rear-corner.yaml"


@pytest.mark.parametrize(
    ("old", "new", "place", "words"),
    [
        ("width: 1.83 m", "width: 2.63 m", "dimensions.width", "1.4 to 2.4 m"),
        ("track_rear: 1.54 m", "track_rear: 1.24 m", "dimensions.track_rear", "tracks no more than"),
        ("length: 4.68 m", "length: 6.68 m", "dimensions.length", "behind the rear axle"),
        ("front: 230 kPa, rear: 230 kPa", "front: 160 kPa, rear: 230 kPa", "placard.pressure.front", "160 kPa"),
        ("front: 230 kPa, rear: 230 kPa", "front: 2.3 bar, rear: 420 kPa", "placard.pressure.rear", "units"),
        ("x: -2.78 m, y: 2.36 m, z: 0.62 m", "x: 4.78 m, y: 2.36 m, z: 0.62 m", "targets[reflector].at", "ahead of the car"),
        ("corner: {x: -1.6 m, y: 0.98 m}\n      opposite: {x: -0.2 m, y: 1.8 m}",
         "corner: {x: 4.6 m, y: 0.98 m}\n      opposite: {x: 5.2 m, y: 1.8 m}", "zones[beside-the-bumper]", "ahead of the car"),
        ("x: -2.78 m, y: 2.36 m, z: 0.62 m", "x: -2.0 m, y: 1.66 m, z: 0.62 m", "targets[reflector].feet", "nearer to the sensor"),
        ("x: -3.1 m, y: 2.36 m", "x: 0.3 m, y: 0.5 m", "targets[reflector].feet[1]", "under the car"),
        ("y: 0.66 m, z: 0.62 m", "y: 0.66 m, z: 0 m", "sensors[radar].at.z", "height"),
        ("y: 0.66 m, z: 0.62 m", "y: -0.66 m, z: 0.62 m", "sensors[radar].at", "mirror image"),
    ],
)  # fmt: skip
def test_it_is_told_and_the_sheet_can_be_used(tmp_path, old, new, place, words):
    text = TERN.read_text(encoding="utf-8")
    assert old in text
    path = tmp_path / "sheet.yaml"
    path.write_text(text.replace(old, new), encoding="utf-8")
    looked = looked_at([path])
    assert looked.mistakes == []
    assert [m for m in looked.doubts if m.where == place and words in str(m)], looked.doubts
    assert read_sheet(path)
    told = CliRunner().invoke(commands, ["lint", str(path)], standalone_mode=False)
    assert told.return_value == 0
    assert told.output.count("Look again: ") == len(looked.doubts)


def test_a_target_that_no_sensor_looks_at_is_told(tmp_path):
    text = (places.demo() / "sheets" / "pipit-front.yaml").read_text(encoding="utf-8")
    before, sensors, after = text.partition("sensors:")
    path = tmp_path / "sheet.yaml"
    path.write_text(before + after[after.index("targets:") :], encoding="utf-8")
    assert sensors
    [doubt] = looked_at([path]).doubts
    assert doubt.where == "targets[plate]"
    assert "a target and no sensor" in str(doubt)


def test_the_sheets_of_the_demo_leave_no_doubt():
    assert looked_at([places.demo()]).doubts == []


@pytest.mark.parametrize(
    ("wrong", "meant"), [("33 bar", "33 psi"), ("2.3 psi", "2.3 bar"), ("230 psi", "230 kPa")]
)
def test_a_pressure_in_another_unit_is_told(tmp_path, wrong, meant):
    path: Path = tmp_path / "sheet.yaml"
    text = TERN.read_text(encoding="utf-8").replace("front: 230 kPa", f"front: {wrong}")
    path.write_text(text, encoding="utf-8")
    assert f"It would fit as {meant}." in str(mistakes_in([path])[0])

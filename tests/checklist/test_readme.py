"""The examples of the README and of a new shop are read as what they say."""

from __future__ import annotations

import re
from math import dist
from pathlib import Path

import pytest

from readiness.checklist.files import read_bay, read_sheet
from readiness.checklist.results import span

HOME = Path(__file__).parents[2]
BLANK = HOME / "readiness" / "records" / "blank"
EXAMPLES = re.findall(r"```yaml\n(.*?)```", (HOME / "README.md").read_text(encoding="utf-8"), re.DOTALL)


def example(key: str) -> str:
    (found,) = [text for text in EXAMPLES if text.startswith(f"{key}:")]
    return str(found)


def test_zones_as_the_readme_writes_them(tmp_path: Path) -> None:
    text = (BLANK / "sheets" / "example.yaml").read_text(encoding="utf-8")
    path = tmp_path / "sheet.yaml"
    path.write_text(text[: text.index("zones:")] + example("zones"), encoding="utf-8", newline="\n")
    (zone,) = read_sheet(path).zones
    assert zone.reason == "metal-free"
    assert zone.sector is not None
    assert (zone.sector.start, zone.sector.end) == (110.0, 170.0)


def test_results_as_the_readme_writes_them(tmp_path: Path) -> None:
    text = (BLANK / "sheets" / "example.yaml").read_text(encoding="utf-8")
    path = tmp_path / "sheet.yaml"
    path.write_text(text[: text.index("zones:")] + example("results"), encoding="utf-8", newline="\n")
    message, azimuth, height, tries = read_sheet(path).results
    assert message.message == "Learning completed"
    assert (span(azimuth), span(tries)) == (("deg", -2.5, 2.5), ("", None, 3.0))
    assert (height.side, span(height)) == ("left", ("mm", -10.0, 25.0))


def test_a_thing_measured_as_the_readme_says(tmp_path: Path) -> None:
    """In the example bay of a new shop; its tapes by plain distances."""
    text = (BLANK / "bays" / "example.yaml").read_text(encoding="utf-8")
    path = tmp_path / "bay.yaml"
    path.write_text(text[: text.index("marks:")] + example("marks"), encoding="utf-8", newline="\n")
    bay = read_bay(path)
    (column,) = bay.obstacles
    assert column.disc is not None
    at = (column.disc.at.x, column.disc.at.y)
    assert dist(at, (0.4, 4.0)) == pytest.approx(6.11)
    assert dist(at, (9.0, 0.0)) == pytest.approx(4.97)
    assert at == pytest.approx((6.5, 4.3), abs=0.01)
    assert column.u < 0.03


def test_the_example_bay_of_a_new_shop(tmp_path: Path) -> None:
    bench, column, reel = read_bay(BLANK / "bays" / "example.yaml").obstacles
    assert (bench.people, column.people, reel.fixed) == (True, False, False)
    assert column.disc is not None
    assert (column.disc.at.x, column.disc.at.y) == pytest.approx((6.5, 4.3), abs=0.01)
    assert reel.point is not None
    assert (reel.point.x, reel.point.y) == pytest.approx((0.7, 4.2))

"""Good files with random damage: read, or mistakes told; never another exception."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from readiness import job
from readiness.checklist import files
from readiness.checklist.shapes import corners_of
from readiness.checks import limit_types
from readiness.measure.plan import (
    Area,
    Capsule,
    DiscAt,
    PointAt,
    SectorAt,
    Shape,
    moved,
    signed_clearance,
)
from tests.checklist.kinds import GOOD, LIMITS, linted

PIECES = ["", " ", "\n", "- ", ": ", "~", "[]", "{}", "-1 m", "0 mm", "1e999", "nan", "é", "\x1b", "\t", "&a ", "*a", "!x ",
          "x: y\n", "9" * 400, "'", '"', "|", "limits: 5\n", "{x: 1 m, y: 1 m}", "common/", "../" * 9, "\\"]  # fmt: skip
NAN = re.compile(r"\bnan\b")
SOURCES = {p.stem: p for p in GOOD.rglob("*.yaml")}


@st.composite
def damaged(draw: st.DrawFn, text: str) -> str:
    """The text with up to four pieces cut out, replaced, or lines doubled or swapped."""
    for _ in range(draw(st.integers(1, 4))):
        start = draw(st.integers(0, len(text)))
        end = min(len(text), start + draw(st.integers(0, 30)))
        text = text[:start] + draw(st.sampled_from(PIECES)) + text[end:]
    lines = text.split("\n")
    if draw(st.booleans()):
        i, j = (draw(st.integers(0, len(lines) - 1)) for _ in range(2))
        lines[i], lines[j] = lines[j], lines[i]
    return "\n".join(lines)


FEW = settings(max_examples=50, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
"""Enough to see at once that something broke; tests/test_fuzz.py damages the same kinds of file by the thousand."""

SHIPPED = Path(__file__).parents[2] / "checklists"
SHIPPED_TEXTS = {
    p.relative_to(SHIPPED).as_posix(): p.read_text(encoding="utf-8") for p in SHIPPED.rglob("*.yaml")
}


@FEW
@given(data=st.data())
def test_damage_to_the_shipped_checklists_is_told_or_harmless(tmp_path: Path, data: st.DataObject) -> None:
    if not (tmp_path / "lists").exists():
        shutil.copytree(SHIPPED, tmp_path / "lists")
    name = data.draw(st.sampled_from(sorted(SHIPPED_TEXTS)))
    path = tmp_path / "lists" / name
    text = data.draw(damaged(SHIPPED_TEXTS[name]))
    path.write_text(text, encoding="utf-8", newline="\n")
    found = files.lint([path], limit_types(), [tmp_path / "lists"])
    path.write_text(SHIPPED_TEXTS[name], encoding="utf-8", newline="\n")
    assert all(m.found and m.expected and m.where and "\n" not in str(m) for m in found)


def test_the_shipped_checklists_have_no_mistakes() -> None:
    assert files.lint([SHIPPED], limit_types()) == []


@pytest.mark.parametrize("name", sorted(SOURCES))
@FEW
@given(data=st.data())
def test_damage_is_told_or_harmless(name: str, tmp_path: Path, data: st.DataObject) -> None:
    if not (tmp_path / "lists").exists():
        shutil.copytree(GOOD, tmp_path / "lists")
    path = tmp_path / "lists" / SOURCES[name].relative_to(GOOD)
    text = data.draw(damaged(SOURCES[name].read_text(encoding="utf-8")))
    path.write_text(text, encoding="utf-8", newline="\n")
    found = linted(path)
    assert all(m.found and m.expected and m.where and "\n" not in str(m) for m in found)
    if name == "sheet" and not found:
        checklist = files.read_checklist(GOOD / "corner.yaml", LIMITS, [GOOD])
        sheet = files.read_sheet(path)
        if sheet.checklist == checklist.checklist:
            files.effective_limits(checklist, sheet, LIMITS, path)


# --- other words and numbers at the places of words and numbers ---------------------------------

WORDS = ["0 m", "-1 m", "1 mm", "0.0001 mm", "4.2 m", "29.99 m", "-29.99 m", "9" * 40 + " m", "nail", "corner 1", "corner 9",
         "door post", "''", "~", "[]", "{}", "left", "right", "0 deg", "360 deg", "-360 deg", "metal-free", "yes",
         "{x: 1 m, y: 1 m}", "[nail, nail]", "[1 m, 2 m]",
         "[{x: 0 m, y: 0 m}, {x: 1 m, y: 0 m}, {x: 1 m, y: 1 m}]"]  # fmt: skip
KEYS = [
    "from",
    "taped",
    "polygon",
    "at",
    "disc",
    "sector",
    "to",
    "radius",
    "marks",
    "x",
    "y",
    "tapes",
    "side",
    "point",
]
WORD = re.compile(r"(?<=: )[^\[\]{},\n]+|(?<=[\[,] )[^\[\]{},:\n]+|\w+(?=:)")


@st.composite
def reworded(draw: st.DrawFn, text: str) -> str:
    """The text with up to three of its keys and values changed for others."""
    for _ in range(draw(st.integers(1, 3))):
        word = draw(st.sampled_from(list(WORD.finditer(text))))
        other = draw(st.sampled_from(KEYS if text[word.end() :].startswith(":") else WORDS))
        text = text[: word.start()] + other + text[word.end() :]
    return text


@pytest.mark.parametrize("name", ["measured", "sheet"])
@FEW
@given(data=st.data())
def test_what_is_read_of_a_reworded_file_can_be_measured_against(
    name: str, tmp_path: Path, data: st.DataObject
) -> None:
    path = tmp_path / f"{name}.yaml"
    text = data.draw(reworded(SOURCES[name].read_text(encoding="utf-8")))
    path.write_text(text, encoding="utf-8", newline="\n")
    found = linted(path)
    assert all(m.found and m.expected and m.where and not NAN.search(str(m)) for m in found)
    if found:
        return
    things = files.read_bay(path).obstacles if name == "measured" else files.read_sheet(path).zones
    for thing in things:
        assert signed_clearance(moved(drawn(thing), 60.0, -70.0, 33.3), PointAt(0.0, 0.0)) > 0


def drawn(thing: job.Obstacle | job.Zone) -> Shape:
    """The shape of measure/plan; it refuses what has no length, no area or no angle."""
    if isinstance(thing, job.Zone) and thing.sector is not None:
        s = thing.sector
        return SectorAt(s.at.x, s.at.y, s.radius, s.start, s.end)
    if thing.disc is not None:
        return DiscAt(thing.disc.at.x, thing.disc.at.y, thing.disc.radius)
    corners = tuple(corners_of(thing))
    if len(corners) > 2:
        return Area(corners)
    wide = thing.corridor.half_width if isinstance(thing, job.Zone) and thing.corridor is not None else 0.0
    return Capsule(*corners[0], *corners[-1], wide)

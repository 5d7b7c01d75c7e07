"""What each room brings with it, seen in a fresh interpreter: arrows run downwards, start-up is quick."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent / "readiness"

HOUSE = [
    "units",
    "measure",
    "job",
    "checklist",
    "checks",
    "sheetmaking",
    "survey",
    "bayfit",
    "verdict",
    "closing",
    "watch",
    "jobstate",
    "spotcheck",
    "records",
    "practice",
    "report",
    "wizard",
    "cli",
]
"""From the cellar to the roof; a room imports only rooms before it."""


def brought(statement: str) -> set[str]:
    """Top-level packages that are loaded after a statement."""
    code = f"{statement}\nimport sys\nprint(*sorted({{m.split('.')[0] for m in sys.modules}}))"
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT.parent
    )
    return set(done.stdout.split())


@pytest.mark.parametrize("room", ["measure", "job", "checks", "checks.finding", "verdict", "units"])
def test_the_core_brings_no_screen(room):
    load = f"import readiness.{room}"
    if room == "checks":
        load += "\nfrom readiness.checks import kinds\nkinds()"
    assert not brought(load) & {"textual", "rich"}


def test_the_way_to_the_first_paint_is_light():
    assert not brought("import readiness.wizard.app, readiness.wizard.start") & {
        "pint",
        "numpy",
        "shapely",
        "yaml",
        "msgspec",
        "click",
    }


def test_judging_needs_no_pint_to_be_imported():
    assert not brought("from readiness.checks import kinds\nkinds()\nimport readiness.verdict") & {
        "pint",
        "numpy",
        "shapely",
    }


def test_numpy_comes_only_where_a_bay_is_searched():
    doors = "import readiness.bayfit, readiness.measure.poses, readiness.report.bays, readiness.cli"
    assert not brought(doors) & {"numpy", "shapely", "textual", "rich"}


def test_what_is_shipped_needs_only_what_it_says_it_needs():
    project = tomllib.loads((ROOT.parent / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    said = {re.split(r"[^A-Za-z0-9_]", d)[0].lower() for d in project["dependencies"]}
    used = set()
    for path in ROOT.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Import):
                used |= {alias.name.split(".")[0] for alias in node.names}
            elif isinstance(node, ast.ImportFrom) and not node.level:
                used.add((node.module or "").split(".")[0])
    others = used - set(sys.stdlib_module_names) - {"readiness"}
    assert {{"yaml": "pyyaml"}.get(name, name) for name in others} == said - {"tzdata"}


def room_of(path: Path) -> str:
    return path.relative_to(ROOT).parts[0].removesuffix(".py")


def imports_of(path: Path) -> set[str]:
    """Rooms that a file imports, also inside functions."""
    rooms = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and node.module and node.module.startswith("readiness"):
            parts = node.module.split(".")
            rooms |= {parts[1]} if len(parts) > 1 else {alias.name for alias in node.names}
        elif isinstance(node, ast.Import):
            rooms |= {a.name.split(".")[1] for a in node.names if a.name.startswith("readiness.")}
    return rooms & set(HOUSE)


@pytest.mark.parametrize("path", sorted(ROOT.rglob("*.py")), ids=lambda p: str(p.relative_to(ROOT)))
def test_arrows_run_downwards(path):
    room = room_of(path)
    if room not in HOUSE:
        return
    for used in imports_of(path) - {room}:
        assert HOUSE.index(used) < HOUSE.index(room), f"{room} must not import {used}"


def test_measure_imports_nothing_of_the_house():
    for path in (ROOT / "measure").rglob("*.py"):
        assert imports_of(path) <= {"measure"}, path

"""`readiness shop`: exit codes, faces, moments, and files that are in the way."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from readiness.cli import commands
from readiness.faults import guarded
from tests.shop import demo_shop
from tests.shops import empty_shop

AT = "2026-11-25T10:00:00+00:00"


@pytest.fixture(scope="module")
def folder(tmp_path_factory) -> Path:
    return demo_shop(tmp_path_factory.mktemp("cli-shop")).path


@pytest.fixture
def told(folder, tmp_path, monkeypatch, capfd):
    """Runs the command on a shop; exit code, what it printed, what it said beside."""
    for name in ("XDG_CACHE_HOME", "LOCALAPPDATA"):
        monkeypatch.setenv(name, str(tmp_path / "cache"))

    def run(*args: object, shop: Path = folder) -> tuple[int, str, str]:
        line = ["--shop", str(shop), "shop", *map(str, args)]
        code = guarded(lambda: commands.main(line, prog_name="readiness", standalone_mode=False))
        return code, *capfd.readouterr()

    return run


def test_the_demo_shop_as_text(told):
    code, out, err = told("--at", AT)
    assert (code, err) == (1, "")
    assert out.startswith("Hobb's Brow Garage, Quillmoor, as of 2026-11-25 ")
    for said in (
        "Old lux meter",
        "never surveyed",
        "QM-GODWIT-12-WC",
        "HB-0409",
        "3 of 13 jobs",
        "at place E1",
    ):
        assert said in out


def test_exit_code_0_where_nothing_is_due(told, tmp_path):
    shop = empty_shop(tmp_path).path
    code, out, _ = told(shop=shop)
    assert code == 0
    assert "Nothing needs anybody now." in out


def test_as_json_for_the_weeks_and_days_asked_for(told):
    code, out, _ = told("--at", AT, "--json", "--weeks", 1, "--within", 60)
    page = json.loads(out)
    assert code == 1
    assert (page["weeks"], page["within_days"]) == (1, 60)
    assert [t["id"] for t in page["instruments"]["due_soon"]] == ["gauge-3"]


def test_as_html_in_a_file_and_over_an_older_one(told, tmp_path):
    path = tmp_path / "shop.html"
    for _ in range(2):
        code, out, err = told("--at", AT, "--html", path)
        assert (code, out) == (1, "")
        assert err == f"Written: {path}\n"
    assert "<h1>" in path.read_text(encoding="utf-8")


def test_html_and_json_at_once(told, tmp_path):
    code, out, _ = told("--at", AT, "--html", tmp_path / "shop.html", "--json")
    assert code == 1
    assert json.loads(out)["jobs"]["all"] == 13
    assert (tmp_path / "shop.html").is_file()


@pytest.mark.parametrize(
    ("name", "sentence"),
    [
        ("mine.html", "is no report of this program"),
        ("gone/shop.html", "There is no folder"),
        ("shop.yaml", "has the name of a file of the shop"),
    ],
)
def test_what_is_no_page_of_ours_is_not_written_over(told, tmp_path, name, sentence):
    (tmp_path / "mine.html").write_text("mine", encoding="utf-8")
    code, out, err = told("--at", AT, "--html", tmp_path / name)
    assert (code, out) == (2, "")
    assert sentence in err
    assert (tmp_path / "mine.html").read_text(encoding="utf-8") == "mine"


def test_a_disk_that_refuses_is_trouble_of_the_machine(told, tmp_path, monkeypatch):
    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", full)
    monkeypatch.setattr("os.dup2", lambda *_: None)  # would close this process's own output
    code, out, err = told("--at", AT, "--html", tmp_path / "shop.html")
    assert (code, out) == (3, "")
    assert "no space left on device" in err
    assert not (tmp_path / "shop.html").exists()


@pytest.mark.parametrize(
    "arguments", [("--at", "someday"), ("--weeks", "0"), ("--within", "-1"), ("--weeks", "x"), ("extra",)]
)
def test_what_is_wrong_is_one_sentence(told, arguments):
    code, out, err = told(*arguments)
    assert (code, out) == (2, "")
    assert "Traceback" not in err
    assert err.strip()


def test_no_shop_there(told, tmp_path):
    code, _, err = told(shop=tmp_path)
    assert code == 2
    assert "There is no shop in" in err


def test_ctrl_c_says_that_nothing_is_lost(told, monkeypatch):
    def stopped(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("readiness.records.index.JobIndex.states", stopped)
    code, out, err = told("--at", AT)
    assert (code, out) == (130, "")
    assert "what was found is kept" in err


def test_from_outside_piped_in_utf_8(folder, tmp_path):
    done = subprocess.run(
        [sys.executable, "-m", "readiness", "--shop", str(folder), "shop", "--at", AT],
        capture_output=True, timeout=60, check=False, cwd=Path(__file__).parent.parent,
        env={**os.environ, "XDG_CACHE_HOME": str(tmp_path), "LC_ALL": "C"},
    )  # fmt: skip
    text = done.stdout.decode("utf-8")
    assert done.returncode == 1
    assert "✗ past due" in text
    assert max(map(len, text.splitlines())) <= 78

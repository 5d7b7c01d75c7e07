"""'readiness sheet' without a screen."""

from __future__ import annotations

import subprocess
import sys

import pytest

from readiness.checklist.files import read_sheet
from readiness.records.opening import mistakes_in
from tests.shop import demo_shop


@pytest.fixture
def shop(tmp_path):
    return demo_shop(tmp_path)


def run(shop, *args: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "readiness", "--shop", str(shop.path), "sheet", *args]
    return subprocess.run(command, input="", capture_output=True, text=True, encoding="utf-8", timeout=60)


def test_without_a_terminal_it_says_so_in_one_sentence(shop):
    done = run(shop, "new")
    assert done.returncode == 2
    assert done.stdout == ""
    assert len(done.stderr.splitlines()) == 1
    assert "terminal" in done.stderr
    assert not (shop.path / "drafts").exists()


def test_a_copy_is_written_without_a_terminal_and_never_over_another(shop):
    done = run(shop, "new", "--from", "tern-rear-corner", "--id", "tern-2")
    path = shop.path / "sheets" / "tern-2.yaml"
    assert (done.returncode, done.stderr) == (0, "")
    assert str(path) in done.stdout
    made = read_sheet(path)
    assert (made.sheet, made.document.checked) == ("tern-2", None)
    assert mistakes_in([shop.path]) == []
    before = path.read_bytes()
    again = run(shop, "new", "--from", "godwit-camera", "--id", "tern-2")
    assert again.returncode == 2
    assert "already" in again.stderr
    assert path.read_bytes() == before


@pytest.mark.parametrize(
    ("args", "said"),
    [
        (("new", "--from", "none-such", "--id", "x"), "not in"),
        (("new", "--from", "tern-rear-corner", "--id", "Tern 2"), "is no id"),
        (("new", "--write"), "--from"),
        (("diff", "tern-rear-corner", "none-such"), "none-such"),
        (("diff", "tern-rear-corner", "none.yaml"), "none.yaml"),
        (("diff", "tern-rear-corner"), "B"),
    ],
)
def test_wrong_input_is_one_sentence(shop, args, said):
    done = run(shop, *args)
    assert done.returncode == 2
    assert done.stdout == ""
    assert said in done.stderr
    assert "Traceback" not in done.stderr


def test_ids_and_files_can_be_compared(shop):
    assert run(shop, "diff", "tern-rear-corner", "tern-rear-corner").returncode == 0
    there = str(shop.path / "sheets" / "godwit-camera.yaml")
    done = run(shop, "diff", "tern-rear-corner", there)
    assert done.returncode == 1
    assert "Fuel: diesel, was petrol" in done.stdout
    assert done.stdout.endswith("Same otherwise.\n")

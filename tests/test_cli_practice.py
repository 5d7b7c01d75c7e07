"""`readiness practise`: scores, agreement, export, what goes together, and with what the screen is opened."""

from __future__ import annotations

import csv
import json
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from readiness import cli_practice
from readiness.cli import commands
from readiness.faults import guarded
from readiness.practice import score
from readiness.practice.kept import file_of, keep
from readiness.records import places
from readiness.report.columns import cells
from readiness.wizard import app
from tests.practice.drawn import call, done, go

ONE, OTHER = "Odo Brack", "Bea Vane"


@pytest.fixture
def shop(tmp_path) -> Path:
    """A shop in which two have practised on the same cars."""
    shutil.copytree(places.demo(), tmp_path / "shop", ignore=shutil.ignore_patterns("pictures", "jobs"))
    for n in range(12):
        bad = n % 2 == 0
        for who, says in ((ONE, "fail" if bad else "pass"), (OTHER, "fail" if bad or n == 1 else "pass")):
            keep(tmp_path / "shop", done(n, [call("tyres", says, bad)], [go(says == "pass", bad)], by=who))
    return tmp_path / "shop"


@pytest.fixture
def run(capsys, shop):
    """A command's exit code and what it wrote to stdout and stderr."""

    def command(*args: object, at: Path = shop) -> tuple[int, str, str]:
        given = ["practise", "--shop", str(at), *map(str, args)]
        code = guarded(lambda: commands.main(given, prog_name="readiness", standalone_mode=False))
        said = capsys.readouterr()
        assert "Traceback" not in said.err
        return int(code), said.out, said.err

    return command


# --- scores --------------------------------------------------------------------------------------


def test_everybody_takes_a_line(run):
    code, out, err = run("--scores")
    assert (code, err) == (0, "")
    lines = out.splitlines()
    assert [line.split()[0] for line in lines[2:4]] == ["Bea", "Odo"]
    assert "5/6" in lines[2]
    assert max(map(cells, lines)) < 80


def test_one_person_in_full(run):
    code, out, _ = run("--scores", "--as", ONE)
    assert code == 0
    # by hand: 6 bad cars with a bad check are 6 (10 + 3), 6 sound ones 6 (2 + 1)
    assert out.startswith("Odo Brack: 12 cars. 96 of 96 points kept (100\u00a0%).")
    assert "60 to 100 %" in out  # 6 of 6: by hand, 6 / (6 + 1.96^2) = 0.6097
    assert max(map(cells, out.splitlines())) < 80


def test_json_and_csv(run):
    told = json.loads(run("--scores", "--json")[1])
    assert [p["person"] for p in told["people"]] == [OTHER, ONE]
    assert told["people"][0]["checks"]["right"]["count"] == 5
    alone = json.loads(run("--scores", "--json", "--as", ONE)[1])
    assert [p["person"] for p in alone["people"]] == [ONE]
    rows = list(csv.DictReader(run("--scores", "--csv")[1].splitlines()))
    assert {r["person"] for r in rows} == {ONE, OTHER}


def test_a_shop_without_practice_says_how_to_begin(run, tmp_path, shop):
    shutil.rmtree(shop / "practice")
    code, out, _ = run("--scores")
    assert code == 0
    assert "'readiness practise' begins" in out
    code, _, err = run("--scores", "--as", ONE)
    assert code == 2
    assert "no results yet" in err


def test_who_is_not_there_is_told_with_those_who_are(run):
    code, out, err = run("--scores", "--as", "odo brack")
    assert (code, out) == (2, "")
    assert "Nobody called 'odo brack'" in err
    assert "Bea Vane, Odo Brack" in err


def test_where_no_shop_is(run, tmp_path):
    code, out, err = run("--scores", at=tmp_path / "nowhere")
    assert (code, out) == (2, "")
    assert "nowhere" in err
    assert not (tmp_path / "nowhere").exists()


def test_a_damaged_line_is_named_and_the_rest_counts(run, shop):
    path = file_of(shop, ONE)
    lines = path.read_bytes().splitlines(keepends=True)
    lines[2] = lines[2].replace(b'"seed":2', b'"seed":9')
    path.write_bytes(b"".join(lines))
    code, out, err = run("--scores", "--as", ONE)
    assert code == 0
    assert out.startswith("Odo Brack: 11 cars.")
    assert err.startswith(f"Note: {path}:3: ")


# --- agreement and export ------------------------------------------------------------------------


def test_agreement(run):
    # by hand: 12 calls, 11 the same; 6 and 6 against 7 and 5, so p_e = (6 * 7 + 6 * 5) / 144 = 0.5, kappa = (11/12 - 1/2) / (1/2)
    code, out, err = run("--agree", ONE, OTHER)
    assert (code, err) == (0, "")
    assert "on 12 cars that both met" in out
    assert "Kappa 0.83 (" in out
    told = json.loads(run("--agree", ONE, OTHER, "--json")[1])
    assert told["checks"]["kappa"] == pytest.approx(5 / 6, abs=1e-6)
    assert told["checks"]["table"] == [[5, 0, 1], [0, 0, 0], [0, 0, 6]]
    assert max(map(cells, out.splitlines())) < 80


def test_agreement_takes_two_who_are_there(run):
    assert run("--agree", ONE, "Nobody")[0] == 2
    assert "two people" in run("--agree", ONE, f" {ONE} ")[2]


def test_export_is_written_over_an_older_one_and_over_nothing_else(run, tmp_path, shop):
    to = tmp_path / "all.csv"
    for _ in range(2):
        code, out, _ = run("--export", to)
        assert (code, out) == (0, f"Written: {to}\n")
    with to.open(encoding="utf-8-sig", newline="") as stream:
        rows = list(csv.DictReader(stream))
    assert len(rows) == 2 * 12 * 2
    assert {r["person"] for r in rows} == {ONE, OTHER}
    other = tmp_path / "letter.csv"
    other.write_text("Dear all", encoding="utf-8")
    code, _, err = run("--export", other)
    assert code == 2
    assert "is no report of this program" in err
    assert other.read_text(encoding="utf-8") == "Dear all"


def test_export_of_one_to_standard_output(run):
    code, out, _ = run("--export", "-", "--as", ONE)
    assert code == 0
    assert {r["person"] for r in csv.DictReader(out.splitlines())} == {ONE}


# --- what goes together --------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("args", "said"),
    [
        (("--scores", "--agree", "a", "b"), "One at a time"),
        (("--scores", "--seed", "7"), "--seed picks a car"),
        (("--agree", "a", "b", "--as", "c"), "--agree names both"),
        (("--scores", "--json", "--csv"), "One format at a time"),
        (("--json",), "--json goes with"),
        (("--csv",), "--csv goes with"),
        (("--agree", "a", "b", "--csv"), "--csv goes with"),
        (("--scores", "--as", " \t"), "a name is needed"),
        (("--as", "x" * 61), "at most 60 characters"),
        (("--level", "0"), "level"),
        (("--level", "6"), "level"),
        (("--seed", "-1"), "seed"),
    ],
)
def test_what_does_not_go_together_is_one_sentence(run, args, said):
    code, out, err = run(*args)
    assert (code, out) == (2, "")
    assert said in err
    assert len(err.splitlines()) == 1


def test_without_a_terminal_no_screen(run):
    code, out, err = run("--seed", 7)
    assert (code, out) == (2, "")
    assert "full-screen terminal" in err
    assert "--scores" in err


def test_the_screen_is_opened_with_what_was_named(run, shop, monkeypatch):
    asked = []
    monkeypatch.setattr(cli_practice, "need_terminal", lambda instead: None)
    monkeypatch.setattr(app, "run_practice", lambda *given: asked.append(given) or 0, raising=False)
    assert run("--seed", 7, "--level", 2, "--sheet", "tern-rear-corner", "--as", " Odo  Brack ")[0] == 0
    assert run()[0] == 0
    assert asked == [(shop, 7, 2, "tern-rear-corner", ONE), (shop, None, None, None, None)]
    monkeypatch.setattr(app, "run_practice", lambda *given: 1, raising=False)
    assert run()[0] == 3


def test_levels_are_those_of_the_score():
    assert cli_practice.TOP == score.TOP


def test_scores_bring_no_screen(shop):
    code = (
        "import sys; from readiness.cli import commands; "
        f"commands.main(['practise', '--shop', {str(shop)!r}, '--scores'], standalone_mode=False); "
        "print(*{'textual', 'numpy', 'statsmodels'} & set(sys.modules))"
    )
    done_ = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done_.stdout.splitlines()[-1] == ""

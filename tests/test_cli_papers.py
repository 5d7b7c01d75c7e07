"""`readiness report` from outside: what it writes and where, exit codes, one sentence for what is wrong."""

from __future__ import annotations

import csv
import json
import re
from datetime import datetime
from hashlib import sha256
from pathlib import Path

import pytest

from readiness.cli import commands
from readiness.faults import guarded
from tests.papers import BEGUN, CLOSED, GIVEN_UP, MIXED, shop_with_papers
from tests.test_cli import run


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return shop_with_papers(tmp_path_factory.mktemp("papers"))


@pytest.fixture
def told(folder, tmp_path, monkeypatch, capfd):
    """Run the command in this process, in an empty folder: exit code, what it said, and on stderr."""
    monkeypatch.chdir(tmp_path)

    def call(*arguments: object) -> tuple[int, str, str]:
        words = ["--shop", str(folder.path), "report", *map(str, arguments)]
        code = guarded(lambda: commands.main(words, prog_name="readiness", standalone_mode=False))
        out = capfd.readouterr()
        return code, out.out, out.err

    return call


def test_from_outside_a_page_is_written_where_one_stands(folder, tmp_path):
    done = run("report", CLOSED, shop=folder.path, cwd=tmp_path)
    assert done.returncode == 0
    path = tmp_path / f"{CLOSED}.html"
    assert done.stdout == f"Written: {path}\n"
    assert done.stderr == ""
    assert path.read_text(encoding="utf-8").startswith("<!DOCTYPE html>\n")
    assert [p.name for p in tmp_path.iterdir()] == [path.name]


def test_paper_proves_the_file(folder, told, tmp_path, capfd):
    """The hash as it is printed, blanks and all, against the file and against one that says something else."""
    page = told(GIVEN_UP, "-o", "-")[1]
    printed = re.search(r'SHA-256 <span class="hash">([0-9a-f ]+)</span>', page)[1]
    path = folder.jobs_folder / f"{GIVEN_UP}.jsonl"
    other = tmp_path / path.name
    other.write_bytes(
        b"".join(path.read_bytes().splitlines(keepends=True)[:-1])
    )  # the end of the job left out

    def verified(file: Path) -> int:
        words = ["verify", str(file), "--no-files", "--head", printed]
        return guarded(lambda: commands.main(words, prog_name="readiness", standalone_mode=False))

    assert verified(path) == 0
    assert verified(other) == 1


@pytest.mark.parametrize("job", [MIXED, GIVEN_UP, BEGUN])
def test_a_report_is_written_whatever_it_says(told, tmp_path, job):
    code, out, _ = told(job)
    assert code == 0
    assert out == f"Written: {tmp_path / f'{job}.html'}\n"


def test_the_same_report_is_written_over(told, tmp_path):
    told(CLOSED)
    (tmp_path / f"{CLOSED}.html").write_text(
        '<meta name="generator" content="readiness 0">', encoding="utf-8"
    )
    assert told(CLOSED)[0] == 0
    assert (tmp_path / f"{CLOSED}.html").stat().st_size > 10_000


def test_to_standard_output(told):
    code, out, err = told(CLOSED, "-o", "-")
    assert (code, err) == (0, "")
    assert out.startswith("<!DOCTYPE html>")
    assert out.endswith("</html>\n")


def test_as_json_with_all_that_belongs_to_the_job(folder, told):
    code, out, _ = told(CLOSED, "--json")
    assert code == 0
    found = json.loads(out)
    lines = (folder.jobs_folder / f"{CLOSED}.jsonl").read_bytes().splitlines()
    assert found["head"] == {"digest": sha256(lines[-1]).hexdigest(), "lines": len(lines)}
    assert found["sides"]["left"]["verdict"] == "go"
    assert found["judged"]["left"]["why"] == "result"
    assert found["closing"]["sides"]["left"]["state"] == "done"
    assert found["attachments"][0]["today"] == "same"
    assert {i["id"] for i in found["instruments"]} >= {"gauge-1", "tape-1"}
    assert found["cautions"][0].startswith("The vehicle maker's procedure")


def test_json_tells_history_events_and_an_end_without_a_go(told):
    found = json.loads(told(GIVEN_UP, "--json")[1])
    assert found["ended_without_go"]
    assert [e["event"] for e in found["events"]] == ["door_opened"]
    assert [f["text"] for f in found["fixes"]] == ["inflated to 240"]
    story = next(s for s in found["history"] if s["question"] == "pressure.lr")
    assert story["in_short"].startswith("measured three times, fix in between")


def test_as_text(told):
    code, out, _ = told(MIXED, "--text")
    assert code == 0
    assert out.startswith(f"Report of job {MIXED}, made by readiness ")
    assert "Left side: GO WITH WAIVERS" in out
    assert out.count("Tyres: ") == 1  # once for both sides
    assert "SHA-256" in out
    assert max(map(len, out.splitlines())) <= 78


def test_a_table_has_a_byte_order_mark_in_a_file_and_none_in_a_pipe(told, tmp_path):
    path = tmp_path / "x.csv"
    assert told(CLOSED, "--csv", "-o", path)[1] == f"Written: {path}\n"
    assert path.read_bytes().startswith(b"\xef\xbb\xbfjob,plate,")
    with path.open(encoding="utf-8-sig", newline="") as stream:
        rows = list(csv.DictReader(stream))
    assert {r["job"] for r in rows} == {CLOSED}
    out = told(CLOSED, "--csv")[1]
    assert out.startswith("job,plate,")
    assert len(out.splitlines()) == len(rows) + 1


def test_of_one_side_and_of_an_earlier_moment(told):
    found = json.loads(told(MIXED, "--side", "Right", "--json", "--at", "2026-11-25T09:50+00:00")[1])
    assert list(found["sides"]) == ["right"]
    assert found["judged"]["right"]["why"] == "asked"
    assert datetime.fromisoformat(found["at"]).minute == 50
    assert found["sides"]["right"]["waived"] == []


def test_a_file_of_answers_has_a_report_that_says_that_it_proves_nothing(folder, told):
    code, out, _ = told(folder.path / "answers" / f"{CLOSED}.yaml", "-o", "-")
    assert code == 0
    assert "which has no history and cannot be proved" in out


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        (("HB-9999",), "There is no job 'HB-9999'"),
        ((CLOSED, "--side", "top"), f"The job {CLOSED} has no side 'top'; it has left."),
        ((CLOSED, "--json", "--csv"), "One format at a time: --json or --csv."),
        ((CLOSED, "--at", "tomorrow"), "--at takes a date and time"),
        ((CLOSED, "-o", "."), "is a folder"),
        ((CLOSED, "-o", "shop.yaml"), "has the name of a file of the shop"),
        ((CLOSED, "-o", "no/such/x.html"), "There is no folder"),
        ((), "Missing argument 'JOB'"),
    ],
)
def test_what_is_wrong_is_one_sentence(told, tmp_path, arguments, sentence):
    code, out, err = told(*arguments)
    assert (code, out) == (2, "")
    assert sentence in err
    assert len(err.splitlines()) <= 2
    assert list(tmp_path.iterdir()) == []


def test_what_is_no_report_is_not_written_over(told, tmp_path):
    (tmp_path / f"{CLOSED}.html").write_text("mine", encoding="utf-8")
    code, _, err = told(CLOSED)
    assert code == 2
    assert "is there already and is no report of this program" in err
    assert (tmp_path / f"{CLOSED}.html").read_text(encoding="utf-8") == "mine"


def test_a_disk_that_refuses_is_trouble_of_the_machine(told, tmp_path, monkeypatch):
    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", full)
    monkeypatch.setattr("os.dup2", lambda *_: None)  # would close this process's own output
    code, out, err = told(CLOSED)
    assert (code, out) == (3, "")
    assert "could not be written: " in err
    assert "no space left on device" in err
    assert list(tmp_path.iterdir()) == []


def test_a_torn_journal_is_reported_with_a_note(folder, told):
    path = folder.jobs_folder / f"{BEGUN}.jsonl"
    data = path.read_bytes()
    path.write_bytes(data + b'{"n":')
    try:
        code, out, err = told(BEGUN, "-o", "-")
    finally:
        path.write_bytes(data)
    assert code == 0
    assert err.startswith("Note: ")
    assert "cut off" in err
    assert "cut off" in out


def test_plain_lines_tell_what_came_after_the_calibration_and_with_what_was_measured(told):
    text = " ".join(told(CLOSED, "--text")[1].split())
    after = text[text.index("After the calibration") : text.index("Take care")]
    for part in (
        "Result: Azimuth correction is -0.85°",
        "Fault scan: ",
        "Road test: ",
        "Route: ",
        "Seen on the road",
    ):
        assert part in after
    assert after.rstrip().endswith("by Odo Brack.")
    assert "What to do first" not in text  # it is over
    assert "Digital tyre gauge (gauge-1), calibration due 2027-03-31" in text


def test_a_journal_under_another_jobs_name_is_not_taken_for_that_one(folder, told):
    path = folder.jobs_folder / "HB-9.jsonl"
    path.write_bytes((folder.jobs_folder / f"{BEGUN}.jsonl").read_bytes())
    try:
        code, out, err = told("HB-9", "-o", "-")
    finally:
        path.unlink()
    assert code == 0
    sentence = f"HB-9.jsonl holds the job {BEGUN}: it was renamed, or is a copy under another name."
    assert err == f"Note: {sentence}\n"
    assert sentence in out


def test_a_file_of_answers_tells_its_fixes(folder, told, tmp_path):
    """Or else it would look as if somebody had measured until it passed."""
    answers = folder.path / "answers" / "HB-0422.yaml"
    code, out, _ = told(answers, "--text")
    assert code == 0
    assert "Left rear, pressure: measured three times, fix in between." in out

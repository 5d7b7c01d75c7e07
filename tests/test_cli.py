"""The commands from outside: exit codes, one sentence for what is wrong, never a traceback."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from readiness import __version__
from readiness.records import places
from readiness.records.demo import copy_demo

MOMENT = datetime.fromisoformat((places.demo() / "moment.txt").read_text(encoding="utf-8").strip())
GO, NO_GO = "HB-0417", "HB-0415"
CODES = {GO: 0, NO_GO: 1}


@pytest.fixture(scope="module")
def shop(tmp_path_factory) -> Path:
    return copy_demo(tmp_path_factory.mktemp("cli") / "shop", MOMENT).path


def run(*args, shop: Path | None = None, **more) -> subprocess.CompletedProcess[str]:
    named = ["--shop", str(shop)] if shop else []
    words = {"stdin": subprocess.DEVNULL, "env": os.environ | {"PYTHONIOENCODING": "utf-8"}, **more}
    command = [sys.executable, "-m", "readiness", *named, *map(str, args)]
    return subprocess.run(command, capture_output=True, text=True, encoding="utf-8", check=False, **words)


def one_sentence(done: subprocess.CompletedProcess[str], code: int = 2) -> str:
    assert done.returncode == code, done.stderr
    assert done.stdout == ""
    assert "Traceback" not in done.stderr
    assert len(done.stderr.splitlines()) == 1, done.stderr
    return done.stderr


@pytest.mark.parametrize(("job", "code"), CODES.items())
def test_check_says_go_or_no_go_by_its_exit_code(shop, job, code):
    answers = shop / "answers" / f"{job}.yaml"
    plain = run("check", answers, "--at", MOMENT.isoformat())
    assert (plain.returncode, plain.stderr) == (code, "")
    assert ("NO-GO" in plain.stdout) == bool(code)
    told = run("check", answers, "--at", MOMENT.isoformat(), "--json")
    assert told.returncode == code
    sides = json.loads(told.stdout)["sides"]
    assert all(s["verdict"] == "go" for s in sides.values()) == (code == 0)


def test_a_job_by_number_by_journal_and_by_answers_is_the_same(shop):
    named = (GO, shop / "jobs" / f"{GO}.jsonl", shop / "answers" / f"{GO}.yaml")
    told = [run("check", n, "--at", MOMENT.isoformat(), "--json", shop=shop) for n in named]
    assert {t.returncode for t in told} == {0}
    assert len({t.stdout for t in told}) == 1


def test_a_go_with_waivers_is_no_plain_go(shop, tmp_path):
    text = (shop / "answers" / f"{GO}.yaml").read_text(encoding="utf-8")
    assert "not_applicable" not in text
    aside = (
        f"not_applicable: [{{check: centre_marks, reason: none on this car, at: '{MOMENT.isoformat()}'}}]\n"
    )
    answers = tmp_path / "aside.yaml"
    answers.write_text(text.rstrip() + "\n" + aside, encoding="utf-8", newline="\n")
    plain = run("check", answers, "--at", MOMENT.isoformat(), "--shop", shop)
    assert (plain.returncode, plain.stderr) == (1, "")
    assert "GO WITH WAIVERS, lapses at" in plain.stdout
    assert "Set aside: Centre marks (" in plain.stdout
    told = run("check", answers, "--at", MOMENT.isoformat(), "--json", "--shop", shop)
    assert told.returncode == 1
    side = json.loads(told.stdout)["sides"]["left"]
    assert side["verdict"] == "go-with-waivers"
    assert [(w["check"], w["reason"]) for w in side["waived"]] == [("centre_marks", "none on this car")]


def test_a_go_lapses(shop):
    answers = shop / "answers" / f"{GO}.yaml"
    told = run("check", answers, "--at", MOMENT.isoformat(), "--json")
    lapses = [datetime.fromisoformat(s["lapses_at"]) for s in json.loads(told.stdout)["sides"].values()]
    assert run("check", answers, "--at", (min(lapses) - timedelta(seconds=1)).isoformat()).returncode == 0
    assert run("check", answers, "--at", min(lapses).isoformat()).returncode == 1


def test_one_side_only(shop):
    answers = shop / "answers" / "HB-0418.yaml"
    whole = json.loads(run("check", answers, "--at", MOMENT.isoformat(), "--json").stdout)
    assert len(whole["sides"]) == 2
    for side, told in whole["sides"].items():
        one = run("check", answers, "--at", MOMENT.isoformat(), "--side", side, "--json")
        assert json.loads(one.stdout)["sides"] == {side: told}
        assert one.returncode == (0 if told["verdict"] == "go" else 1)


@pytest.mark.parametrize(
    ("args", "words"),
    [
        (["check", "nowhere.yaml"], "nowhere.yaml"),
        (["check", "nowhere.jsonl"], "nowhere.jsonl"),
        (["check", "HB-NONE"], "There is no job 'HB-NONE'"),
        (["check", "../../etc"], "job's number"),
        (["check", GO, "--at", "teatime"], "not 'teatime'"),
        (["check", GO, "--at", "2026-11-25"], "not '2026-11-25'"),
        (["check", GO, "--at", "25:00"], "not '25:00'"),
        (["check", "."], "is a folder"),
        (["check", ""], "is a folder"),
        (["check", places.demo()], "is a folder"),
        (["check", GO, "--side", "middle"], "no side 'middle'; it has left"),
        (["check"], "Missing argument"),
        (["check", GO, "--loud"], "--loud"),
        (["chek"], "chek"),
        (["schema", "car"], "checklist"),
        (["lint"], "PATH"),
    ],
)
def test_wrong_input_is_one_sentence_and_exit_code_2(shop, args, words):
    assert words in one_sentence(run(*args, shop=shop))


def test_a_missing_shop_is_one_sentence(tmp_path):
    assert "readiness demo" in one_sentence(run("check", "HB-1", shop=tmp_path))


def test_text_from_a_file_cannot_steer_the_terminal(shop, tmp_path):
    done = run("check", "HB-\x1b[2J\x1b]0;x\x07", shop=shop)
    assert "\x1b" not in one_sentence(done)
    assert "\x07" not in done.stderr


def test_a_tampered_journal_is_refused(shop, tmp_path):
    data = (shop / "jobs" / f"{GO}.jsonl").read_bytes()
    bad = shop / "jobs" / "HB-BAD.jsonl"
    bad.write_bytes(data.replace(b"kPa", b"bar", 1))
    assert "line" in one_sentence(run("check", bad))
    bad.unlink()


def test_a_torn_journal_is_judged_with_a_note(shop):
    data = (shop / "jobs" / f"{GO}.jsonl").read_bytes()
    torn = shop / "jobs" / "HB-TORN.jsonl"
    torn.write_bytes(data + b'{"n":')
    done = run("check", torn, "--at", MOMENT.isoformat())
    assert done.returncode == 0
    assert "cut off" in done.stderr
    assert torn.read_bytes() == data + b'{"n":'
    torn.unlink()


@pytest.mark.skipif(not Path("/proc/self/mem").exists(), reason="needs a file that cannot be read by anybody")
def test_a_file_that_cannot_be_read_is_machine_trouble(shop):
    assert "could not be read" in one_sentence(run("check", "/proc/self/mem", shop=shop), 3)


def test_a_surprise_is_one_line_and_a_log(tmp_path):
    """A fault of the program itself: told in a line, with everything needed to mend it in a file."""
    code = "import sys; from readiness.faults import guarded; sys.exit(guarded(lambda: {}['tyre']))"
    homes = {"XDG_STATE_HOME": str(tmp_path), "LOCALAPPDATA": str(tmp_path), "HOME": str(tmp_path)}
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, env=os.environ | homes, check=False
    )
    told = one_sentence(done, 3)
    assert "KeyError" in told
    logs = list(tmp_path.rglob("fault-*.log"))
    assert len(logs) == 1
    assert str(logs[0]) in told
    log = logs[0].read_text(encoding="utf-8")
    for word in (__version__, "Python", "textual", "Traceback", "KeyError: 'tyre'"):
        assert word in log


def test_a_reader_that_goes_away_is_no_no_go(shop):
    command = [sys.executable, "-m", "readiness", "check", str(shop / "answers" / f"{GO}.yaml")]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        process.stdout.close()
        told = process.stderr.read()
    assert process.returncode == 3
    assert b"Traceback" not in told


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a device that is always full")
def test_an_answer_that_cannot_be_written_is_machine_trouble(shop):
    command = [sys.executable, "-m", "readiness", "check", str(shop / "answers" / f"{GO}.yaml")]
    with Path("/dev/full").open("w", encoding="utf-8") as full:
        done = subprocess.run(command, stdout=full, stderr=subprocess.PIPE, text=True, check=False)
    assert done.returncode == 3
    assert done.stderr == "The answer could not be written: No space left on device.\n"


@pytest.mark.parametrize("args", [[], ["demo"]])
def test_the_wizard_without_a_terminal_names_the_command(shop, args):
    assert "readiness check" in one_sentence(run(*args, shop=shop))


@pytest.mark.skipif(os.name == "nt", reason="Windows has no terminal names")
@pytest.mark.parametrize("name", ["dumb", ""])
def test_a_dumb_terminal_is_told_apart(shop, name):
    import pty

    ours, theirs = pty.openpty()
    command = [sys.executable, "-m", "readiness", "--shop", str(shop)]
    done = subprocess.run(
        command, stdin=theirs, stdout=theirs, stderr=theirs, check=False, env=os.environ | {"TERM": name}
    )
    told = os.read(ours, 10_000)
    os.close(ours)
    os.close(theirs)
    assert done.returncode == 2
    assert b"readiness check" in told
    assert b"\x1b" not in told


def test_lint_finds_nothing_in_what_is_shipped():
    done = run("lint", places.checklists(), places.demo())
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")


def test_lint_gives_a_line_for_each_mistake(tmp_path):
    (tmp_path / "bay.yaml").write_text("bay: b\ntitle: B\nouline: []\n", encoding="utf-8", newline="\n")
    done = run("lint", tmp_path / "bay.yaml", tmp_path / "none.yaml")
    assert done.returncode == 2
    assert done.stderr == ""
    assert f"{tmp_path / 'bay.yaml'}:3:1: " in done.stdout
    assert str(tmp_path / "none.yaml") in done.stdout


def test_lint_takes_journals(shop, tmp_path):
    journal = shop / "jobs" / f"{GO}.jsonl"
    done = run("lint", journal)
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")
    bad = tmp_path / "HB-BAD.jsonl"
    bad.write_bytes(journal.read_bytes().replace(b"kPa", b"bar", 1))
    torn = tmp_path / "HB-TORN.jsonl"
    torn.write_bytes(journal.read_bytes() + b'{"n":')
    done = run("lint", bad, torn, shop=shop)
    assert (done.returncode, done.stderr) == (2, "")
    assert [line.split(": ")[0] for line in done.stdout.splitlines()] == [str(bad), str(torn)]
    assert "does not match its own sum" in done.stdout


@pytest.mark.parametrize("at", ["now", "00:00", "23:59:30"])
def test_a_time_alone_is_todays(shop, at):
    before = datetime.now().astimezone()
    told = json.loads(run("check", GO, "--at", at, "--json", shop=shop).stdout)
    judged, after = datetime.fromisoformat(told["at"]), datetime.now().astimezone()
    assert judged.date() in (before.date(), after.date())
    assert before <= judged <= after if at == "now" else judged.time().isoformat() == f"{at}:00"[:8]


def test_the_shop_may_be_named_after_the_command(shop):
    args = ("check", GO, "--at", MOMENT.isoformat(), "--json")
    assert run(*args, "--shop", shop).stdout == run(*args, shop=shop).stdout != ""
    assert run("lint", "--shop", shop, shop / "answers" / f"{GO}.yaml").returncode == 0


def test_a_side_may_be_written_large(shop):
    done = run("check", GO, "--at", f"{MOMENT:%Y-%m-%d %H:%M}{MOMENT:%z}", "--side", "LEFT", shop=shop)
    assert (done.returncode, done.stderr) == (0, "")


def test_a_shop_of_ones_own_begins_with_files_that_have_no_mistakes(tmp_path):
    to = tmp_path / "my shop"
    done = run("new-shop", to)
    assert (done.returncode, done.stderr) == (0, "")
    assert {p.name for p in to.iterdir()} == {"shop.yaml", "instruments.yaml", "bays", "sheets", "jobs"}
    assert f'readiness lint "{to}"' in done.stdout
    lint = run("lint", to)
    assert (lint.returncode, lint.stdout) == (0, "")
    text = (to / "shop.yaml").read_text(encoding="utf-8")
    (to / "shop.yaml").write_text(text.replace("My shop", "Ours"), encoding="utf-8")
    assert "there already" in one_sentence(run("new-shop", to))
    assert "Ours" in (to / "shop.yaml").read_text(encoding="utf-8")


def test_without_a_folder_the_new_shop_is_where_the_program_looks(tmp_path):
    if os.name == "nt":
        pytest.skip("the folder of Windows cannot be moved for a test")
    homes = os.environ | {"HOME": str(tmp_path), "XDG_DATA_HOME": str(tmp_path)}
    assert "readiness new-shop." in one_sentence(run("check", "HB-1", env=homes))
    assert "open it:     readiness\n" in run("new-shop", env=homes).stdout
    assert "There is no job 'HB-1'" in one_sentence(run("check", "HB-1", env=homes))


@pytest.mark.parametrize(
    "kind", ["checklist", "part", "shop", "instruments", "bay", "sheet", "survey", "answers"]
)
def test_schema_prints_a_schema(kind):
    import jsonschema

    done = run("schema", kind)
    assert done.returncode == 0
    jsonschema.Draft202012Validator.check_schema(json.loads(done.stdout))


def test_version_and_help():
    assert run("--version").stdout == f"readiness {__version__}\n"
    for args in ([], ["check"], ["demo"], ["layout"], ["lint"], ["new-shop"], ["schema"], ["survey"]):
        done = run(*args, "--help")
        assert (done.returncode, done.stderr) == (0, "")
        assert done.stdout.startswith("Usage: readiness")
        assert all(len(line) <= 80 for line in done.stdout.splitlines())


def test_output_survives_a_narrow_encoding(shop):
    done = run("check", shop / "answers" / f"{GO}.yaml", "--at", MOMENT.isoformat(),
               env=os.environ | {"PYTHONIOENCODING": "ascii", "LC_ALL": "C"})  # fmt: skip
    assert (done.returncode, done.stderr) == (0, "")
    assert "°" in done.stdout


def test_a_folder_without_permission_is_one_sentence(shop):
    """What the system refuses is told with its path; nobody needs a log for it."""
    code = (
        "import sys; from readiness.faults import guarded\n"
        "def refused(): raise PermissionError(13, 'Permission denied', '/shop/jobs')\n"
        "sys.exit(guarded(refused))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert one_sentence(done, 3) == "/shop/jobs cannot be used: permission denied.\n"

"""`readiness jobs`: every filter by itself and with others, what it prints for people and programs."""

from __future__ import annotations

import itertools
import json
import os
import random
import subprocess
import sys
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from click.shell_completion import ShellComplete

from readiness.cli import commands
from readiness.faults import guarded
from readiness.job import Ended, Event, Waiver
from readiness.records import index
from readiness.records.demo import copy_demo
from readiness.records.index import JobIndex
from readiness.records.journal import Journal
from readiness.report.columns import cells

STATES = {
    "--go": "go",
    "--waivers": "go-with-waivers",
    "--lapsed": "lapsed",
    "--no-go": "no-go",
    "--unfinished": "unfinished",
}


@pytest.fixture(scope="module")
def shop(tmp_path_factory) -> Path:
    """The demo shop as it is now, with what its story lacks: a waiver, ended jobs, a hostile plate, a broken journal."""
    now = datetime.now().astimezone()
    folder = copy_demo(tmp_path_factory.mktemp("jobs") / "shop", now)
    for path, name in ((folder.jobs_folder / "HB-0417.jsonl", f"HB-{n}") for n in (1, 2, 3)):
        path.with_stem(name).write_bytes(path.read_bytes())
    with folder.journal("HB-1") as journal:
        journal.waive(Waiver(check="light", reason="dark", at=now, by="Bea Vane"))
    for name in ("HB-2", "HB-0409"):
        with folder.journal(name) as journal:
            journal.end(Ended(at=now, by="Bea Vane", why="sold"))
    with Journal.create(
        folder.jobs_folder, job="HB-4", sheet="pipit-front", bay="bay-3", sides=("single",), by="x",
        at=now - timedelta(days=400), plate="[b]\x1b[31m\u202e AB",
    ) as journal:  # fmt: skip
        journal.happen(Event(event="got_in", at=now - timedelta(days=380), by="\x9b31m Vane"))
    (folder.jobs_folder / "HB-9.jsonl").write_bytes(b"nonsense\n")
    return folder.path


@pytest.fixture(autouse=True)
def cache(monkeypatch, shop) -> None:
    """All tests share one, also of a few jobs: so most of them list what was judged before."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(shop.parent))
    monkeypatch.setenv("LOCALAPPDATA", str(shop.parent))
    monkeypatch.setattr(index, "WORTH_IT", 0)


@pytest.fixture
def jobs(shop, capsys):
    """Runs the command; exit code, what it printed, what it said beside."""

    def run(*args: object, folder: Path = shop) -> tuple[int, str, str]:
        line = ["--shop", str(folder), "jobs", *map(str, args)]
        code = guarded(lambda: commands.main(line, prog_name="readiness", standalone_mode=False))
        return code, *capsys.readouterr()

    return run


def ids(told: tuple[int, str, str]) -> list[str]:
    code, out, _ = told
    assert code == 0
    return [job["job"] for job in json.loads(out)]


# --- what is listed -------------------------------------------------------------------------------


def test_all_jobs_the_latest_touched_first_and_what_cannot_be_read_last(jobs):
    code, out, err = jobs()
    head, *lines = out.splitlines()
    assert code == 0
    assert head.split() == ["job", "plate", "sheet", "bay", "sides", "by", "opened", "last", "state"]
    listed = [line.split()[0] for line in lines]
    assert {"HB-1", "HB-2", "HB-0409"} <= set(listed[:5])
    assert listed[-2:] == ["HB-4", "HB-9"]
    assert "cannot be read: line 1" in lines[-1]
    assert "…" not in out
    assert err.splitlines() == ["Note: HB-9.jsonl cannot be read; 'readiness verify' says what is wrong."]


def test_the_words_say_how_each_stands(jobs):
    _, out, _ = jobs()
    said = {line.split()[0]: line for line in out.splitlines()}
    assert "go with waivers until " in said["HB-1"]
    assert said["HB-2"].endswith("ended, no result")
    assert said["HB-0409"].endswith("ended, no result")  # as on paper: it was ready when it was left
    assert said["HB-0420"].endswith(" of 18 checks to do")
    assert said["HB-0415"].endswith("no-go, 1 to put right")
    assert "left go until " in said["HB-0418"]
    assert said["HB-0418"].endswith("; right no-go, 1 to put right")


def test_text_from_people_is_text(jobs):
    _, out, err = jobs("HB-4")
    assert out.isprintable() or set(filter(lambda c: not c.isprintable(), out)) == {"\n"}
    assert "[b]" in out
    assert "\x9b" not in jobs("--by", "nobody\x1b[2J")[2] + err


def test_programs_get_json(jobs, shop):
    _, out, _ = jobs("--json")
    told = {job["job"]: job for job in json.loads(out)}
    assert told["HB-9"] == {
        "job": "HB-9",
        "path": str(shop / "jobs" / "HB-9.jsonl"),
        "problem": "line 1: " + told["HB-9"]["problem"][8:],
    }
    both = told["HB-0418"]
    assert (both["state"], list(both["sides"]), both["ended"]) == ("no-go", ["left", "right"], None)
    assert datetime.fromisoformat(both["sides"]["left"]["lapses_at"]) > datetime.now().astimezone()
    assert told["HB-2"]["ended"]["why"] == "sold"
    assert told["HB-2"]["people"] == ["Odo Brack", "Bea Vane"]
    assert told["HB-2"]["sides"]["left"]["in_range"] is None


# --- filters --------------------------------------------------------------------------------------


def fits(job: dict, args: tuple[str, ...]) -> bool:
    """What each filter asks, of the JSON object: worked out apart from the program."""
    given = dict(itertools.zip_longest(args[::2], args[1::2]))
    states = {STATES[a] for a in given if a in STATES}
    days = [datetime.fromisoformat(job[k]).date().isoformat() for k in ("opened", "last")]
    return all((
        not states or states & {side["state"] for side in job["sides"].values()},
        "--open" not in given or job["ended"] is None,
        "--ended" not in given or job["ended"] is not None,
        given.get("--bay", job["bay"]) == job["bay"],
        given.get("--sheet", job["sheet"]) == job["sheet"],
        any(given.get("--by", "").lower() in name.lower() for name in job["people"]),
        given.get("--since", "0") <= days[1],
        given.get("--until", "9") >= days[0],
        given.get("WORD", "").lower() in f"{job['job']} {job['plate']}".lower(),
    ))  # fmt: skip


def test_filters_narrow_the_list_together(jobs):
    everything = [job for job in json.loads(jobs("--json")[1]) if "problem" not in job]
    today = datetime.now().astimezone().date()
    values = {
        **{flag: [""] for flag in (*STATES, "--open", "--ended")},
        "--bay": ["bay-2", "bay-1"], "--sheet": ["tern-rear-corner", "pipit-front"], "--by": ["vane", "Odo Brack"],
        "--since": [str(today), str(today - timedelta(days=390))], "--until": [str(today - timedelta(days=390)), str(today)],
        "WORD": ["hb-04", "QM"],
    }  # fmt: skip
    chance, sizes = random.Random(1), set()
    for _ in range(60):
        some = chance.sample(sorted(values), chance.choice([1, 1, 2, 3]))
        if {"--open", "--ended"} <= set(some):
            continue
        args = tuple(part for name in some for part in (name, chance.choice(values[name])))
        found = ids(jobs("--json", *(part for part in args if part not in ("", "WORD"))))
        assert found == [job["job"] for job in everything if fits(job, args)], args
        sizes.add(len(found))
    assert len(sizes) > 4


def test_a_plate_is_found_however_it_is_spaced(jobs):
    assert ids(jobs("--json", "qm902b")) == ids(jobs("--json", "QM-902", "b")) == ["HB-0418"]
    assert ids(jobs("--json", "hb9")) == ["HB-9"]


@pytest.mark.parametrize(
    ("args", "words"),
    [
        (
            ["--bay", "bay2"],
            "No job has the bay 'bay2' (there: bay-1, bay-2, bay-3, bay-4). Did you mean 'bay-2'?",
        ),
        (["--sheet", "pipit-frnt"], "Did you mean 'pipit-front'?"),
        (["--by", "brak"], "Did you mean 'Brack'?"),
        (
            ["--since", "teatime"],
            "--since takes a date such as 2026-03-31, today or yesterday, not 'teatime'.",
        ),
        (["--until", "31.3.2026"], "--until takes a date"),
        (["--open", "--ended"], "give one of them"),
        (["--limit", "0"], "--limit"),
    ],
)
def test_what_is_not_there_is_one_sentence(jobs, args, words):
    code, out, err = jobs(*args)
    assert (code, out, len(err.splitlines())) == (2, "", 1)
    assert words in err


def test_a_bay_without_a_job_is_no_mistake(jobs, shop):
    empty = shop / "bays" / "bay-7.yaml"
    empty.write_bytes((shop / "bays" / "bay-1.yaml").read_bytes().replace(b"bay: bay-1", b"bay: bay-7", 1))
    code, out, err = jobs("--bay", "bay-7")
    empty.unlink()
    assert (code, out) == (0, "")
    assert "No job is of that kind." in err


def test_days_by_name(jobs):
    today = ids(jobs("--json", "--since", "today"))
    assert "HB-2" in today
    assert "HB-4" not in ids(jobs("--json", "--since", "yesterday"))


def test_no_shop_and_no_jobs(jobs, shop, tmp_path):
    code, _, err = jobs(folder=tmp_path)
    assert code == 2
    assert "There is no shop" in err
    (tmp_path / "shop.yaml").write_bytes((shop / "shop.yaml").read_bytes())
    code, out, err = jobs(folder=tmp_path)
    assert (code, out) == (0, "")
    assert err == f"There is no job in {tmp_path / 'jobs'} yet.\n"
    assert jobs("--json", folder=tmp_path)[1] == "[]\n"


# --- how much, how wide ---------------------------------------------------------------------------


def test_a_limit_says_what_it_leaves_out(jobs):
    code, out, err = jobs("--limit", 3, "--no-go")
    assert (code, len(out.splitlines())) == (0, 4)
    assert "more jobs are not listed; --limit " in err
    whole = int(err.split("--limit ")[1].split()[0])
    assert len(ids(jobs("--json", "--no-go"))) == whole


@pytest.mark.skipif(os.name == "nt", reason="needs a pseudo-terminal")
def test_on_a_terminal_it_fits_and_is_limited(shop, tmp_path):
    import fcntl
    import pty
    import struct
    import termios

    folder = copy_demo(tmp_path / "shop", datetime.now().astimezone())
    for n in range(60):
        copy = folder.jobs_folder / f"X-{n}.jsonl"
        copy.write_bytes((folder.jobs_folder / "HB-0420.jsonl").read_bytes())
    ours, theirs = pty.openpty()
    fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 30, 100, 0, 0))
    done = subprocess.run(
        [sys.executable, "-m", "readiness", "--shop", str(folder.path), "jobs"], stdin=subprocess.DEVNULL, stdout=theirs,
        stderr=subprocess.PIPE, text=True, check=False, env=os.environ | {"COLUMNS": ""},
    )  # fmt: skip
    os.close(theirs)
    shown = b""
    while True:
        try:
            shown += (part := os.read(ours, 65536))
        except OSError:
            break
        if not part:
            break
    os.close(ours)
    lines = shown.decode().splitlines()
    assert done.returncode == 0
    assert len(lines) == 51
    assert max(map(cells, lines)) <= 100
    whole = len(folder.jobs())
    assert done.stderr == f"{whole - 50} more jobs are not listed; --limit {whole} lists all.\n"


def test_whoever_interrupts_is_told_that_nothing_is_lost(jobs, monkeypatch):
    def interrupted(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(JobIndex, "states", interrupted)
    code, out, err = jobs()
    assert (code, out) == (130, "")
    assert "what was found is kept" in err


def test_the_shell_completes_bays_and_sheets(shop, tmp_path):
    def complete(*args: str) -> list[str]:
        *before, last = args
        found = ShellComplete(commands, {}, "readiness", "_X").get_completions(before, last)
        return [item.value for item in found]

    assert complete("--shop", str(shop), "jobs", "--bay", "bay-") == ["bay-1", "bay-2", "bay-3", "bay-4"]
    assert complete("jobs", "--shop", str(shop), "--sheet", "p") == ["pipit-front"]
    assert complete("--shop", str(tmp_path), "jobs", "--bay", "") == []

"""A job at a glance says what its whole journal says, whatever lies in the folder."""

from __future__ import annotations

import os
import random
from datetime import timedelta
from pathlib import Path

import pytest
from msgspec.structs import replace

from readiness.job import Ended, Event, Waiver
from readiness.records import lines
from readiness.records.journal import Journal
from readiness.records.listing import JobLine, job_line, newest_first
from tests.records.invented import AT

NAMES = ("Odo Brack", 'The "late" one', "back\\slash", 'by":"x', "Ünal Ç.", 'kind","kind":"ended')


def begun(folder: Path, name: str = "HB-1", by: str = "A. Test") -> Journal:
    return Journal.create(
        folder, job=name, sheet="tern-rear-corner", bay="bay-1", sides=("left",), by=by, at=AT, plate="ZZ 900"
    )


def whole(path: Path) -> JobLine:
    """The same from the whole journal, entry by entry."""
    with Journal.open(path, write=False) as journal:
        job = journal.job
        people = dict.fromkeys(str(e.body["by"]) for e in journal.entries if e.body.get("by"))
        return JobLine(
            path.stem, path, "", job.sheet, job.bay, job.sides, job.plate, job.opened, journal.last_at, job.by,
            tuple(people), job.ended is not None,
            tuple(dict.fromkeys(s.bay for s in job.earlier if s.bay != job.bay)),
        )  # fmt: skip


def one_more(journal: Journal, chance: random.Random) -> None:
    by, at = chance.choice(NAMES), journal.last_at + timedelta(minutes=chance.randrange(3))
    latest = journal.latest
    if journal.job.ended is not None:  # nothing else can be kept then
        journal.withdraw(journal.job.ended.number, '"kind":"ended"', by=by, at=at)
        return
    match chance.randrange(6):
        case 0:
            journal.happen(Event(event="got_in", at=at, by=by))
        case 1:
            journal.waive(Waiver(check="light", reason='"kind":"ended"', at=at, by=by))
        case 2:
            journal.change(by=by, at=at, bay=chance.choice(["bay-1", 'b"kind":"changed"']))
        case 3:
            journal.set_units("us", by=by, at=at)
        case 4:
            journal.end(Ended(at=at, by=by, why='"kind":"withdrawn","entry":1'))
        case _ if latest is not None:
            journal.withdraw(latest[0], '"kind":"ended"', by=by, at=at)


@pytest.mark.parametrize("seed", range(4))
def test_a_glance_says_what_the_whole_journal_says(tmp_path, seed):
    chance = random.Random(seed)
    with begun(tmp_path, by=chance.choice(NAMES)) as journal:
        for _ in range(15):
            one_more(journal, chance)
            assert job_line(journal.path) == whole(journal.path)


def test_an_end_that_was_taken_back_is_none(tmp_path):
    with begun(tmp_path) as journal:
        first = journal.end(Ended(at=AT, by="x"))
        assert job_line(journal.path).ended
        journal.withdraw(first.number, "too early", "x", AT)
        assert not job_line(journal.path).ended
        journal.end(Ended(at=AT, by="x"))
        assert job_line(journal.path).ended


@pytest.mark.parametrize("tail", [b'{"n":2,"at":"20', b'{"n":2,"at":"20\n', b"\n", b'{"by":"nobody"'])
def test_a_torn_last_line_does_not_count(tmp_path, tail):
    begun(tmp_path).close()
    path = tmp_path / "HB-1.jsonl"
    path.write_bytes(path.read_bytes() + tail)
    assert job_line(path) == JobLine(
        "HB-1", path, "", "tern-rear-corner", "bay-1", ("left",), "ZZ 900", AT, AT, "A. Test", ("A. Test",)
    )


def test_a_last_line_without_its_end_counts(tmp_path):
    with begun(tmp_path) as journal:
        journal.end(Ended(at=AT + timedelta(minutes=1), by="x"))
    path = tmp_path / "HB-1.jsonl"
    path.write_bytes(path.read_bytes().rstrip(b"\n"))
    assert job_line(path) == whole(path)
    assert job_line(path).ended


@pytest.mark.parametrize(
    ("data", "why"),
    [
        (b"", "it is no JSON"),
        (b"nonsense\n", "it is no JSON"),
        (b"{}\n", "format"),
        (b"\xff\xfe\x00\n", "it is no JSON"),
    ],
)
def test_what_cannot_be_read_says_why(tmp_path, data, why):
    path = tmp_path / "HB-1.jsonl"
    path.write_bytes(data)
    assert why in job_line(path).problem
    assert job_line(path).id == "HB-1"


@pytest.mark.parametrize("at", [AT.replace(year=1), AT.replace(year=9999), AT.replace(tzinfo=None)])
def test_a_time_that_no_clock_can_show_is_a_fault(tmp_path, at):
    """Such a line can only be made by hand, sum and all; a list must show the others all the same."""
    with begun(tmp_path) as journal:
        line = lines.encode(replace(journal.entries[0], at=at), "")
    path = tmp_path / "HB-1.jsonl"
    path.write_bytes(line)
    assert "its time" in job_line(path).problem


def test_what_is_no_file_is_not_waited_for(tmp_path):
    (tmp_path / "HB-1.jsonl").mkdir()
    assert "no file" in job_line(tmp_path / "HB-1.jsonl").problem
    assert "no file" in job_line(tmp_path / "gone.jsonl").problem


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="needs a pipe with a name")
def test_a_pipe_is_not_waited_for(tmp_path):
    os.mkfifo(tmp_path / "HB-1.jsonl")
    assert "no file" in job_line(tmp_path / "HB-1.jsonl").problem


def test_a_huge_file_is_not_read(tmp_path):
    path = tmp_path / "HB-1.jsonl"
    with path.open("wb") as stream:
        stream.truncate(60_000_000)
    assert "larger than" in job_line(path).problem


def test_the_latest_touched_comes_first_and_what_cannot_be_read_last():
    here = Path("x")
    later = AT + timedelta(minutes=1)
    found = newest_first(
        [JobLine("c", here, "broken"), JobLine("b", here, last=AT), JobLine("d", here, last=later), JobLine("a", here, last=AT)]
    )  # fmt: skip
    assert [j.id for j in found] == ["d", "a", "b", "c"]

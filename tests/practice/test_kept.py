"""What people practised, on the disk: names, torn and damaged lines, two programs at once, kills, disks that fail."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from contextlib import suppress
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from readiness.practice import kept
from readiness.practice.kept import everybody, file_of, keep, plain_name
from readiness.records.chained import HeldElsewhere, JournalError
from readiness.records.holder import Hold
from tests.failing_disk import HOW, Died, Disk, on
from tests.killing import ROOT, Killer, show
from tests.practice.drawn import AT, call, done, go

BY = "Odo Brack"
RESULTS = [
    done(n, [call("tyres", "fail", n % 2 == 0), call("light", "too_close", True, "left")], [go(False, True)])
    for n in range(4)
]
fixtures = settings(
    max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None
)


@pytest.fixture
def shop(tmp_path) -> Path:
    for result in RESULTS:
        assert keep(tmp_path, result) == ()
    return tmp_path


def seeds(shop: Path, by: str = BY) -> list[int]:
    return [r.seed for r in everybody(shop).people.get(by, ())]


def test_what_was_kept_is_read_again_to_the_last_word(shop):
    found = everybody(shop)
    assert found.people == {BY: tuple(RESULTS)}
    assert found.notes == ()


def test_a_line_an_exercise_that_an_editor_reads_and_nothing_among_the_jobs(shop):
    text = file_of(shop, BY).read_text(encoding="utf-8")
    assert [json.loads(line)["seed"] for line in text.splitlines()] == [0, 1, 2, 3]
    assert f'"by":"{BY}"' in text
    assert {p.name for p in shop.iterdir()} == {"practice"}


def test_a_shop_in_which_nobody_practised(tmp_path):
    assert everybody(tmp_path) == ({}, ())


# --- names ---------------------------------------------------------------------------------------

ODD = [
    "Jörg Müßig", "jörg müßig", "JÖRG MÜSSIG", "a/b", "a\\b", "..", "../../etc/passwd", "CON", "con", "nul.txt", "aux", "LPT1",
    "ann", "Ann", "ANN", "ann.", "ann ", "Ann\u0301", ".hidden", "-rf", "x" * 60, "李雷", "🙂", "a:b*c?d|e", "[red]Ann[/]", "~", "%PATH%", "ann-0",
    "ı", "I", "i", "İ", "straße", "strasse",
]  # fmt: skip


def test_odd_names_get_safe_distinct_files_and_stand_inside(tmp_path):
    names = {plain_name(name) for name in ODD}
    for seed, name in enumerate(ODD):
        keep(tmp_path, done(seed, by=name))
    files = [p.name for p in (tmp_path / "practice").glob("*.jsonl")]
    assert len({f.casefold() for f in files}) == len(files) == len(names)
    assert set(everybody(tmp_path).people) == names
    for file in files:
        # safe on every system: no device, no separator, no dot at an end, short, plain letters
        assert re.fullmatch(r"[a-z0-9][a-z0-9-]{0,39}-[0-9a-f]{10}\.jsonl", file), file


@given(st.text(), st.text())
def test_any_two_names_are_kept_apart_unless_they_are_written_alike(one, other):
    try:
        first, second = plain_name(one), plain_name(other)
    except ValueError:
        return
    same = file_of(Path(), one).name.casefold() == file_of(Path(), other).name.casefold()
    assert same is (first == second)


def test_one_name_written_two_ways_is_one_person(tmp_path):
    keep(tmp_path, done(1, by=" Jo\u0308rg\t Stur "))
    keep(tmp_path, done(2, by="Jörg Stur"))
    assert seeds(tmp_path, "Jörg Stur") == [1, 2]


@pytest.mark.parametrize("name", ["", "  ", "\x1b\x07", "x" * 61])
def test_no_name_is_refused(tmp_path, name):
    with pytest.raises(ValueError, match="name"):
        keep(tmp_path, done(1, by=name))


# --- what was not written whole, or changed ------------------------------------------------------


def test_a_line_torn_anywhere_is_set_aside_and_told_and_the_others_count(shop):
    path = file_of(shop, BY)
    whole = path.read_bytes()
    start = whole[:-1].rfind(b"\n") + 1
    for end in range(start + 1, len(whole) - 1, 37):
        path.write_bytes(whole[:end])
        aside = path.with_name(path.name + ".torn")
        aside.unlink(missing_ok=True)
        found = everybody(shop)
        assert seeds(shop) == [0, 1, 2]
        assert f"{path}:4: the last line was cut off" in found.notes[0]
        (note,) = keep(shop, done(9))
        assert aside.name in note
        assert aside.read_bytes() == whole[start:end] + b"\n"
        assert everybody(shop).notes == ()
        assert seeds(shop) == [0, 1, 2, 9]


def test_the_very_first_line_torn(tmp_path):
    keep(tmp_path, done(1))
    path = file_of(tmp_path, BY)
    path.write_bytes(path.read_bytes()[:50])
    assert seeds(tmp_path) == []
    keep(tmp_path, done(2))
    assert seeds(tmp_path) == [2]
    assert everybody(tmp_path).notes == ()


def test_a_missing_line_end_is_put_there(shop):
    path = file_of(shop, BY)
    path.write_bytes(path.read_bytes()[:-1])
    assert everybody(shop).notes == ()
    assert seeds(shop) == [0, 1, 2, 3]
    assert keep(shop, done(9)) == ()
    assert seeds(shop) == [0, 1, 2, 3, 9]


@fixtures
@given(st.data())
def test_a_damaged_line_is_named_and_takes_no_other_with_it(tmp_path_factory, data):
    shop = tmp_path_factory.mktemp("damaged")
    for result in RESULTS:
        keep(shop, result)
    path = file_of(shop, BY)
    lines = path.read_bytes().split(b"\n")
    hit = data.draw(st.integers(0, 3))
    at = data.draw(st.integers(0, len(lines[hit]) - 1))
    byte = data.draw(st.integers(0, 255).filter(lambda b: b not in (10, lines[hit][at])))
    lines[hit] = lines[hit][:at] + bytes([byte]) + lines[hit][at + 1 :]
    path.write_bytes(b"\n".join(lines))
    assert seeds(shop) == [n for n in range(4) if n != hit]
    (note,) = everybody(shop).notes
    assert note.startswith(f"{path}:{hit + 1}: ")
    before = path.read_bytes()
    keep(shop, done(9))
    assert path.read_bytes().startswith(before)
    assert seeds(shop) == [n for n in (0, 1, 2, 3, 9) if n != hit]


def test_a_line_taken_out_is_told_and_what_follows_counts(shop):
    path = file_of(shop, BY)
    lines = path.read_bytes().splitlines(keepends=True)
    path.write_bytes(lines[0] + lines[2] + lines[3])
    assert seeds(shop) == [0, 2, 3]
    (note,) = everybody(shop).notes
    assert note.startswith(f"{path}:2: lines before this one are missing")


@pytest.mark.parametrize(
    "junk", [b"\n", b"nonsense\n", b"[1]\n", b'{"n":1}\n', b"\xff\xfe\x00\n", b"[" * 5000 + b"\n", b"\0" * 300 + b"\n"]
)  # fmt: skip
def test_what_is_no_line_is_named_and_left_alone(shop, junk):
    path = file_of(shop, BY)
    with path.open("ab") as stream:
        stream.write(junk)
    assert seeds(shop) == [0, 1, 2, 3]
    assert all(note.startswith(f"{path}:5: ") for note in everybody(shop).notes)
    keep(shop, done(9))
    assert seeds(shop) == [0, 1, 2, 3, 9]
    assert junk in path.read_bytes() or junk == b"\n"


def test_results_of_one_name_in_two_files_are_put_together(shop):
    path = file_of(shop, BY)
    path.rename(path.with_name("from the other bench.jsonl"))
    keep(shop, done(9))
    assert seeds(shop) == [0, 1, 2, 3, 9]


def test_what_is_no_file_and_what_is_too_large_is_told(shop, monkeypatch):
    (shop / "practice" / "a folder.jsonl").mkdir()
    monkeypatch.setattr(kept, "MOST_BYTES", file_of(shop, BY).stat().st_size - 1)
    found = everybody(shop)
    assert found.people == {}
    assert len(found.notes) == 2
    with pytest.raises(JournalError):
        keep(shop, done(9))


def test_a_full_file_is_told_before_anything_is_written(shop, monkeypatch):
    path = file_of(shop, BY)
    before = path.read_bytes()
    monkeypatch.setattr(kept, "MOST_BYTES", len(before) + 10)
    with pytest.raises(JournalError, match="full"):
        keep(shop, done(9))
    assert path.read_bytes() == before


def test_text_from_people_is_text(tmp_path):
    hostile = "\x1b[31m\u202eAnn\nLee"
    keep(tmp_path, done(1, [call("ty\x1b[2Jres", "pass", False)], by=hostile))
    ((name, (result,)),) = everybody(tmp_path).people.items()
    assert name.isprintable()
    assert result.calls[0].check.isprintable()


# --- two at once ---------------------------------------------------------------------------------

WRITER = """
import sys
from pathlib import Path
from readiness.practice.kept import keep
from tests.practice.drawn import done
for seed in range(int(sys.argv[2]), int(sys.argv[2]) + 8):
    keep(Path(sys.argv[1]), done(seed))
"""


def test_two_programs_at_once_lose_nothing(tmp_path):
    writers = [
        subprocess.Popen([sys.executable, "-c", WRITER, str(tmp_path), str(start)], cwd=ROOT)
        for start in (0, 100)
    ]
    assert [w.wait(60) for w in writers] == [0, 0]
    assert seeds(tmp_path) == [*range(8), *range(100, 108)]
    assert everybody(tmp_path).notes == ()


def test_who_holds_the_file_for_ever_is_named(shop, monkeypatch):
    monkeypatch.setattr(kept, "PATIENCE", 0.05)
    hold = Hold(file_of(shop, BY), "Bea Vane", AT)
    try:
        with pytest.raises(HeldElsewhere, match="Bea Vane"):
            keep(shop, done(9))
    finally:
        hold.release()
    keep(shop, done(9))
    assert seeds(shop) == [0, 1, 2, 3, 9]


# --- kills and disks -----------------------------------------------------------------------------


def practising(shop: str, start: int) -> None:
    """The program that is killed: shows an exercise when it counts as kept."""
    for seed in range(start, start + 1000):
        keep(Path(shop), done(seed))
        show(seed)


def warm(shop: str) -> None:
    keep(Path(shop), done(0))


@pytest.mark.slow
@pytest.mark.skipif(os.name == "nt", reason="forks")
def test_no_kill_loses_an_exercise_that_was_shown_as_kept(tmp_path):
    shown = {0}
    with Killer(practising, warm, str(tmp_path)) as killer:
        for n in range(1, 25):
            shown |= set(killer.kill(str(tmp_path), n * 1000, lines=1, and_then=n * 0.0007))
            found = everybody(tmp_path)
            assert shown <= {r.seed for r in found.people[BY]}
            assert all("cut off while it was written" in note for note in found.notes), found.notes


@pytest.mark.parametrize("how", HOW)
@pytest.mark.parametrize("first", [True, False], ids=["a new file", "one more line"])
def test_a_disk_that_fails_at_any_call_loses_nothing_kept(tmp_path, how, first):
    for fails_at in range(40):
        shop = tmp_path / str(fails_at)
        before = [] if first else [0]
        for seed in before:
            keep(shop, done(seed))
        disk, trouble = Disk(fails_at, how), None
        with pytest.MonkeyPatch.context() as patch:
            on(disk, patch)
            try:
                keep(shop, done(1))
            except (JournalError, Died) as fault:
                trouble = fault
        if trouble is None:
            assert seeds(shop) == [*before, 1]
        else:
            assert seeds(shop) in (before, [*before, 1])
        with suppress(FileNotFoundError):
            file_of(shop, BY).with_name(file_of(shop, BY).name + ".held").unlink()
        keep(shop, done(2))
        assert [s for s in seeds(shop) if s != 1] == [*before, 2]
        assert everybody(shop).notes == ()
        if disk.calls <= fails_at:
            return
    pytest.fail("the disk never held")

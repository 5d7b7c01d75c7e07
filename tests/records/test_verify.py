"""Verified journals: as strict as opening them, whatever was done to them; files, signatures and paper beside."""

from __future__ import annotations

import json
import os
import random
import re
import shutil
import subprocess
import sys
import tempfile
from datetime import datetime, timedelta
from hashlib import sha256
from pathlib import Path

import pytest
from msgspec.structs import replace

from readiness.job import Again, Attached, Beside, Compared, Drawn, Ended, Event, Fix, SpotCheck, Waiver
from readiness.records import places, verify
from readiness.records.attachments import attached_file
from readiness.records.journal import Journal, JournalError
from readiness.records.journals import journals
from readiness.records.lines import LONGEST
from readiness.records.loading import MOST_BYTES
from readiness.records.paper import as_digits, paper
from readiness.records.quick_look import quick_look
from readiness.records.replay import Ground
from readiness.records.shop import ShopError
from readiness.records.sound import looked_through
from readiness.records.surveys import SurveyJournal, is_survey
from readiness.records.verify import Tally, Verified, Wanted, against_paper, verified
from tests.records.test_journal import AT, begun, reading

ARMOUR = "-----BEGIN SIGNATURE-----\nU1NIU0lHAAAAAQ==\n-----END SIGNATURE-----\n"
DEMO = sorted(places.demo().glob("*s/*.jsonl"))


def whole_life(folder: Path) -> Path:
    """A job with a line of every kind."""
    with begun(folder) as journal:
        first = journal.record(reading(note='a "quoted" word\u202e', told_by="é\\"))
        journal.record(reading("stood", 2, question="parked", unit="", evidence="seen", side="left"))
        late = AT + timedelta(minutes=3)
        journal.fix(Fix(check="tyres", at=late, by="x", question="pressure.lf", text="inflated"))
        journal.happen(Event(event="got_in", at=late, by="x"))
        event = journal.head.lines
        journal.waive(Waiver(check="light", reason="no use", at=late, by="x"))
        journal.note(first.number, "inner rib", "x", late)
        journal.withdraw(event, "nobody did", "x", late)
        journal.set_units("us", "x", late)
        journal.change(sides=("left", "right"), by="x", at=late)
        for name in ("a.jpg", "b\x1b.jpg"):
            journal.attach(Attached(path=name, sha256="0" * 64, size=3, at=late, by="x", what="radar"))
        journal.withdraw(journal.job.attached[0].number, "the wrong one", "x", late)
        journal.judge_by(
            (Ground("sheet", "tern\u202e", "0" * 64), Ground("altitude", "", "a" * 64)), "x", late
        )
        journal.sign(ARMOUR, "x", late)
        journal.instead(journal.job.readings[0], reading(5, 4), "mistyped", "x")
        journal.end(Ended(at=AT + timedelta(minutes=5), by="x", why="no go"))
        taken_again(journal, AT + timedelta(minutes=6))
    return journal.path


def taken_again(journal: Journal, at: datetime) -> None:
    """A spot check of two readings: one compared by a number, one left out."""
    drawn = tuple(
        Drawn(entry=r.number, what=f"a {r.question}\u202e", weight=4.0, why=("near its limit",))
        for r in journal.job.readings
    )
    check = journal.draw(SpotCheck(at=at, by="foreman", seed=2**32 - 1, of=9, drawn=drawn))
    one, other = (
        Again(
            spot_check=check.number,
            entry=d.entry,
            at=at,
            by="foreman",
            what=d.what,
            outcome="not compared",
            why="gone",
        )
        for d in drawn
    )
    compared = Compared(
        first=231.0, first_u=2.3, again=219.0, again_u=5.9, unit="kPa", e_n=-1.9, how="at 18 °C"
    )
    beside = (Beside(what="Air", value=18.0, unit="degC", text="18", instrument="thermometer-1"),)
    journal.check_again(
        replace(one, outcome="differs", compared=compared, beside=beside, value=219.0, unit="kPa")
    )
    journal.check_again(other)


@pytest.fixture(scope="module")
def life() -> bytes:
    with tempfile.TemporaryDirectory() as folder:
        return whole_life(Path(folder)).read_bytes()


# --- as strict as opening it ----------------------------------------------------------------------


def opens(path: Path) -> Journal | SurveyJournal | None:
    """The journal if it opens without a word."""
    try:
        with (SurveyJournal if is_survey(path) else Journal).open(path, write=False) as journal:
            return None if journal.warnings else journal
    except JournalError:
        return None


def same_as_opening(path: Path) -> bool:
    """Whether it is sound; asserts that verifying and opening agree on that, and on what the journal comes to."""
    chain, journal = looked_through(path), opens(path)
    assert (not chain.fault) == (journal is not None), chain.fault or path.read_bytes()
    quick = quick_look(path.read_bytes())
    if isinstance(journal, Journal):
        job = journal.job
        assert (chain.of, chain.name, chain.attached) == ("job", job.job, job.attached)
        assert (chain.signatures, chain.grounds) == (journal.signatures, journal.grounds)
        assert chain.last_at == journal.last_at
        assert (chain.head, chain.lines) == (journal.head.digest, journal.head.lines)
    else:
        assert quick is None, "the quick look sees sound jobs only"
    return journal is not None


@pytest.mark.parametrize("path", DEMO, ids=lambda p: p.stem)
def test_the_demo_journals_are_sound(path):
    assert same_as_opening(path)
    assert (quick_look(path.read_bytes()) is None) == is_survey(path)


def test_a_line_of_every_kind_is_known_to_the_quick_look(tmp_path, life):
    """Otherwise it would be sound all the same, only slowly."""
    seen = quick_look(life)
    assert seen is not None
    assert seen.lines == life.count(b"\n")
    assert [a.path for a in seen.attached] == ["b .jpg"]
    assert same_as_opening(whole_life(tmp_path))


def chained(plains: list[bytes]) -> bytes:
    """Lines given up to their `prev`, with every hash worked out anew."""
    written, prev = b"", b""
    for given in plains:
        plain = re.sub(rb'(?<=,"head":")[0-9a-f]{64}"', prev + b'"', given) + b',"prev":"%s"' % prev
        whole = plain + b',"sum":"%s"}' % sha256(plain).hexdigest()[:16].encode()
        prev, written = sha256(whole).hexdigest().encode(), written + whole + b"\n"
    return written


def plain_lines(data: bytes) -> list[bytes]:
    return [re.sub(rb',"prev":"[0-9a-f]*","sum":"[0-9a-f]*"}$', b"", line) for line in data.splitlines()]


def test_worked_out_anew_it_is_the_same(life):
    assert chained(plain_lines(life)) == life


ODD = [
    b"null", b"true", b"false", b"0", b"-1", b"1", b"2", b"3", b"99", b"1.0", b"2.5", b"1e999", b"-1e400", b"1e-400",
    b"9" * 30, b"9" * 400, b"NaN", b"Infinity", b'""', b'"x"', b'"left"', b'"seen"', b'"kPa"', b'"metric"', b'"reading"',
    b'"note"', b'"opened"', b'"survey"', b'"withdrawn"', b'"2026-05-04T09:00:00Z"', b'"2026-05-04T09:00:00"',
    b'"2026-05-04T11:00:00+02:00"', b'"2026-05-04 09:10:00Z"', b'"2026-13-04T09:00:00Z"', b'"0001-01-01T00:00:00Z"',
    b'"9999-12-31T23:59:59Z"', b'"\\u202e"', b'"kPa\\u0000"', b'"\\ud800"', b'"\xff"', b'"\\x"', b"[]", b"{}", b'["left"]',
    b'["left",1]', b"[" * 300 + b"]" * 300, b'{"a":{}}', b"'x'", b"x", b"", b'"' + b"y" * 3000 + b'"', b' "x" ', b"\t1",
]  # fmt: skip
VALUE = re.compile(rb'(?<=":)("(?:[^"\\]|\\.)*"|\[[^\]]*\]|[^,}\]]+)')
EXTRA = [
    b',"odd":%s', b',"number":%s', b',"format":%s', b',"program":%s', b',"readings":%s', b',"n":%s', b',"at":%s',
    b',"kind":%s', b',"head":%s', b',"value":%s', b',"entry":%s', b',"side":%s', b',"sum":%s', b',"prev":%s', b',"by":%s',
]  # fmt: skip


def damaged(data: bytes, chance: random.Random) -> bytes:
    """Something done to a journal, often by somebody who then works out every hash anew."""
    plains = plain_lines(data)
    for _ in range(chance.choice((1, 1, 2))):
        at = chance.randrange(len(plains))
        way = chance.randrange(7)
        if way <= 2:
            spot = chance.choice([*VALUE.finditer(plains[at])])
            plains[at] = plains[at][: spot.start()] + chance.choice(ODD) + plains[at][spot.end() :]
        elif way == 3:
            plains[at] += chance.choice(EXTRA) % chance.choice(ODD)
        elif way == 4:
            plains[at] = raw(plains[at], chance)
        elif way == 5:
            other = chance.randrange(len(plains))
            plains[at], plains[other] = plains[other], plains[at]
        else:
            plains[at : at + 1] = chance.choice(
                ([], [plains[at]] * 2, [plains[at].replace(b'","', b'" , "')])
            )
        if not plains:
            return b""
    if chance.random() < 0.3:
        return raw(chained(plains), chance)
    renumbered = [re.sub(rb'^{"n":\d+', b'{"n":%d' % n, p) for n, p in enumerate(plains, 1)]
    return chained(renumbered if chance.random() < 0.7 else plains)


def raw(data: bytes, chance: random.Random) -> bytes:
    """One byte or a piece replaced, put in or left out, without regard to what it means."""
    at, more = chance.randint(0, len(data)), chance.choice((0, 1, 1, 30))
    new = chance.choice(
        (b"", bytes([chance.randrange(256)]), b"\n", b"\r\n", b" ", b"\x00" * 40, b'"', b"}\n")
    )
    return data[:at] + new + data[at + more :]


def number_of(life: bytes, kind: bytes) -> int:
    """The first line of that kind."""
    return next(n for n, line in enumerate(life.splitlines(), 1) if b'"kind":"%s"' % kind in line)


@pytest.mark.parametrize(
    ("kind", "pattern", "into", "sound"),
    [
        ("opened", rb'"job":"HB-1"', rb'"job":"HB\\u202e1"', True),
        ("opened", rb'"format":\d', b'"format":1', True),
        ("opened", rb'"format":\d', b'"format":3', False),
        ("reading", rb'$', b',"odd":"\xff"', False),
        ("reading", rb'$', b',"odd":"x"', True),
        ("reading", rb'"unit":"kPa"', b'"unit":"furlong"', False),
        ("reading", rb'"unit":"kPa"', b'"unit":"mm"', True),
        ("reading", rb'"at":"([^"]*)Z"', rb'"at":"\1"', False),
        ("reading", rb'"at":"([^"]*)Z"', rb'"at":"\1+00:00"', True),
        ("reading", rb'"evidence":', b'"taken":null,"evidence":', False),
        ("reading", rb'"evidence":', b'"taken":"2026-03-31T08:00:00Z","evidence":', True),
        ("reading", rb'"evidence":', b'"taken":"2926-03-31T08:00:00Z","evidence":', False),
        ("reading", rb'"evidence":', b'"taken":"0926-03-31T08:00:00Z","evidence":', False),
        ("reading", rb'"evidence":', b'"taken":"2026-03-31T08:00:00","evidence":', False),
        ("judged-by", rb'"0{64}"', b'"' + b"0" * 63 + b'"', False),
        ("judged-by", rb'"altitude"', b'"latitude"', False),
        ("judged-by", rb'"tern', b'7,"tern', False),
        ("judged-by", rb'"a{64}"', b'"' + b"a" * 64 + b'",1', True),
        ("note", rb'"entry":\d+', b'"entry":EVENT', False),
        ("note", rb'"entry":\d+', b'"entry":FIX', False),
        ("note", rb'"entry":\d+', b'"entry":99', False),
        ("withdrawn", rb'"entry":\d+', b'"entry":FIX', True),
        ("withdrawn", rb'"entry":\d+', b'"entry":NOTE', False),
        ("withdrawn", rb'"entry":\d+', b'"entry":0', False),
        ("units", rb'^(.*),"system":.*$', rb'\1,"entry":EVENT', False),
        ("units", rb'"kind":"units","system":"us"', b'"kind":"withdrawn","entry":EVENT', False),
        ("units", rb'"kind":"units","system":"us"', b'"kind":"withdrawn","entry":FIX', True),
        ("units", rb'"kind":"units","system":"us"', b'"kind":"note","entry":EVENT,"text":"x"', False),
        ("signed", rb'BEGIN', b'\xc3\xa9', False),
        ("spot-check", rb'"entry":\d+', b'"entry":EVENT', False),
        ("spot-check", rb'"entry":\d+', b'"entry":1', False),
        ("spot-check", rb'"drawn":\[.*?\]\}\]', b'"drawn":[]', False),
        ("spot-check", rb'"of":9', b'"of":1', False),
        ("spot-check", rb'"seed":4294967295', b'"seed":4294967296', False),
        ("spot-check", rb'"seed":4294967295', b'"seed":-1', False),
        ("spot-check", rb'"weight":4.0', b'"weight":0', False),
        ("spot-check", rb'"weight":4.0', b'"weight":5', True),
        ("re-measured", rb'"entry":\d+', b'"entry":FIX', False),
        ("re-measured", rb'"spot_check":\d+', b'"spot_check":1', False),
        ("re-measured", rb'"unit":"kPa"', b'"unit":"furlong"', False),
        ("re-measured", rb'"unit":"degC"', b'"unit":"furlong"', False),
        ("re-measured", rb'"outcome":"differs"', b'"outcome":"nearly"', False),
        ("re-measured", rb'"e_n":-1.9', b'"e_n":"-1.9"', False),
        ("re-measured", rb'"e_n":-1.9', b'"e_n":-2', True),
        ("units", rb'"kind":"units","system":"us"', b'"kind":"withdrawn","entry":CHECK', False),
    ],
)  # fmt: skip
def test_one_thing_changed_and_every_hash_worked_out_anew(tmp_path, life, kind, pattern, into, sound):
    for word, of in ((b"EVENT", b"event"), (b"FIX", b"fix"), (b"NOTE", b"note"), (b"CHECK", b"spot-check")):
        into = into.replace(word, b"%d" % number_of(life, of))
    plains, at = plain_lines(life), number_of(life, kind.encode()) - 1
    changed = re.sub(pattern, into, plains[at], count=1)
    assert changed != plains[at]
    plains[at] = changed
    path = tmp_path / "HB-1.jsonl"
    path.write_bytes(chained(plains))
    assert same_as_opening(path) == sound


def test_a_line_that_is_right_in_itself_and_follows_another(tmp_path, life):
    other = chained(plain_lines(life.replace(b"ZZ 1", b"ZZ 2"))).splitlines(keepends=True)
    path, each = tmp_path / "HB-1.jsonl", life.splitlines(keepends=True)
    path.write_bytes(b"".join([*each[:3], *other[3:]]))
    assert not same_as_opening(path)
    path.write_bytes(life.removesuffix(b"\n"))
    assert not same_as_opening(path)
    assert f"{path}, line {len(each)}, is whole but has no line end" in looked_through(path).fault
    assert looked_through(path).line == len(each)


@pytest.mark.parametrize(("more", "sound"), [(-1000, True), (1000, False)])
def test_a_line_has_an_upper_bound(tmp_path, life, more, sound):
    path = tmp_path / "HB-1.jsonl"
    path.write_bytes(chained([p.replace(b"inner rib", b"x" * (LONGEST + more)) for p in plain_lines(life)]))
    assert same_as_opening(path) == sound


def both_ways(tmp_path: Path, data: bytes, seed: int, rounds: int) -> int:
    """How many of the damaged journals are sound."""
    chance, path, sound = random.Random(seed), tmp_path / "HB-1.jsonl", 0
    for _ in range(rounds):
        path.write_bytes(damaged(data, chance))
        sound += same_as_opening(path)
    return sound


def test_verify_says_sound_if_and_only_if_the_journal_opens(tmp_path, life):
    sound = both_ways(tmp_path, life, 1, 300)
    assert 30 < sound < 270, "both must occur often, or nothing is shown"


@pytest.mark.slow
@pytest.mark.parametrize("seed", [2, 3])
def test_verify_says_sound_if_and_only_if_the_journal_opens_many_times(tmp_path, life, seed):
    assert both_ways(tmp_path, life, seed, 1200) > 100


@pytest.mark.parametrize("path", [p for p in DEMO if is_survey(p)], ids=lambda p: p.stem)
def test_the_journal_of_a_survey_is_verified_as_strictly(tmp_path, path):
    chance, copy = random.Random(1), tmp_path / path.name
    sound = 0
    for _ in range(60):
        copy.write_bytes(damaged(path.read_bytes(), chance))
        sound += same_as_opening(copy)
    assert sound < 60


# --- files that are none --------------------------------------------------------------------------

HOSTILE = [
    (b"", "line 1"), (b"\n", "line 1"), (b"\x00" * 70_000, "line 1"), (os.urandom(5000), "line 1"), (b"[" * 70_000, "line 1"),
    (b'{"n":1,"at":"2026', "line 1"), (b"\xff\xfe{\x00}\x00", "line 1"), (b"\r\n" * 50, "line 1"), (b'{"format":2}\n', "line 1"),
    (b'{"format":3}\n', "newer program"), (b'{"kind":"survey"}\n', "line 1"), (b"x" * 3_000_000, "line 1"),
    (b'{"a":"' + b"x" * 3_000_000 + b'"}\n', "longer than any entry"),
]  # fmt: skip


@pytest.mark.parametrize(("data", "what"), HOSTILE, ids=range(len(HOSTILE)))
def test_what_is_no_journal_is_told_in_a_sentence(tmp_path, data, what):
    path = tmp_path / "HB-1.jsonl"
    path.write_bytes(data)
    chain = looked_through(path)
    assert what in chain.fault
    assert str(path) in chain.fault
    assert (chain.lines, chain.trouble) == (0, False)
    assert not same_as_opening(path)


@pytest.mark.skipif(os.name == "nt", reason="Windows has no such files")
def test_what_is_no_file_is_told_in_a_sentence(tmp_path):
    (tmp_path / "a.jsonl").mkdir()
    os.mkfifo(tmp_path / "b.jsonl")
    (tmp_path / "c.jsonl").symlink_to("/dev/zero")
    (tmp_path / "d.jsonl").symlink_to(tmp_path / "d.jsonl")
    (tmp_path / "e.jsonl").symlink_to(tmp_path / "nowhere")
    found = [looked_through(path) for path in journals([str(tmp_path)], None).paths]
    assert [c.fault.rpartition("jsonl ")[2] for c in found[:3]] == [
        "is a folder, no journal.", "is a pipe, no journal.", "is a device, no journal."
    ]  # fmt: skip
    assert [c.trouble for c in found] == [False, False, False, True, True]
    assert all("could not be read" in c.fault for c in found[3:])


TIGHT = """
import resource, sys
from pathlib import Path
from readiness.records.sound import looked_through
before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
print(*(looked_through(Path(name)).fault for name in sys.argv[1:]), sep="\\n")
print((resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) // 1024)
"""


@pytest.mark.skipif(os.name == "nt", reason="Windows tells no such figure")
def test_lines_without_an_end_are_refused_and_take_little_memory(tmp_path):
    whole = whole_life(tmp_path).read_bytes()
    for name, before, size in (("a", b"", 200_000_000), ("b", b"", 4_000_000), ("c", whole, 4_000_000)):
        with (tmp_path / name).open("wb") as stream:
            stream.write(before)
            stream.truncate(size)
    (tmp_path / "d").write_bytes(whole + b"[" * 4_000_000 + b"\n")
    done = subprocess.run(
        [sys.executable, "-c", TIGHT, *(tmp_path / name for name in "abcd")],
        capture_output=True, text=True, check=True, cwd=Path(__file__).parents[2],
    )  # fmt: skip
    *said, megabytes = done.stdout.splitlines()
    last = whole.count(b"\n") + 1
    expected = (
        f"larger than {MOST_BYTES}",
        "line 1,",
        f"line {last}, was cut off",
        f"line {last},.* longer than any entry",
    )
    assert all(re.search(e, s) for e, s in zip(expected, said, strict=True)), said
    assert int(megabytes) < 50


def test_a_journal_that_is_written_on_meanwhile_is_taken_as_it_was_or_as_it_is(tmp_path):
    with begun(tmp_path) as journal:
        for n in range(20):
            journal.record(reading(minutes=n))
            assert looked_through(journal.path).lines == n + 2


# --- which journals -------------------------------------------------------------------------------


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    shutil.copytree(places.demo(), tmp_path / "shop", ignore=shutil.ignore_patterns("pictures"))
    return tmp_path / "shop"


def test_a_shop_has_its_jobs_and_surveys_and_a_folder_all_that_is_in_it(shop):
    jobs, surveys = sorted((shop / "jobs").glob("*.jsonl")), sorted((shop / "surveys").glob("*.jsonl"))
    assert list(journals([str(shop)], None).paths) == [*jobs, *surveys]
    assert list(journals([str(shop / "jobs")], None).paths) == jobs
    (shop / "elsewhere.jsonl").write_bytes(b"")
    (shop / "jobs" / "._HB-0417.jsonl").write_bytes(b"what some systems put beside a file")
    assert list(journals([str(shop)], None).paths) == [*jobs, *surveys]
    above = journals([str(shop.parent), str(jobs[0])], None).paths
    assert set(above) == {*jobs, *surveys, shop / "elsewhere.jsonl"}
    assert len(above) == len(jobs) + len(surveys) + 1, "each once"


def test_a_number_is_looked_up_in_the_shop(shop, monkeypatch):
    assert journals(["HB-0417"], shop).paths == (shop / "jobs" / "HB-0417.jsonl",)
    assert journals(["bay-4-by-level"], shop).paths == (shop / "surveys" / "bay-4-by-level.jsonl",)
    monkeypatch.chdir(shop / "jobs")
    assert journals(["HB-0417.jsonl"], None).paths == (Path("HB-0417.jsonl"),)


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("HB-0499", "no file HB-0499, and no job or survey 'HB-0499' in .*The latest are: HB-"),
        ("HB-0499.jsonl", "There is no file HB-0499.jsonl"), ("nowhere/HB-0417", "There is no file nowhere"),
        ("a b", "no file a b, and as a job's number it is of no use"), ("\x00", "no file"), ("", "no use|no journal"),
        ("x" * 5000, "There is no file"), ("con", "of no use"),
    ],
)  # fmt: skip
def test_what_is_not_there_is_said(shop, monkeypatch, name, said):
    (shop.parent / "empty").mkdir()
    monkeypatch.chdir(shop.parent / "empty")
    with pytest.raises(ShopError, match=said):
        journals([name], shop)


def test_a_file_that_people_write_is_no_journal(shop):
    with pytest.raises(ShopError, match="'readiness lint"):
        journals([str(shop / "shop.yaml")], None)
    with pytest.raises(ShopError, match="There is no journal in"):
        journals([str(shop / "bays")], None)


@pytest.mark.skipif(os.name == "nt", reason="links need a right of their own on Windows")
def test_folders_linked_in_a_ring_are_entered_once(tmp_path):
    (tmp_path / "a" / "b").mkdir(parents=True)
    (tmp_path / "a" / "b" / "HB-1.jsonl").write_bytes(b"")
    (tmp_path / "a" / "b" / "up").symlink_to(tmp_path / "a")
    (tmp_path / "a" / "other").symlink_to(tmp_path / "a" / "b")
    (tmp_path / "a" / "self").symlink_to(tmp_path / "a" / "self")
    assert [p.name for p in journals([str(tmp_path)], None).paths] == ["HB-1.jsonl"]


def test_a_folder_that_cannot_be_looked_into_is_told(shop, monkeypatch):
    real = os.scandir

    def scandir(path):
        if Path(path).name == "surveys":
            raise PermissionError(13, "Permission denied", str(path))
        return real(path)

    monkeypatch.setattr(os, "scandir", scandir)
    found = journals([str(shop)], None)
    assert len(found.paths) == len(list((shop / "jobs").glob("*.jsonl")))
    assert found.unread == (f"The folder {shop / 'surveys'} could not be looked into: permission denied.",)


# --- what a journal names -------------------------------------------------------------------------


def only(path: Path, **wanted) -> Verified:
    (found,) = verified([path], Wanted(**wanted))
    return found


def with_files(shop: Path) -> Path:
    """A job of the shop with two files."""
    (shop / "photos").mkdir()
    for name in ("left.jpg", "right.jpg"):
        (shop / "photos" / name).write_bytes(name.encode())
    with begun(shop / "jobs") as journal:
        for name in ("left.jpg", "right.jpg"):
            journal.attach(attached_file(shop / "photos" / name, shop, "", "x", AT))
    return journal.path


def test_attached_files_are_looked_at_again(shop):
    path = with_files(shop)
    assert [c.state for c in only(path).attached] == ["same", "same"]
    assert only(path).sound
    (shop / "photos" / "left.jpg").write_bytes(b"LEFT.jpg")
    (shop / "photos" / "right.jpg").unlink()
    found = only(path)
    assert not found.sound
    assert found.faults[0].startswith(
        f"{path}, line 2: the attached file 'photos/left.jpg' is no longer what"
    )
    assert found.faults[1].startswith(f"{path}, line 3: the attached file 'photos/right.jpg' is gone")
    assert only(path, files=False).sound
    assert only(path, shop=shop).faults == found.faults


def test_a_copy_elsewhere_says_that_its_files_were_not_looked_for(shop, tmp_path):
    path = with_files(shop)
    copy = tmp_path / "copy.jsonl"
    shutil.copy(path, copy)
    found = only(copy)
    assert found.sound
    assert "copy under another name" in found.notes[0]
    assert (found.unsought, found.attached) == (2, ())
    assert [c.state for c in only(copy, shop=shop).attached] == ["same", "same"]


def test_a_signature_with_nobody_to_vouch_for_it_is_a_note(shop):
    path = whole_life(shop / "jobs")
    found = only(path, files=False)
    assert found.sound
    assert [v.why for v in found.signed] == ["no shop.yaml here says whose signatures count"]
    assert not only(path, files=False, signed=True).sound
    (shop / "shop.yaml").write_text("shop: [", encoding="utf-8")
    assert not only(path, files=False).seen


def test_the_tally(shop):
    path = with_files(shop)
    (shop / "photos" / "left.jpg").unlink()
    (shop / "jobs" / "HB-0418.jsonl").write_bytes(b"no")
    tally = Tally()
    for found in verified(journals([str(shop)], None).paths, Wanted()):
        tally.add(found)
    assert (tally.journals, tally.not_sound, tally.not_seen) == (len(DEMO) + 1, 2, 0)
    assert tally.files >= 2
    assert tally.lines == sum(p.read_bytes().count(b"\n") for p in (*DEMO, path) if p.stem != "HB-0418")
    assert not tally.sound


# --- paper ----------------------------------------------------------------------------------------


def test_paper_is_held_against_every_line(tmp_path, life):
    """Each line's hash by hashlib, as a person would work it out with sha256sum."""
    path = whole_life(tmp_path)
    hashes = [sha256(line).hexdigest() for line in life.splitlines()]
    for number, whole in enumerate(hashes, 1):
        for digits in (whole, whole[:12]):
            held = paper(path, digits)
            assert (held.line, held.later) == (number, len(hashes) - number)
    assert only(path).chain.head == hashes[-1]
    shown = against_paper(only(path), hashes[3][:12])
    assert shown.sound
    assert shown.paper is not None
    lost = against_paper(only(path), "0" * 64)
    assert not lost.sound
    assert "changed or shortened" in lost.faults[0]


def test_a_file_that_was_shortened_is_found_by_paper_only(tmp_path, life):
    """What DEVELOPERS.md says of lines taken away at the end."""
    path = tmp_path / "HB-1.jsonl"
    each = life.splitlines(keepends=True)
    path.write_bytes(b"".join(each[:-2]))
    assert only(path).sound
    printed = sha256(each[-1].rstrip()).hexdigest()
    assert not against_paper(only(path), printed).sound


@pytest.mark.parametrize(
    ("typed", "digits"),
    [
        ("683d3f1d 1031dba9", "683d3f1d1031dba9"),
        (" 683D3F1D\t1031\n", "683d3f1d1031"),
        ("ab" * 32, "ab" * 32),
    ],
)
def test_what_is_copied_from_paper(typed, digits):
    assert as_digits(typed) == digits


@pytest.mark.parametrize(
    "typed", ["", "683d3f1d103", "ab" * 33, "683d3f1d10xx", "O83d3f1d1031", "\x1b[2J683d3f1d1031"]
)
def test_what_cannot_be_a_hash(typed):
    with pytest.raises(ValueError, match="A hash"):
        as_digits(typed)


def test_a_journal_that_vanishes_meanwhile(tmp_path):
    path = whole_life(tmp_path)
    found = only(path)
    path.unlink()
    assert against_paper(found, "0" * 12).trouble
    assert only(path).trouble


def test_json_is_plain_data(shop):
    from readiness.report.verified import all_as_dict

    path = with_files(shop)
    tally, found = Tally(), [against_paper(only(path), "0" * 12), only(whole_life(shop), files=False)]
    for one in found:
        tally.add(one)
    said = json.loads(json.dumps(all_as_dict(found, tally, [])))
    assert (said["sound"], said["journals"], said["each"][0]["attached"][0]["state"]) == (False, 2, "same")
    assert said["each"][1]["signatures"][0]["state"] == "unchecked"
    assert verify.Wanted() == Wanted()

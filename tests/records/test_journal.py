"""The journal: on the disk before it counts, in order, chained, and honest about what went wrong."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
import tempfile
from datetime import UTC, datetime, timedelta
from hashlib import sha256
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from readiness.job import Ended, Event, Fix, Reading, Waiver
from readiness.records import chained, lines
from readiness.records.journal import Journal, JournalError

AT = datetime(2026, 5, 4, 9, 0, tzinfo=UTC)


def begun(folder: Path, job: str = "HB-1") -> Journal:
    return Journal.create(
        folder, job=job, sheet="tern", bay="bay-1", sides=("left",), by="A. Test", at=AT, plate="ZZ 1"
    )


def reading(value: float | str = 231.0, minutes: float = 1, **more) -> Reading:
    words = {"check": "tyres", "question": "pressure.lf", "unit": "kPa", "by": "A. Test", "text": f"{value}"}
    return Reading(value=value, at=AT + timedelta(minutes=minutes), **{**words, **more})


# --- what goes in comes out ----------------------------------------------------------------------

texts = st.text(st.characters(exclude_categories=("Cs", "Cc", "Cf", "Zl", "Zp", "Cn")), max_size=30)
"""What a person can see; all else is a blank when it is read, see test_hostile."""
values = st.floats(allow_nan=False, allow_infinity=False) | texts
entries = st.lists(
    st.one_of(
        st.builds(
            lambda v, m, **w: reading(v, m, **w), values, st.floats(0, 500), note=texts, told_by=texts,
            question=texts, check=texts, evidence=st.sampled_from(("measured", "seen", "told")),
        ),
        st.builds(lambda m, t: Fix(check="tyres", at=AT + timedelta(minutes=m), by=t, text=t), st.floats(0, 9), texts),
        st.builds(lambda m, t: Event(event=t, at=AT + timedelta(minutes=m), by="x"), st.floats(0, 9), texts),
        st.builds(lambda m, t: Waiver(check="c", reason=t, at=AT + timedelta(minutes=m), by="x"), st.floats(0, 9), texts),
    ),
    max_size=12,
)  # fmt: skip


def keep(journal: Journal, entry):
    verbs = {Reading: journal.record, Fix: journal.fix, Event: journal.happen, Waiver: journal.waive}
    return verbs[type(entry)](entry)


@given(entries)
@settings(max_examples=40, deadline=None)
def test_what_was_kept_is_read_again(given_entries):
    with tempfile.TemporaryDirectory() as folder:
        with begun(Path(folder)) as journal:
            kept = [keep(journal, e) for e in given_entries]
            job = journal.job
        again = Journal.open(journal.path, write=False)
    assert again.job == job
    assert list(job.readings) == [k for k in kept if isinstance(k, Reading)]
    assert [k.at for k in kept] == sorted(k.at for k in kept)
    for kept_one, given_one in zip(kept, given_entries, strict=True):
        if isinstance(kept_one, Reading):
            assert (kept_one.value, kept_one.note, kept_one.told_by) == (
                given_one.value, given_one.note, given_one.told_by,
            )  # fmt: skip


def test_each_line_is_json_and_carries_the_hash_of_the_line_before(tmp_path):
    with begun(tmp_path) as journal:
        journal.record(reading())
        journal.note(2, "inner rib\nworn", "A. Test", AT)
    before = ""
    for n, line in enumerate(journal.path.read_bytes().splitlines(keepends=True), 1):
        assert line.endswith(b"}\n")
        fields = json.loads(line)
        assert (fields["n"], fields["prev"]) == (n, before)
        before = sha256(line[:-1]).hexdigest()
    first = json.loads(journal.path.read_bytes().splitlines()[0])
    assert first["format"] == lines.FORMAT
    assert first["program"]


def test_corrections_notes_units_and_changes(tmp_path):
    with begun(tmp_path) as journal:
        one, two = journal.record(reading(219.0)), journal.record(reading(231.0, 2))
        journal.withdraw(one.number, "misread", "A. Test", AT + timedelta(minutes=3))
        journal.note(two.number, "first", "A. Test", AT + timedelta(minutes=3))
        journal.note(two.number, "second", "A. Test", AT + timedelta(minutes=4))
        journal.set_units("us", "A. Test", AT + timedelta(minutes=4))
        journal.change(sides=("left", "right"), by="A. Test", at=AT + timedelta(minutes=5))
        journal.change(bay="bay-2", by="A. Test", at=AT + timedelta(minutes=5))
    for seen in (journal, Journal.open(journal.path, write=False)):
        assert [(r.number, r.value, r.note) for r in seen.job.readings] == [(two.number, 231.0, "second")]
        assert (seen.units, seen.job.sides, seen.job.bay) == ("us", ("left", "right"), "bay-2")


@pytest.mark.parametrize("number", [0, 1, 2, 99])
def test_only_entries_that_stand_can_be_withdrawn_or_noted(tmp_path, number):
    with begun(tmp_path) as journal:
        journal.record(reading())
        journal.withdraw(2, "misread", "A. Test", AT)
        size = journal.path.stat().st_size
        with pytest.raises(JournalError):
            journal.withdraw(number, "again", "A. Test", AT)
        with pytest.raises(JournalError):
            journal.note(number, "text", "A. Test", AT)
        assert journal.path.stat().st_size == size


@pytest.mark.parametrize("bad", [float("nan"), float("inf"), "\ud800"])
def test_what_cannot_be_kept_is_refused_and_leaves_no_trace(tmp_path, bad):
    with begun(tmp_path) as journal:
        before, job = journal.path.read_bytes(), journal.job
        with pytest.raises(JournalError, match="cannot be kept"):
            journal.record(reading(bad))
        assert journal.path.read_bytes() == before
        assert journal.job == job
        assert journal.record(reading()).number == 2


# --- several entries in one ------------------------------------------------------------------------


def test_what_belongs_together_is_one_write(tmp_path, monkeypatch):
    with begun(tmp_path) as journal:
        first, synced = journal.record(reading(219.0)), []
        real = os.fsync
        monkeypatch.setattr(os, "fsync", lambda descriptor: synced.append(real(descriptor)))
        with journal.together():
            second = journal.record(reading(231.0, 2))
            with journal.together():
                journal.withdraw(first.number, "misread", "A. Test", AT)
            assert not synced
        assert len(synced) == 1
        assert journal.job.readings == (second,)
    assert Journal.open(journal.path, write=False).job == journal.job


@pytest.mark.parametrize("goes_wrong", ["disk", "entry", "deed"])
def test_of_what_belongs_together_nothing_is_kept_if_one_is_not(tmp_path, monkeypatch, goes_wrong):
    def full(_):
        raise OSError(28, "No space left on device")

    with begun(tmp_path) as journal:
        first = journal.record(reading(219.0))
        job, head, data = journal.job, journal.head, journal.path.read_bytes()

        def deed(patch: pytest.MonkeyPatch) -> None:
            with journal.together():
                journal.record(reading(231.0, 2))
                journal.withdraw(first.number, "misread", "A. Test", AT)
                journal.set_units("us", "A. Test", AT)
                if goes_wrong == "disk":
                    patch.setattr(os, "fsync", full)
                elif goes_wrong == "entry":
                    journal.record(reading(float("nan")))
                else:
                    raise ValueError("second thoughts")

        with monkeypatch.context() as patch, pytest.raises((JournalError, ValueError)):
            deed(patch)
        assert (journal.job, journal.head, journal.units) == (job, head, None)
        assert journal.path.read_bytes() == data
        assert [e.n for e in journal.entries] == [1, 2]
        assert journal.record(reading(231.0, 2)).number == 3
    assert len(Journal.open(journal.path, write=False).job.readings) == 2


# --- time ----------------------------------------------------------------------------------------


def test_time_never_goes_backwards(tmp_path):
    with begun(tmp_path) as journal:
        journal.record(reading(minutes=10))
        late = journal.record(reading(minutes=4))
        assert AT + timedelta(minutes=10) < late.at < AT + timedelta(minutes=11)
        assert len(journal.warnings) == 1
        assert "clock" in journal.warnings[0]
        assert journal.record(reading(minutes=20)).at == AT + timedelta(minutes=20)


def test_an_ended_job_takes_no_more_until_the_end_is_taken_back(tmp_path):
    with begun(tmp_path) as journal:
        first = journal.record(reading())
        late = AT + timedelta(minutes=9)
        ended = journal.end(Ended(at=late, by="x", why="sold"))
        for enter in (
            lambda: journal.record(reading(minutes=10)),
            lambda: journal.withdraw(first.number, "x", "x", late),
            lambda: journal.note(first.number, "x", "x", late),
            lambda: journal.happen(Event(event="got_in", at=late, by="x")),
            lambda: journal.change(sides=("right",), by="x", at=late),
            lambda: journal.end(Ended(at=late, by="x")),
        ):
            with pytest.raises(JournalError, match=r"was ended at .* unless that is taken back"):
                enter()
        journal.sign("-----BEGIN SSH SIGNATURE-----\n", "x", late)
        journal.withdraw(ended.number, "brought back", "x", late)
        assert journal.record(reading(minutes=10)).number == journal.head.lines


def test_time_goes_on_where_the_clock_was_set_back(tmp_path, monkeypatch):
    """By a clock that only goes forwards: so what was read with the clock still right grows old as it should."""
    gone_by = [0.0]
    monkeypatch.setattr(chained, "monotonic", lambda: gone_by[0])
    with begun(tmp_path) as journal:
        journal.record(reading(minutes=60))
        gone_by[0] += 600
        assert journal.time(AT) == AT + timedelta(minutes=70)
        gone_by[0] += 600
        second = journal.record(reading(minutes=20))
        assert second.at == AT + timedelta(minutes=80)
        gone_by[0] += 60
        assert journal.time(AT + timedelta(minutes=21)) == AT + timedelta(minutes=81)
        assert journal.time(AT + timedelta(minutes=90)) == AT + timedelta(minutes=90)
        assert len(journal.warnings) == 1


def test_that_the_clock_is_behind_is_told_at_once(tmp_path):
    with begun(tmp_path) as journal:
        journal.record(reading(minutes=10))
    with Journal.open(journal.path, by="A. Test", at=AT + timedelta(minutes=9)) as journal:
        assert "time goes on from there" in journal.warnings[-1]
    with Journal.open(journal.path, by="A. Test", at=AT + timedelta(minutes=10)) as journal:
        assert journal.warnings == []


def test_a_clock_that_stands_still_does_not_blur_what_came_first(tmp_path):
    """A reading before a fix is before it, one after a waiver after it, though the clock says one time."""
    with begun(tmp_path) as journal:
        first = journal.record(reading())
        fix = journal.fix(Fix(check="tyres", at=first.at, by="x"))
        second = journal.record(reading(minutes=1))
        event = journal.happen(Event(event="got_in", at=first.at, by="x"))
        waiver = journal.waive(Waiver(check="tyres", reason="y", at=first.at, by="x"))
        third = journal.record(reading(minutes=1))
    assert first.at < fix.at <= second.at < event.at <= waiver.at < third.at
    assert third.at - first.at < timedelta(milliseconds=1)
    assert journal.warnings == []


def test_a_time_without_zone_is_this_machines(tmp_path):
    with begun(tmp_path) as journal:
        kept = journal.record(reading(minutes=0))
        naive = (AT + timedelta(hours=1)).astimezone().replace(tzinfo=None)
        assert journal.happen(Event(event="got_in", at=naive, by="x")).at == AT + timedelta(hours=1)
        assert kept.at.tzinfo is not None


# --- damage --------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def sample() -> bytes:
    with tempfile.TemporaryDirectory() as folder:
        with begun(Path(folder)) as journal:
            journal.record(reading())
            journal.record(reading("stood", 2, question="parked", unit=""))
            journal.note(2, "note", "A. Test", AT)
        return journal.path.read_bytes()


@given(st.data())
@settings(max_examples=100, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_a_line_left_out_or_moved_is_found(sample, data):
    each = sample.splitlines(keepends=True)
    order = data.draw(st.permutations(range(len(each))))
    kept = data.draw(st.integers(1, len(each)))
    picked = [each[k] for k in order[:kept]]
    if picked == each[:kept]:
        assert lines.decode(b"".join(picked)).entries
    else:
        with pytest.raises(lines.LineFault):
            lines.decode(b"".join(picked))


@given(st.data())
@settings(max_examples=100, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_a_file_cut_off_anywhere_keeps_every_whole_line(sample, data):
    """A line that lacks its end only is whole."""
    cut = data.draw(st.integers(sample.index(b"\n"), len(sample)))
    found = lines.decode(sample[:cut])
    whole = sample[cut : cut + 1] == b"\n"
    assert len(found.entries) == sample[:cut].count(b"\n") + whole
    assert found.torn == (b"" if whole else sample[:cut].rpartition(b"\n")[2])
    assert found.ended != whole


def test_a_broken_chain_names_file_and_line(tmp_path, sample):
    path = tmp_path / "HB-1.jsonl"
    path.write_bytes(sample.replace(b"231.0", b"230.0", 1))
    with pytest.raises(JournalError, match=r"HB-1\.jsonl, line 2"):
        Journal.open(path)
    assert path.read_bytes() == sample.replace(b"231.0", b"230.0", 1)


def test_a_rewritten_line_with_a_right_sum_still_breaks_the_chain(sample):
    each = sample.splitlines(keepends=True)
    entry = lines.decode(sample).entries[1]
    body = {**entry.body, "value": 230.0}
    forged = lines.encode(lines.Entry(2, entry.at, entry.kind, body), lines.digest(each[0]))
    with pytest.raises(lines.LineFault) as caught:
        lines.decode(each[0] + forged + b"".join(each[2:]))
    assert caught.value.number == 3


@pytest.mark.parametrize("torn", [b"{", b'{"n":5,"at":"2026', b'{"n":5,"at":"2026\0\0', b"\0" * 700])
def test_a_torn_last_line_is_set_aside_and_told(tmp_path, sample, torn):
    path = tmp_path / "HB-1.jsonl"
    path.write_bytes(sample + torn)
    seen = Journal.open(path, write=False)
    assert path.read_bytes() == sample + torn, "reading changes nothing"
    assert len(seen.warnings) == 1
    with Journal.open(path) as journal:
        assert path.read_bytes() == sample
        assert (tmp_path / "HB-1.jsonl.torn").read_bytes() == torn + b"\n"
        assert ".torn" in journal.warnings[0]
        assert journal.job == seen.job
        assert journal.record(reading(minutes=30)).number == 5


@pytest.mark.parametrize("newer", [lines.FORMAT + 1, 10**30])
def test_a_newer_format_is_refused(tmp_path, sample, newer):
    """Also one that is sound in itself: what its entries mean is not guessed."""
    path = tmp_path / "HB-1.jsonl"
    path.write_bytes(with_format(sample, newer))
    for write in (True, False):
        with pytest.raises(JournalError, match="newer program"):
            Journal.open(path, write)
    assert path.read_bytes() == with_format(sample, newer)


def test_a_kind_that_is_not_known_is_refused(tmp_path, sample):
    path = tmp_path / "HB-1.jsonl"
    path.write_bytes(with_format(sample.replace(b'"kind":"note"', b'"kind":"moved"'), lines.FORMAT))
    for write in (True, False):
        with pytest.raises(JournalError, match="line 4, cannot be trusted: it has the kind 'moved'"):
            Journal.open(path, write)


def test_a_journal_of_the_first_format_is_read_and_written_on(tmp_path, sample):
    """By hand: the first line says format 1, and everything after is chained to that."""
    path = tmp_path / "HB-1.jsonl"
    path.write_bytes(with_format(sample, 1))
    with Journal.open(path) as journal:
        assert journal.job == opened(tmp_path / "as-now.jsonl", sample).job
        journal.record(reading(minutes=9))
    assert len(Journal.open(path, write=False).job.readings) == 3


def opened(path: Path, data: bytes) -> Journal:
    path.write_bytes(data)
    return Journal.open(path, write=False)


def with_format(data: bytes, number: int) -> bytes:
    """The same journal as another program would have written it, in this format."""
    chained, prev = b"", ""
    for line in data.replace(b'"format":%d' % lines.FORMAT, b'"format":%d' % number, 1).splitlines():
        plain = re.sub(rb',"prev":.*', b"", line) + b',"prev":"%s"' % prev.encode()
        whole = plain + b',"sum":"%s"}' % sha256(plain).hexdigest()[:16].encode()
        prev, chained = sha256(whole).hexdigest(), chained + whole + b"\n"
    return chained


# --- signatures ----------------------------------------------------------------------------------

ARMOUR = "-----BEGIN SIGNATURE-----\nU1NIU0lHAAAAAQ==\n-----END SIGNATURE-----\n"


def test_a_signature_is_of_all_lines_before_it_and_changes_nothing(tmp_path):
    with begun(tmp_path) as journal:
        journal.record(reading())
        before, job = journal.head, journal.job
        signed = journal.sign(ARMOUR, "A. Test", AT + timedelta(minutes=2))
        assert (signed.head, signed.signature, signed.number) == (before.digest, ARMOUR, 3)
        assert journal.job == job
        with pytest.raises(JournalError):
            journal.withdraw(signed.number, "changed my mind", "A. Test", AT)
        second = journal.sign(ARMOUR.replace("\n", "\r\n"), "B. Test", AT + timedelta(minutes=3))
    assert second.signature == ARMOUR
    assert Journal.open(journal.path, write=False).signatures == (signed, second)


def test_a_signature_moved_to_other_lines_is_found(tmp_path):
    with begun(tmp_path) as journal:
        journal.sign(ARMOUR, "A. Test", AT)
        first, second = journal.path.read_bytes().splitlines(keepends=True)
    other = first.replace(b"ZZ 1", b"ZZ 2")
    with pytest.raises(lines.LineFault, match="signature of something else"):
        lines.decode(with_format(other + second, lines.FORMAT))


@pytest.mark.parametrize("text", ["", "\x1b[2J", "\u202e", "x" * 20_001])
def test_what_is_no_signature_is_refused(tmp_path, text):
    with begun(tmp_path) as journal:
        with pytest.raises(JournalError, match="cannot be kept"):
            journal.sign(text, "A. Test", AT)
        assert journal.head.lines == 1


@pytest.mark.parametrize(
    "data", [b"", b"\n", b"[]\n", b"hello\n", b'{"a":1}\n', b"\x00\x01\n", b'{"format":true}\n']
)
def test_what_is_no_journal_is_refused(tmp_path, data):
    path = tmp_path / "x.jsonl"
    path.write_bytes(data)
    for write in (False, True):
        with pytest.raises(JournalError, match="line 1"):
            Journal.open(path, write=write)
    assert path.read_bytes() == data


# --- two programs --------------------------------------------------------------------------------


def test_a_second_window_may_read_and_not_write(tmp_path):
    with begun(tmp_path) as journal:
        with pytest.raises(JournalError, match=r"A\. Test has HB-1 open on"):
            Journal.open(journal.path)
        seen = Journal.open(journal.path, write=False)
        assert seen.job == journal.job
        with pytest.raises(JournalError, match="reading only"):
            seen.record(reading())
    Journal.open(journal.path).close()


def test_reading_makes_no_file(tmp_path):
    begun(tmp_path).close()
    before = sorted(tmp_path.iterdir())
    for extra in tmp_path.glob("*.lock"):
        extra.unlink()
        before.remove(extra)
    Journal.open(tmp_path / "HB-1.jsonl", write=False).close()
    assert sorted(tmp_path.iterdir()) == before


def test_a_job_is_begun_once(tmp_path):
    begun(tmp_path).close()
    data = (tmp_path / "HB-1.jsonl").read_bytes()
    with pytest.raises(JournalError, match="exists already"):
        begun(tmp_path)
    assert (tmp_path / "HB-1.jsonl").read_bytes() == data


@pytest.mark.parametrize(
    "name", ["", "../x", "a/b", "a\\b", "con", "NUL.txt", ".x", "x.", "a b", "x" * 61, "a\n"]
)
def test_names_that_are_no_file_names_anywhere_are_refused(tmp_path, name):
    with pytest.raises(JournalError, match="name of its file"):
        begun(tmp_path, name)
    assert not list(tmp_path.iterdir())


def test_a_change_from_outside_meanwhile_is_not_overwritten(tmp_path):
    with begun(tmp_path) as journal:
        with journal.path.open("ab") as stream:
            stream.write(b"someone else\n")
        with pytest.raises(JournalError, match="changed or replaced by something else"):
            journal.record(reading())
        assert journal.path.read_bytes().endswith(b"someone else\n")


# --- the disk ------------------------------------------------------------------------------------


def test_nothing_is_told_as_kept_before_fsync(tmp_path, monkeypatch):
    synced = []
    real = os.fsync

    def watching(descriptor):
        real(descriptor)
        synced.append(os.fstat(descriptor).st_size)

    with begun(tmp_path) as journal:
        monkeypatch.setattr(os, "fsync", watching)
        journal.record(reading())
        assert synced[-1] == journal.path.stat().st_size
        assert b"pressure.lf" in journal.path.read_bytes()


def test_a_failed_fsync_leaves_file_and_job_as_they_were(tmp_path, monkeypatch):
    with begun(tmp_path) as journal:
        journal.record(reading())
        before, job = journal.path.read_bytes(), journal.job

        def full(_):
            raise OSError(28, "No space left on device")

        with monkeypatch.context() as patch:
            patch.setattr(os, "fsync", full)
            with pytest.raises(JournalError, match="no space left"):
                journal.record(reading(232.0, 2))
        assert journal.path.read_bytes() == before
        assert journal.job == job
        assert journal.record(reading(232.0, 3)).number == 3
    assert len(Journal.open(journal.path, write=False).job.readings) == 2


LIMITED = """
import resource, signal, sys
from pathlib import Path
from tests.records.test_journal import begun, reading
from readiness.records.journal import Journal, JournalError
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
with begun(Path(sys.argv[1])) as journal:
    journal.record(reading())
    room = journal.path.stat().st_size + 100  # less than a line: the write is cut in the middle
    resource.setrlimit(resource.RLIMIT_FSIZE, (room, resource.RLIM_INFINITY))
    before, job = journal.path.read_bytes(), journal.job
    try:
        journal.record(reading(232.0, 2))
    except JournalError as error:
        print(error)
    assert journal.path.read_bytes() == before and journal.job == job
    resource.setrlimit(resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY, resource.RLIM_INFINITY))
    journal.record(reading(232.0, 2))
assert len(Journal.open(journal.path, write=False).job.readings) == 2
"""


@pytest.mark.skipif(os.name == "nt", reason="Windows has no limit on the size of files")
def test_a_line_half_written_on_a_full_disk_is_cut_off_again(tmp_path):
    told = subprocess.run(
        [sys.executable, "-c", LIMITED, str(tmp_path)], capture_output=True, text=True,
        cwd=Path(__file__).parents[2],
    )  # fmt: skip
    assert told.returncode == 0, told.stderr
    assert "could not be written" in told.stdout


@pytest.mark.skipif(os.name == "nt" or os.geteuid() == 0, reason="needs a folder that refuses")
def test_a_folder_that_cannot_be_written(tmp_path):
    tmp_path.chmod(0o555)
    with pytest.raises(JournalError, match="permission denied"):
        begun(tmp_path)


def test_a_folder_that_is_a_file(tmp_path):
    (tmp_path / "jobs").write_text("x", encoding="utf-8")
    with pytest.raises(JournalError, match="could not be created"):
        begun(tmp_path / "jobs")


APPENDING = """
import sys
from pathlib import Path
from tests.records.test_journal import begun, reading
with begun(Path(sys.argv[1])) as journal:
    for n in range(100_000):
        kept = journal.record(reading(float(n), n))
        sys.stdout.write(f"{kept.number}\\n")
        sys.stdout.flush()
"""


def test_no_recorded_answer_is_missing_after_a_kill(tmp_path):
    """A process that is killed while it appends has lost nothing that it had told as kept."""
    with subprocess.Popen(
        [sys.executable, "-c", APPENDING, str(tmp_path)], stdout=subprocess.PIPE, cwd=Path(__file__).parents[2],
    ) as process:  # fmt: skip
        assert process.stdout is not None
        told = [process.stdout.readline() for _ in range(20)]
        process.kill()
        told += process.stdout.read().splitlines(keepends=True)
    last = max(int(line) for line in told if line.endswith(b"\n"))
    with Journal.open(tmp_path / "HB-1.jsonl") as journal:
        kept = journal.job.readings
        assert [r.number for r in kept] == list(range(2, len(kept) + 2))
        assert kept[-1].number >= last
        assert journal.record(reading(minutes=1e6)).number == len(kept) + 2

"""Every change of a single byte in a journal is found, and its line is named: replaced, put in, taken out, line ends too.

What the file alone cannot show is under test as well: lines missing at its end. The hash on paper shows that.
"""

from __future__ import annotations

import tempfile
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from readiness.records import lines
from readiness.records.journal import Journal, JournalError
from readiness.records.lines import LineFault
from tests.records.test_journal import AT, begun, reading

SOME = b'\n\0 "}a\xff'
"""Bytes that mean something in a journal, and some that do not."""


def chained(bodies) -> bytes:
    """A journal with lines that hold these fields, in memory."""
    data, prev = b"", ""
    for n, body in enumerate(bodies, 1):
        line = lines.encode(lines.Entry(n, AT, "some", body), prev)
        data, prev = data + line, lines.digest(line)
    return data


@pytest.fixture(scope="module")
def sample() -> bytes:
    with tempfile.TemporaryDirectory() as folder, begun(Path(folder)) as journal:
        journal.record(reading(text='2,"sum":"31'))
        journal.note(2, "größer\n", "A. Test", AT)
        journal.withdraw(2, "misread", "A. Test", AT)
        return journal.path.read_bytes()


def found_at(changed: bytes) -> int:
    """The number of the line that is said to be wrong or odd; 0 if nothing is."""
    try:
        found = lines.decode(changed)
    except LineFault as fault:
        return fault.number
    return int(found.odd.partition(",")[0]) if found.odd else 0


def line_of(data: bytes, at: int) -> int:
    """In which line a byte stands, its line end included; one put in at the very end stands in a new one."""
    return data[:at].count(b"\n") + 1


def check(data: bytes, at: int, changed: bytes) -> None:
    """The line is the one of that byte; where lines fall together or apart, the one before or the next."""
    found = found_at(changed)
    assert found, f"byte {at}: nothing is found"
    assert abs(found - line_of(data, at)) <= 1, f"byte {at}: line {found} is named"


def changes(data: bytes, values) -> list[tuple[int, bytes]]:
    """Each place with the file after one byte was taken out, put in there, or replaced by one of these values."""
    found = []
    for at in range(len(data) + 1):
        found += [
            (at, data[:at] + bytes([v]) + data[at:]) for v in values if data[at - 1 : at + 1].find(v) < 0
        ]
        if at < len(data):
            found.append((at, data[:at] + data[at + 1 :]))
            found += [(at, data[:at] + bytes([v]) + data[at + 1 :]) for v in values if v != data[at]]
    return found


def test_every_byte_of_a_journal_counts(sample):
    assert found_at(sample) == 0
    for at, changed in changes(sample, SOME):
        check(sample, at, changed)


@pytest.mark.slow
def test_every_byte_of_a_short_journal_counts_whatever_comes_in_its_place():
    short = chained([{"a": "b,"}, {}])
    for at, changed in changes(short, range(256)):
        check(short, at, changed)


fields = st.dictionaries(st.text('ab{}[],:"\\\n\0é', min_size=1, max_size=4), st.text(max_size=8), max_size=3)


@given(st.lists(fields, min_size=1, max_size=6), st.data())
@settings(max_examples=200)
def test_a_change_of_any_single_byte_of_any_journal_is_found(bodies, data):
    whole = chained(bodies)
    at = data.draw(st.integers(0, len(whole)))
    byte = bytes([data.draw(st.integers(0, 255))])
    changed = (
        whole[:at] + data.draw(st.sampled_from((b"", byte))) + whole[at + data.draw(st.integers(0, 1)) :]
    )
    if changed != whole:
        check(whole, at, changed)


def test_doubling_a_byte_in_a_row_of_equal_ones_is_found_too(sample):
    """Put in beside its like, a byte has no place of its own: the line is found by its sum all the same."""
    for at in range(len(sample)):
        assert found_at(sample[:at] + sample[at : at + 1] + sample[at:])


def test_what_is_odd_about_the_last_line_is_told_to_who_reads_and_who_writes(tmp_path, sample):
    path = tmp_path / "HB-1.jsonl"
    path.write_bytes(sample[:-1])
    seen = Journal.open(path, write=False)
    assert seen.warnings == ["HB-1.jsonl, line 4, is whole but has no line end."]
    assert path.read_bytes() == sample[:-1]
    with Journal.open(path) as journal:
        assert journal.warnings == [f"{seen.warnings[0]} It was put there."]
        assert journal.job == seen.job
        assert journal.record(reading(minutes=30)).number == 5
    assert path.read_bytes().startswith(sample)
    assert not list(tmp_path.glob("*.torn"))


def test_a_changed_line_is_named_and_nothing_is_repaired(tmp_path, sample):
    path = tmp_path / "HB-1.jsonl"
    for changed, line in ((sample[:-1] + b"x", 4), (sample + b"x", 5), (sample + b"\n", 5)):
        path.write_bytes(changed)
        for write in (False, True):
            with pytest.raises(JournalError, match=rf"HB-1\.jsonl, line {line}, cannot be trusted"):
                Journal.open(path, write)
        assert path.read_bytes() == changed
    assert [p.name for p in tmp_path.iterdir() if p.suffix != ".lock"] == ["HB-1.jsonl"]


def test_lines_missing_at_the_end_do_not_show_in_the_file_but_against_the_hash_on_paper(tmp_path, sample):
    path = tmp_path / "HB-1.jsonl"
    path.write_bytes(sample)
    on_paper = Journal.open(path, write=False).head
    path.write_bytes(b"".join(sample.splitlines(keepends=True)[:-1]))
    shortened = Journal.open(path, write=False)
    assert shortened.warnings == []
    assert shortened.head != on_paper
    assert shortened.head.lines == on_paper.lines - 1

"""What no program of ours writes is refused, however well it is chained."""

from __future__ import annotations

import json
from hashlib import sha256

import pytest

from readiness.records import lines
from readiness.records.journal import Journal, JournalError
from tests.records.test_journal import begun, reading, sample

__all__ = ["sample"]


def rewritten(data: bytes, number: int, **changed) -> bytes:
    """A journal whose hashes were worked out anew after one line of it was changed."""
    written, prev = b"", ""
    for n, line in enumerate(data.splitlines(), 1):
        fields = {k: v for k, v in json.loads(line).items() if k not in ("prev", "sum")}
        fields |= changed if n == number else {}
        plain = json.dumps({**fields, "prev": prev}, separators=(",", ":")).encode()[:-1]
        written += (whole := plain + b',"sum":"%s"}' % sha256(plain).hexdigest()[:16].encode()) + b"\n"
        prev = sha256(whole).hexdigest()
    return written


@pytest.mark.parametrize(
    ("number", "changed", "what"),
    [
        (3, {"at": "2026-05-04T08:59:00Z"}, "its time is before"),
        (3, {"at": "2026-05-04T09:02:00"}, "no zone"),
        (2, {"text": "x" * lines.LONGEST}, "longer than any entry"),
        (4, {"entry": "abc"}, "do not fit its kind"),
        (4, {"entry": 2.5}, "do not fit its kind"),
    ],
)
def test_what_the_program_never_writes_is_refused_however_well_it_is_chained(
    tmp_path, sample, number, changed, what
):
    path = tmp_path / "HB-1.jsonl"
    path.write_bytes(rewritten(sample, number))
    assert Journal.open(path, write=False).warnings == []
    path.write_bytes(rewritten(sample, number, **changed))
    with pytest.raises(JournalError, match=f"line {number}, .*{what}"):
        Journal.open(path)


def test_a_line_that_is_too_long_is_not_kept(tmp_path):
    with begun(tmp_path) as journal:
        before = journal.path.read_bytes()
        with pytest.raises(JournalError, match="cannot be kept: it is longer"):
            journal.record(reading(note="x" * lines.LONGEST))
        assert journal.path.read_bytes() == before
        assert journal.record(reading()).number == 2

"""What pairs of level readings show of a level's zero error, from a job and from the lines of its journal."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest

from readiness.job import Event, Fix, Job, Reading
from readiness.records.journal import Journal
from readiness.records.listing import job_line
from readiness.records.zeros import ZeroSeen, zeros_in, zeros_of
from tests.shop import MOMENT

MINUTE = timedelta(minutes=1)


def read(question: str, value: float, minute: float = 0.0, level: str = "level-1", **more: object) -> Reading:
    return Reading(
        check="floor", question=question, value=value, at=MOMENT + minute * MINUTE, by="A. Test", unit="mm/m",
        instrument=level, **more,
    )  # fmt: skip


def job(*readings: Reading, **more: object) -> Job:
    return Job(
        job="HB-1", sheet="pipit-front", bay="bay-4", sides=("single",), opened=MOMENT, by="A. Test",
        readings=readings, **more,
    )  # fmt: skip


def test_half_the_sum_is_the_zero_error():
    """A floor that rises 2 mm/m read with a level that shows 0.3 too much: 2.3, and turned -1.7."""
    found = zeros_of(job(read("run.rf-lf.1", 2.3), read("run.rf-lf.2", -1.7, 1)))
    assert [(z.level, z.at, z.pairs) for z in found] == [("level-1", MOMENT + MINUTE, 1)]
    assert found[0].zero == pytest.approx(0.3)


def test_several_pairs_have_their_mean_and_each_level_its_own():
    found = zeros_of(
        job(
            read("run.rf-lf.1", 2.3), read("run.rf-lf.2", -1.7), read("run.lr-lf.1", 0.5), read("run.lr-lf.2", 0.3),
            read("quick.lf-reflector.2.1", 1.0, 3, "level-2"), read("quick.lf-reflector.2.2", -1.2, 4, "level-2"),
        )
    )  # fmt: skip
    assert [(z.level, z.pairs) for z in found] == [("level-1", 2), ("level-2", 1)]
    assert [z.zero for z in found] == pytest.approx([0.35, -0.1])


@pytest.mark.parametrize(
    "readings",
    [
        (read("run.rf-lf.1", 2.3),),
        (read("run.rf-lf.2", 2.3),),
        (read("run.rf-lf.1", 2.3), read("run.lr-lf.2", -1.7)),
        (read("run.rf-lf.1", 2.3), read("run.rf-lf.2", -1.7, level="level-2")),
        (read("run.rf-lf.1", 2.3, level=""), read("run.rf-lf.2", -1.7, level="")),
    ],
    ids=["once", "only turned", "other runs", "two levels", "no level"],
)
def test_what_is_no_pair_shows_nothing(readings):
    assert zeros_of(job(*readings)) == ()


@pytest.mark.parametrize(
    "between",
    [
        {"events": (Event(event="car_moved", at=MOMENT + 2 * MINUTE, by="x"),)},
        {"fixes": (Fix(check="floor", question="run.rf-lf", at=MOMENT + 2 * MINUTE, by="x"),)},
    ],
    ids=["event", "fix"],
)
def test_what_happened_between_the_two_may_have_changed_the_slope(between):
    pair = (read("run.rf-lf.1", 2.3), read("run.rf-lf.2", -1.7, 3))
    assert zeros_of(job(*pair, **between)) == ()
    again = (*pair, read("run.rf-lf.1", 2.5, 5), read("run.rf-lf.2", -1.5, 6))
    assert [z.zero for z in zeros_of(job(*again, **between))] == pytest.approx([0.5])


@pytest.fixture
def path(tmp_path) -> Path:
    with Journal.create(
        tmp_path, job="HB-1", sheet="pipit-front", bay="bay-4", sides=("single",), by="A. Test", at=MOMENT
    ) as journal:
        wrong = journal.record(read("run.rf-lf.1", 23.0, 1))
        journal.record(read("run.rf-lf.2", -1.7, 2))
        journal.instead(wrong, read("run.rf-lf.1", 2.3, 3), "mistyped", "A. Test")
    return tmp_path / "HB-1.jsonl"


def test_a_list_of_jobs_tells_it_and_what_was_mistyped_counts_no_more(path):
    (seen,) = job_line(path).zeros
    assert (seen.level, seen.pairs) == ("level-1", 1)
    assert seen.zero == pytest.approx(0.3)


def test_lines_that_do_not_hold_together_show_nothing_and_stop_nobody(path):
    data = path.read_bytes()
    assert len(zeros_in(data)) == 1
    assert zeros_in(data.replace(b"-1.7", b"-9.7")) == ()
    assert zeros_in(b'"question":"run.a-b.2"') == ()
    assert zeros_in(b"") == ()


def test_a_job_without_pairs_is_not_looked_through(monkeypatch, path):
    monkeypatch.setattr("readiness.records.zeros.lines.decode", lambda data: pytest.fail("read"))
    assert zeros_in(b'{"question":"pressure.lf"}\n') == ()
    assert isinstance(ZeroSeen("a", MOMENT, 0.1, 2), ZeroSeen)

"""What is typed in from paper took place when the paper says: never later than it was typed, never out of order."""

from __future__ import annotations

from datetime import timedelta

import pytest

from readiness.job import Event, Fix, Reading, Waiver
from readiness.records.history import stories
from readiness.records.journal import Journal, JournalError
from readiness.records.lines import decode, encode
from readiness.records.quick_look import quick_look
from tests.shop import MOMENT

READ = MOMENT - timedelta(minutes=40)


def pressure(value: float) -> Reading:
    return Reading(
        check="tyres", question="pressure.lf", value=value, unit="kPa", text=f"{value:g}", at=MOMENT, by="Odo Brack",
        instrument="gauge-1",
    )  # fmt: skip


@pytest.fixture
def journal(tmp_path):
    with Journal.create(
        tmp_path,
        job="HB-1",
        sheet="tern-rear-corner",
        bay="bay-2",
        sides=("left",),
        by="Odo Brack",
        at=MOMENT,
    ) as made:
        yield made


def test_a_reading_counts_from_when_it_was_read(journal):
    journal.take_as_of(READ, MOMENT)
    kept = journal.record(pressure(231.0))
    assert kept.at == READ
    assert journal.job.readings == (kept,)
    assert journal.job.opened == READ  # the job began with it
    assert journal.last_at == MOMENT  # the line says when it was typed
    journal.take_as_of(None, MOMENT)
    assert journal.record(pressure(232.0)).at == MOMENT


def test_within_a_minute_one_thing_came_after_the_other(journal):
    """So that a reading is before the fix that it led to, and the next one after it."""
    journal.take_as_of(READ, MOMENT)
    low = journal.record(pressure(214.0))
    fix = journal.fix(Fix(check="tyres", question="pressure.lf", at=MOMENT, by="Odo Brack", text="inflated"))
    event = journal.happen(Event(event="tyre_touched", at=MOMENT, by="Odo Brack"))
    good = journal.record(pressure(231.0))
    assert READ == low.at < fix.at < event.at < good.at < READ + timedelta(seconds=1)
    assert [e.at for e in journal.entries] == sorted(e.at for e in journal.entries)


def test_a_waiver_is_somebodys_word_at_the_moment_when_it_is_given(journal):
    journal.take_as_of(READ, MOMENT)
    assert journal.waive(Waiver(check="light", reason="no lamp", at=MOMENT, by="Odo Brack")).at == MOMENT


def test_nothing_was_read_in_the_future(journal):
    with pytest.raises(
        JournalError, match=r"10:01 is still to come\. Yesterday's is written 2026-11-24 10:01\."
    ):
        journal.take_as_of(MOMENT + timedelta(minutes=1), MOMENT)
    assert journal.taken is None


def test_paper_is_typed_in_in_any_order(journal):
    """The lines of the file stay in the order in which they were typed."""
    journal.take_as_of(READ, MOMENT)
    journal.fix(Fix(check="tyres", question="pressure.lf", at=MOMENT, by="Odo Brack"))
    journal.take_as_of(READ - timedelta(minutes=5), MOMENT)
    journal.record(pressure(214.0))
    job = journal.job
    assert job.readings[0].at < job.fixes[0].at
    journal.take_as_of(READ + timedelta(minutes=5), MOMENT)
    journal.record(pressure(231.0))
    assert [e.at for e in journal.entries] == [MOMENT] * 4
    [story] = stories(journal.entries).values()
    assert story.in_short == "measured twice, fix in between"


def test_the_file_says_both_times_and_is_read_back_alike(journal):
    journal.take_as_of(READ, MOMENT)
    journal.record(pressure(231.0))
    journal.fix(Fix(check="tyres", question="pressure.lf", at=MOMENT, by="Odo Brack"))
    data = journal.path.read_bytes()
    assert quick_look(data) is not None
    with Journal.open(journal.path, write=False) as again:
        assert again.job == journal.job
    [story] = stories(journal.entries).values()
    assert [(s.at >= MOMENT, s.took_place < MOMENT) for s in story.steps] == [(True, True)] * 2


@pytest.mark.parametrize("kind", ["reading", "fix", "event"])
def test_a_time_after_that_of_its_line_is_refused(journal, kind):
    journal.take_as_of(READ, MOMENT)
    journal.record(pressure(231.0))
    journal.fix(Fix(check="tyres", question="pressure.lf", at=MOMENT, by="Odo Brack"))
    journal.happen(Event(event="tyre_touched", at=MOMENT, by="Odo Brack"))
    forged, prev = b"", ""
    for entry in decode(journal.path.read_bytes()).entries:
        if entry.kind == kind:
            entry.body["taken"] = (entry.at + timedelta(seconds=1)).isoformat()
        line = encode(entry, prev)
        forged, prev = forged + line, decode(forged + line).last
    assert quick_look(forged) is None
    journal.close()
    journal.path.write_bytes(forged)
    with pytest.raises(JournalError, match="taken at no time before"):
        Journal.open(journal.path, write=False)

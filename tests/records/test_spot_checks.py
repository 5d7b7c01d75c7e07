"""A spot check in the journal of a job: kept as it is entered, taken up again, never taken back; the end does not stop it."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from readiness.job import Again, Drawn, Ended, Event, Reading, SpotCheck
from readiness.jobstate import job_state
from readiness.measure.draw import drawn
from readiness.records.account import account
from readiness.records.history import stories
from readiness.records.journal import Journal, JournalError
from readiness.records.shop import ShopError
from readiness.records.sound import looked_through
from readiness.records.spot_checks import LeftOut, SpotChecking, Stopped, Typed
from readiness.spotcheck.candidates import candidates
from readiness.spotcheck.words import notices, open_check, told_of
from readiness.verdict import judge
from tests.records.test_journal import AT, begun, reading
from tests.shop import MOMENT, demo_shop

LATE = AT + timedelta(minutes=9)
NOW = MOMENT + timedelta(minutes=5)
OPEN, ENDED = "HB-0418", "HB-0422"


@pytest.fixture
def folder(tmp_path):
    return demo_shop(tmp_path)


class Honest:
    """Reads what was read first, or something farther off, or leaves out; and stops after some."""

    def __init__(self, job, *, off: float = 0.0, stop_after: int = 99, leave_out: str = "") -> None:
        self._job, self._off, self._left, self._leave_out = job, off, stop_after, leave_out
        self.came: list[Again] = []

    def begin(self, item, question):
        if not self._left:
            raise Stopped
        self._left -= 1

    def answer(self, asked):
        if self._leave_out and not asked.beside:
            raise LeftOut(self._leave_out)
        tool = asked.offers[0].id if asked.offers else ""
        check, side, key = asked.place
        first = [r for r in self._job.readings if (r.check, r.side, r.question) == (check, side, key)][-1]
        if isinstance(first.value, str):
            return Typed(first.value, tool)
        share = 0.0 if asked.beside else self._off
        return Typed(f"{first.value * (1 - share):.6f} {first.unit}", tool)

    def refused(self, asked, why):
        raise AssertionError(why)

    def sure(self, asked, reading):
        return True

    def outcome(self, drawn, again):
        self.came.append(again)


def checking(folder, journal, now=NOW):
    return SpotChecking(folder, journal, "Tamsin Vale", lambda: now)


def held(folder, job=OPEN):
    return folder.journal(job, by="Tamsin Vale", at=NOW)


def take_all(check, asker):
    try:
        for item in check.items():
            check.take(item, asker)
    except Stopped:
        pass


# --- drawn ---------------------------------------------------------------------------------------


def test_the_draw_is_on_the_disk_before_anything_is_asked_and_can_be_repeated(folder):
    with held(folder) as journal:
        check = checking(folder, journal).draw(5, 11)
        lines = journal.path.read_bytes().count(b"\n")
    assert check.number == lines
    with folder.journal(OPEN, write=False) as again:
        [kept] = again.job.spot_checks
        assert kept == check
        told = stories(again.entries)
        touched = {place for place, story in told.items() if sum(s.what != "noted" for s in story.steps) > 1}
        found = candidates(folder.visit(again.job), kept.at, touched).found
    assert len(found) == kept.of
    repeated = [found[n] for n in drawn([c.weight for c in found], 5, kept.seed)]
    assert [d.entry for d in kept.drawn] == [c.last.number for c in repeated]
    assert [d.why for d in kept.drawn] == [c.why for c in repeated]


def test_without_a_seed_one_is_drawn_and_kept(folder):
    with held(folder) as journal:
        seeds = {checking(folder, journal).draw(1).seed for _ in range(3)}
    assert len(seeds) == 3, "by chance the same once in a thousand million"


def test_a_job_of_which_nothing_can_be_taken_again_says_why(folder):
    with held(folder) as journal:
        for event in ("car_moved", "tyre_touched", "load_changed", "door_opened", "light_changed", "bay_rearranged",
                      "power_off", "ignition_cycled", "sensor_touched", "got_in"):  # fmt: skip
            journal.happen(Event(event=event, at=NOW, by="x"))
        check = checking(folder, journal, NOW + timedelta(days=9))
        with pytest.raises(ShopError, match=r"No reading of HB-0418 can be taken again.*voided: ") as told:
            check.draw(5)
        assert journal.job.spot_checks == ()
    assert len(str(told.value)) < 1_500


# --- kept as entered -----------------------------------------------------------------------------


def test_who_stops_loses_nothing_and_goes_on_with_what_is_to_come(folder):
    with held(folder) as journal:
        check = checking(folder, journal)
        check.draw(4, 2)
        take_all(check, Honest(journal.job, stop_after=2))
        first = [a.entry for a in journal.job.again]
    assert len(first) == 2
    with held(folder) as journal:
        check = checking(folder, journal)
        left = [d.entry for d in check.open.to_come]
        assert len(left) == 2
        take_all(check, Honest(journal.job))
        assert check.open is None
        assert check.told.agrees
        assert sorted(a.entry for a in journal.job.again) == sorted(first + left)


def test_what_was_found_is_told_with_the_first_reading(folder):
    with held(folder) as journal:
        check = checking(folder, journal)
        check.draw(6, 3)
        take_all(check, Honest(journal.job, off=0.1))
        numbers = [a for a in journal.job.again if a.outcome == "differs"]
        assert len(numbers) > 1
        assert len(notices(journal.job)) == len(numbers)
        told = stories(journal.entries)
    for again in numbers:
        story = next(s for s in told.values() if any(step.of == again.entry for step in s.steps))
        [step] = [s for s in story.steps if s.what == "checked"]
        assert step.by == "Tamsin Vale"
        assert "DOES NOT AGREE" in step.text
        assert "spot-checked" in story.in_short


def test_what_was_taken_back_or_voided_meanwhile_is_said_to_be_and_not_asked(folder):
    with held(folder) as journal:
        check = checking(folder, journal)
        check.draw(56, 5)
        rows = check.told.check.drawn
        first = next(r for r in journal.job.readings if r.number == rows[0].entry)
        journal.withdraw(first.number, "mistyped", "x", NOW)
        journal.happen(Event(event="bay_rearranged", at=NOW + timedelta(seconds=1), by="x"))
        later = checking(folder, journal, NOW + timedelta(minutes=1))
        asker = Honest(journal.job)
        take_all(later, asker)
        gone = {a.entry: a.why for a in journal.job.again if a.outcome == "not compared"}
        assert open_check(journal.job) is None
    assert gone[first.number] == "its first reading was taken back since"
    assert any("something in the bay was moved" in why for why in gone.values())
    assert not {a.entry for a in asker.came} & set(gone)


def test_a_disagreement_is_told_as_long_as_the_reading_stands(folder):
    with held(folder) as journal:
        check = checking(folder, journal)
        check.draw(6, 3)
        take_all(check, Honest(journal.job, off=0.1))
        before = notices(journal.job)
        gone = next(a for a in journal.job.again if a.outcome == "differs")
        journal.withdraw(gone.entry, "mistyped", "x", NOW)
        after = notices(journal.job)
    assert len(after) == len(before) - 1
    assert told_of(journal.job)[0].count("differs") == len(before), "that it was found stays told"


# --- no verdict changes, the end does not stop it ------------------------------------------------


@pytest.mark.parametrize("job", [OPEN, ENDED])
def test_no_verdict_changes(folder, job):
    with held(folder, job) as journal:
        before = folder.visit(journal.job)
        late = journal.last_at
        check = checking(folder, journal, max(NOW, late + timedelta(minutes=1)))
        check.draw(5, 1)
        take_all(check, Honest(journal.job, off=0.05))
        after = folder.visit(journal.job)
        now = check.now + timedelta(minutes=1)
    assert after.job.again
    assert judge(before, now).sides == judge(after, now).sides
    one, other = account(before, now), account(after, now)
    assert {s: (a.verdict, a.at, a.basis) for s, a in one.sides.items()} == {
        s: (a.verdict, a.at, a.basis) for s, a in other.sides.items()
    }
    last = journal.last_at
    assert last > late
    assert job_state(before, late, now) == job_state(after, last, now)


def test_a_go_that_had_lapsed_before_it_is_still_listed_as_lapsed(folder):
    with held(folder) as journal:
        late, visit = journal.last_at, folder.visit(journal.job)
        check = checking(folder, journal, NOW + timedelta(days=2))
        check.draw(2, 1)
        take_all(check, Honest(journal.job, leave_out="the car is gone"))
        after, now = folder.visit(journal.job), check.now + timedelta(minutes=1)
    assert "lapsed" in job_state(visit, late, now).words
    assert job_state(visit, journal.last_at, now) != job_state(visit, late, now), (
        "had work gone on until then"
    )
    assert job_state(after, journal.last_at, now) == job_state(visit, late, now)


def test_an_ended_job_takes_a_spot_check_and_nothing_else(folder):
    with held(folder, ENDED) as journal:
        assert journal.job.ended is not None
        check = checking(folder, journal, journal.last_at + timedelta(days=3))
        check.draw(2, 1)
        take_all(check, Honest(journal.job, leave_out="the car is gone"))
        with pytest.raises(JournalError, match="was ended"):
            journal.record(reading())
        with pytest.raises(JournalError, match="was ended"):
            journal.happen(Event(event="car_moved", at=journal.last_at, by="x"))
    assert looked_through(journal.path).fault == ""
    with folder.journal(ENDED, write=False) as again:
        assert again.job == journal.job
        assert [a.why for a in again.job.again] == ["the car is gone"] * 2


def test_what_was_known_before_it_is_known_without_it(folder):
    with held(folder) as journal:
        check = checking(folder, journal)
        check.draw(3, 1)
        take_all(check, Honest(journal.job))
        seen = folder.visit(journal.job)
        assert seen.until(NOW - timedelta(seconds=1)).job.spot_checks == ()
        assert seen.until(NOW - timedelta(seconds=1)).job.again == ()
        assert len(seen.until(NOW + timedelta(minutes=1)).job.again) == 3


# --- what a journal refuses ----------------------------------------------------------------------


def sampled(journal: Journal, *entries: int, of: int = 9) -> SpotCheck:
    rows = tuple(Drawn(entry=n, what="Tyres, left front pressure", weight=1.0) for n in entries)
    return journal.draw(SpotCheck(at=LATE, by="F", seed=1, of=of, drawn=rows))


def found(check: int, entry: int, **more) -> Again:
    return Again(spot_check=check, entry=entry, at=LATE, by="F", what="it", outcome="agrees", **more)


@pytest.mark.parametrize("entries", [(), (1,), (99,), (2, 2), (3,)])
def test_a_draw_is_of_readings_that_stand_each_once(tmp_path, entries):
    with begun(tmp_path) as journal:
        journal.record(reading())
        journal.record(reading(minutes=2))
        journal.withdraw(3, "mistyped", "x", LATE)
        before = journal.path.read_bytes()
        with pytest.raises(JournalError, match="cannot be kept"):
            sampled(journal, *entries)
        assert journal.path.read_bytes() == before


def test_a_reading_is_taken_again_once_and_only_if_it_was_drawn(tmp_path):
    with begun(tmp_path) as journal:
        journal.record(reading())
        journal.record(reading(minutes=2))
        check = sampled(journal, 2)
        for again in (found(check.number, 3), found(2, 2), found(99, 2)):
            with pytest.raises(JournalError, match="cannot be kept"):
                journal.check_again(again)
        journal.check_again(found(check.number, 2))
        with pytest.raises(JournalError, match="taken again before"):
            journal.check_again(found(check.number, 2))
        assert len(journal.job.again) == 1


def test_nothing_of_it_is_taken_back_nor_undone(tmp_path):
    with begun(tmp_path) as journal:
        first = journal.record(reading())
        check = sampled(journal, first.number)
        kept = journal.check_again(found(check.number, first.number))
        for number in (check.number, kept.number):
            with pytest.raises(JournalError, match="no entry"):
                journal.withdraw(number, "it does not suit", "x", LATE)
        assert journal.latest == (first.number, first), "undo goes past it"


def test_a_unit_that_nobody_knows_is_refused(tmp_path):
    with begun(tmp_path) as journal:
        first = journal.record(reading())
        check = sampled(journal, first.number)
        with pytest.raises(JournalError, match="its unit is none that is known"):
            journal.check_again(found(check.number, first.number, unit="furlong"))


def both(journal: Journal, *entries: Again) -> None:
    with journal.together():
        for again in entries:
            journal.check_again(again)


def test_kept_together_or_not_at_all(tmp_path):
    with begun(tmp_path) as journal:
        first, second = journal.record(reading()), journal.record(reading(minutes=2))
        check = sampled(journal, first.number, second.number)
        before = journal.path.read_bytes()
        with pytest.raises(JournalError, match="cannot be kept"):
            both(journal, found(check.number, first.number), found(check.number, 99))
        assert journal.path.read_bytes() == before
        journal.check_again(found(check.number, first.number))
        assert len(open_check(journal.job).to_come) == 1


def test_a_byte_of_its_lines_that_is_changed_is_found(tmp_path):
    with begun(tmp_path) as journal:
        first = journal.record(reading())
        journal.end(Ended(at=LATE, by="x"))
        check = sampled(journal, first.number)
        journal.check_again(found(check.number, first.number, said="231 kPa"))
    sound = journal.path.read_bytes()
    begin = sound.index(b'{"n":4,')
    for at in range(begin, len(sound) - 1, 3):
        journal.path.write_bytes(sound[:at] + bytes([sound[at] ^ 1]) + sound[at + 1 :])
        line = sound[:at].count(b"\n") + 1
        with pytest.raises(JournalError) as fault:
            Journal.open(journal.path, write=False)
        assert fault.value.line in (line, line + 1)


def test_a_journal_from_before_reads_as_it_did(tmp_path):
    with begun(tmp_path) as journal:
        journal.record(reading())
        assert (journal.job.spot_checks, journal.job.again) == ((), ())
        assert isinstance(journal.job.readings[0], Reading)
        assert journal.job.opened.astimezone(UTC) == datetime(2026, 5, 4, 9, 0, tzinfo=UTC)


def test_the_job_was_not_worked_on_any_longer_for_it(folder):
    with held(folder, ENDED) as journal:
        before = folder.visit(journal.job).last_entry
        check = checking(folder, journal, journal.last_at + timedelta(days=3))
        check.draw(2, 1)
        take_all(check, Honest(journal.job))
        after = folder.visit(journal.job)
    assert after.last_entry == before
    assert account(after, check.now + timedelta(days=1)).last_entry == before

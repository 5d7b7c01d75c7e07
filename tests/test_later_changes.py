"""What is done later changes nothing of what held before: a result keeps the go under which it was read."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from readiness.closing import SideClosing, closing
from readiness.job import Standing
from readiness.records.account import account
from readiness.watch import told_already
from readiness.wizard.bay_search import Taken
from readiness.wizard.closing import Close
from readiness.wizard.rows import Row
from readiness.wizard.session import Session
from tests.shop import Clock, demo_shop

LEFT_GO, WITH_WAIVER = "HB-0417", "HB-0425"
"""Left sides of a demo car, in bay 2, each ready for its calibration."""


@dataclass
class Bench:
    """A job at its screen without the screen."""

    session: Session
    clock: Clock

    def rows(self, title: str) -> list[Row]:
        steps = (*self.session.steps, *self.session.closing_steps)
        step = next(s for s in steps if s.title == title)
        return self.session.rows(step, self.session.verdict())

    def answer(self, title: str, *texts: str) -> None:
        """The questions of a step from the first on."""
        for k, text in enumerate(texts):
            self.session.answer(self.rows(title)[k], text)

    def left(self) -> SideClosing:
        return closing(self.session.visit, self.session.clock()).sides["left"]

    def told(self) -> tuple[str, datetime, str]:
        """Of the left side on paper."""
        side = account(self.session.visit, self.session.clock()).sides["left"]
        return side.verdict.verdict, side.at, side.said


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    return begun(tmp_path, LEFT_GO)


def begun(folder: Path, job: str) -> Bench:
    shop, clock = demo_shop(folder), Clock()
    return Bench(Session(shop, shop.journal(job), "Odo Brack", clock), clock)


def test_the_other_side_on_another_place(bench: Bench) -> None:
    """The right side needs the car the other way round: the place of the left side is over, not undone."""
    session = bench.session
    session.take(Taken("bay-2", Standing(x=3.0, y=2.0, heading=0.0), "tapes"))
    placed = session.journal.job.readings[-3:]
    session.take(Taken("bay-2", Standing(x=3.0, y=2.0, heading=180.0), "tapes"))
    assert session.journal.job.readings[-6:-3] == placed
    assert [r.value for r in session.journal.job.readings[-3:]] == [3.0, 2.0, 180.0]
    assert session.placed
    session.take(Taken("bay-2"))
    assert not session.placed


def test_the_other_side_in_another_bay(bench: Bench) -> None:
    bench.answer("Result", "y", "0.3")
    before = bench.told()
    assert before[0] == "go"
    bench.session.take(Taken("bay-3"))
    assert bench.told() == before
    assert bench.session.visit.bay.bay == "bay-3"
    assert bench.session.verdict().bay == "bay-3"


def test_a_side_more(bench: Bench) -> None:
    bench.answer("Result", "y", "0.3")
    before = bench.told()
    bench.session.to_sides(("left", "right"))
    assert bench.told() == before


def test_a_side_with_a_result_stays_in_the_job(bench: Bench) -> None:
    """It would be on no paper and in no list any more."""
    bench.session.to_sides(("left", "right"))
    bench.answer("Result", "y", "0.3")
    with pytest.raises(ValueError, match="The left side has its result, so it stays in this job"):
        bench.session.to_sides(("right",))
    assert bench.session.journal.job.sides == ("left", "right")


def test_a_check_that_counts_again(tmp_path: Path) -> None:
    bench = begun(tmp_path, WITH_WAIVER)
    bench.answer("Result", "y", "0.3")
    before = bench.told()
    assert before[0] == "go-with-waivers"
    bench.session.count_again("light", "")
    assert bench.told() == before
    assert bench.session.journal.job.waivers == ()


def test_what_a_job_was_is_as_it_was_until_it_was_changed(bench: Bench) -> None:
    session = bench.session
    start = session.clock()
    session.to_sides(("left", "right"))
    session.take(Taken("bay-1"))
    end = session.clock()
    visit = session.visit
    changed = [s.until for s in visit.job.earlier]
    moments = [start, *changed, end]
    told = [(v.job.sides, v.bay.bay) for v in map(visit.until, moments)]
    assert told == [
        (("left",), "bay-2"),
        (("left", "right"), "bay-2"),
        (("left", "right"), "bay-1"),
        (("left", "right"), "bay-1"),
    ]
    assert visit.until(changed[0] - timedelta(microseconds=1)).job.sides == ("left",)


def test_a_result_and_the_end_keep_what_they_were_judged_by(bench: Bench) -> None:
    journal = bench.session.journal
    bench.answer("Fault scan", "y")
    assert journal.grounds == ()
    bench.answer("Result", "y", "0.3")
    assert len(journal.grounds) == 1, "the same for both answers"
    kept = {g.id for g in journal.grounds[0].grounds if g.kind == "instrument"}
    assert {r.instrument for r in journal.job.readings if r.instrument} <= kept
    Close(bench.session).end("")
    assert len(journal.grounds) == 1
    assert journal.job.ended is not None


# --- what was only typed anew ------------------------------------------------------------------------


def row_of(bench: Bench, title: str, key: str) -> Row:
    return next(row for row in bench.rows(title) if row.question.key == key)


def later(bench: Bench, minutes: float) -> None:
    bench.clock.at += timedelta(minutes=minutes)


def test_a_reading_that_is_typed_right_grows_no_younger(bench: Bench) -> None:
    """A go ends when what it rests on is too old: correcting a typing mistake, or naming the tool, is no new reading."""
    row = row_of(bench, "Tyres", "pressure.lf")
    ends = bench.session.verdict().sides["left"].finding("tyres").lapses_at
    corrected = bench.session.answer(row, "232", "correct")
    assert corrected.at == row.readings[-1].at
    bench.session.retell(row_of(bench, "Tyres", "pressure.lf"))
    told = row_of(bench, "Tyres", "pressure.lf")
    assert [(r.value, r.at) for r in told.readings] == [(232.0, row.readings[-1].at)]
    assert bench.session.verdict().sides["left"].finding("tyres").lapses_at == ends


def test_what_undid_a_reading_undid_it_also_where_it_was_typed_wrong(bench: Bench) -> None:
    row = row_of(bench, "Tyres", "pressure.lf")
    bench.session.happened("tyre_touched")
    bench.session.answer(row, "232", "correct")
    assert bench.session.verdict().sides["left"].finding("tyres").outcome == "lapsed"


def test_a_typing_mistake_in_a_result_undoes_no_road_test(bench: Bench) -> None:
    bench.answer("Result", "y", "1.9")
    before = bench.left().read_at
    bench.answer("Fault scan", "y")
    bench.answer("Road test", "y", "ring road", "d", "l", "warned", "y")
    assert bench.left().state == "done"
    later(bench, 200)
    bench.session.answer(row_of(bench, "Result", "azimuth"), "0.9", "correct")
    close = bench.left()
    assert close.finding("result").deciding.value == 0.9
    assert (close.state, close.read_at, close.said) == ("done", before, "")


def test_a_result_of_another_calibration_is_of_its_own_time(bench: Bench) -> None:
    bench.answer("Result", "y", "5")
    bench.answer("Fault scan", "y")
    later(bench, 200)
    bench.session.answer(row_of(bench, "Result", "azimuth"), "0.9")
    close = bench.left()
    assert close.ready is not None
    assert close.ready.verdict == "no-go"
    assert "hours after the go had" in close.said or "minutes after the go had" in close.said
    assert close.finding("rescan").outcome == "lapsed"


# --- a clock that was set back ---------------------------------------------------------------------


def set_back(bench: Bench) -> Bench:
    """As after a change of the battery on the board, or on another machine."""
    last = bench.session.journal.last_at
    bench.session = Session(
        bench.session.folder, bench.session.journal, "Odo Brack", Clock(last - timedelta(hours=1))
    )
    return bench


def test_a_clock_that_is_behind_hides_nothing_on_the_screen(bench: Bench) -> None:
    before = len(bench.session.journal.job.readings)
    there = set_back(bench).session
    assert there.verdict().word == "go"
    assert "is behind the last entry" in there.journal.warnings[-1]
    bench.answer("Result", "y", "0.3")
    assert len(there.journal.job.readings) == before + 2
    assert [r.answered for r in bench.rows("Result")] == [True, True]
    side = there.closing().sides["left"]
    assert (side.finding("result").outcome, side.said) == ("pass", "")


def test_a_scan_before_the_result_is_before_it_whatever_the_clock_says(bench: Bench) -> None:
    set_back(bench)
    bench.answer("Fault scan", "y")
    bench.answer("Result", "y", "0.3")
    assert bench.left().finding("rescan").outcome == "lapsed"
    bench.answer("Fault scan", "y")
    assert bench.left().finding("rescan").outcome == "pass"


def test_an_event_is_no_old_news_after_another_reading_whatever_the_clock_says(bench: Bench) -> None:
    session = set_back(bench).session
    closed = [row.readings[-1].text for row in bench.rows("Closed")]
    session.happened("door_opened")
    assert told_already(session.visit, "door_opened")
    bench.answer("Closed", *closed)
    assert session.verdict().word == "go"
    assert told_already(session.visit, "door_opened") is None

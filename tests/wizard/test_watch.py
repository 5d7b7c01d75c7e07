"""The watch: it counts down, takes what happens, and leads to what that undid and to nothing else."""

from __future__ import annotations

import errno
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest

from readiness.job import VOID_EVENTS
from readiness.records.journal import JournalError
from readiness.records.shop import ShopFolder
from readiness.verdict import judge
from readiness.wizard import watch_words
from readiness.wizard.app import ReadinessApp
from readiness.wizard.dialogs import Pick, Tell
from readiness.wizard.walk import Walk
from readiness.wizard.watch import Watch
from tests.shop import MOMENT, Clock, demo_shop
from tests.wizard.driver import Technician, settled, until
from tests.wizard.test_walk import shown, typed_texts

LAPSES = MOMENT + timedelta(minutes=11)
"""When the go of HB-0417 lapses: 'Closed and still' was answered at 09:41 and holds half an hour."""


JOBS = ("HB-0417", "HB-0418", "HB-0420")


def few_jobs(to: Path) -> ShopFolder:
    """The demo shop with the jobs that these tests open; the list of all would take longer than the tests."""
    folder = demo_shop(to)
    for path in folder.jobs_folder.glob("*.jsonl"):
        if path.stem not in JOBS:
            path.unlink()
    return folder


@pytest.fixture
def folder(tmp_path):
    return few_jobs(tmp_path)


@pytest.fixture
def clock():
    return Clock(step=timedelta(milliseconds=10))


@pytest.fixture
def app(folder, clock):
    return ReadinessApp(folder.path, person="Odo Brack", clock=clock)


async def opened(app, pilot, folder, job: str = "HB-0417") -> Technician:
    await settled(app, pilot)
    app.screen.open_job(job)
    await settled(app, pilot)
    await until(pilot, lambda: isinstance(app.screen, Walk) and app.screen.verdict is not None)
    return Technician(app, pilot, typed_texts(folder, job))


async def watched(app, pilot, folder, job: str = "HB-0417") -> Technician:
    """The job opened, and from its go / no-go page one key further."""
    who = await opened(app, pilot, folder, job)
    await who.press("f10")
    await who.ask("w", Watch)
    await until(pilot, lambda: bool(app.screen._undone))
    return who


async def back(who: Technician, *keys: str) -> Walk:
    """Keys that lead from the watch back to the walk."""
    await who.press(*keys)
    await until(who.pilot, lambda: isinstance(who.app.screen, Walk))
    await who.pilot.pause()
    return who.walk


def said(app) -> str:
    return str(app.screen.query_one("#sentence").content)


def kept(folder, job: str = "HB-0417") -> list[str]:
    return [e.event for e in folder.journal(job, write=False).job.events]


def words(app) -> str:
    """What stands over the figures of each side."""
    return " | ".join(str(w.content) for w in app.screen.query("SideView .word"))


async def test_enter_on_the_page_of_a_go_watches_it(app, folder):
    async with app.run_test(size=(80, 24)) as pilot:
        who = await opened(app, pilot, folder)
        assert who.walk.on_verdict_page
        assert "Enter watch the time" in shown(app)
        await who.ask("enter", Watch)
        await until(pilot, lambda: "GO" in words(app))
        assert "left side, until 10:11" in words(app)
        assert "10:11  Closed and still" in shown(app)
        assert "10:41  Power" in shown(app)
        lines = shown(app).replace("\u00a0", " ").splitlines()
        for event in watch_words.EVENT_KEYS:
            assert any(line.lstrip().startswith(f"{event.key}   {event.words}") for line in lines), event
        assert any("light changed" in line and "ends Light" in line for line in lines)
        await who.press("enter")
        assert isinstance(app.screen, Watch)
        assert "Nothing is open" in said(app)
        walk = await back(who, "escape")
        assert walk.on_verdict_page
        await who.ask("f9")
        await who.press("t")
        await settled(app, pilot)
        assert kept(folder) == ["tyre_touched"]


def test_every_event_has_a_key_of_its_own():
    keys = [e.key for e in watch_words.EVENT_KEYS]
    assert sorted(e.event for e in watch_words.EVENT_KEYS) == sorted(VOID_EVENTS)
    assert len(set(keys)) == len(keys)
    assert not set(keys) & {"r", "o", "w"}


async def test_an_event_is_kept_once_and_ctrl_z_takes_back_nothing_else(app, folder, monkeypatch):
    async with app.run_test(size=(80, 24)) as pilot:
        who = await watched(app, pilot, folder)
        monkeypatch.setattr(app.screen.session.journal, "happen", _full)
        await who.press("d")
        assert "No space left" in said(app)
        assert "✓ GO" in words(app)
        monkeypatch.undo()
        await who.press("d", "d", "d")
        assert kept(folder) == ["door_opened"]
        assert "kept already" in said(app)
        assert "○ LAPSED" in words(app)
        await who.press("i")
        assert kept(folder) == ["door_opened", "ignition_cycled"]
        assert "undoes nothing that holds now" in said(app)
        await who.press("ctrl+z", "ctrl+z")
        assert kept(folder) == []
        assert "Taken back" in said(app)
        assert "✓ GO" in words(app)
        readings = len(folder.journal("HB-0417", write=False).job.readings)
        await who.press("ctrl+z")
        assert "No event was kept here" in said(app)
        assert len(folder.journal("HB-0417", write=False).job.readings) == readings


async def test_a_sensor_is_touched_on_one_side(app, folder):
    async with app.run_test(size=(80, 24)) as pilot:
        who = await watched(app, pilot, folder, "HB-0418")
        await who.ask("s", Pick)
        await who.press("r")
        await until(pilot, lambda: "Kept" in said(app))
        event = folder.journal("HB-0418", write=False).job.events[-1]
        assert (event.event, event.side) == ("sensor_touched", "right")
        left = app.screen.session.verdict().sides["left"]
        assert left.finding("cover").outcome == "pass", "the left one is as it was"
        await who.ask("s", Pick)
        await who.press("escape")
        await until(pilot, lambda: isinstance(app.screen, Watch))
        assert kept(folder, "HB-0418").count("sensor_touched") == 1


async def test_an_event_asks_only_for_what_it_undid_and_then_it_goes_again(app, folder, clock):
    async with app.run_test(size=(80, 24)) as pilot:
        who = await watched(app, pilot, folder)
        clock.at += timedelta(minutes=1)
        await who.press("d")
        assert kept(folder) == ["door_opened"]
        assert "To be answered again: Closed and still" in said(app)
        assert "LAPSED" in words(app)
        walk = await back(who, "enter")
        assert walk.step is not None
        assert walk.step.checks == ("closed",)
        answered = []
        while isinstance(app.screen, Walk):
            row = who.row
            assert row is not None
            answered.append(row.check.id)
            await who.answer(row)
            await pilot.pause()
        assert set(answered) == {"closed"}
        await until(pilot, lambda: "GO" in words(app))
        assert "until 10:31" in words(app)
    job = folder.journal("HB-0417", write=False).job
    assert judge(folder.visit(job), clock.at).go


async def test_the_word_changes_before_the_end_and_at_the_end(app, folder, clock):
    async with app.run_test(size=(80, 24)) as pilot:
        who = await watched(app, pilot, folder)
        screen = app.screen
        assert "✓ GO  left" in words(app)
        clock.at = LAPSES - timedelta(minutes=4, seconds=30)
        screen.look()
        await pilot.pause()
        assert "! GO, ENDS SOON  left side" in words(app).split(" | ")
        assert "begin nothing long now: Closed and still" in said(app)
        assert "min left" in shown(app)
        walk = await back(who, "enter")
        assert walk.row is not None
        assert walk.row.check.id == "closed"
        await who.press("f10")
        await who.ask("w", Watch)
        screen = app.screen
        clock.at = LAPSES
        screen.look()
        await pilot.pause()
        assert "○ LAPSED" in words(app)
        assert said(app).startswith(
            "Left side: the go lapsed at 10:11. To be answered again: Closed and still."
        )
        walk = await back(who, "enter")
        assert walk.step is not None
        assert walk.step.checks == ("closed",)


async def test_it_looks_again_by_itself(app, folder, clock, monkeypatch):
    """Nobody presses a key; the clock passes the end, and the next look is due."""
    monkeypatch.setattr(watch_words, "to_next_look", lambda left: 0.02)
    async with app.run_test(size=(80, 24)) as pilot:
        await watched(app, pilot, folder)
        clock.at = LAPSES
        await until(pilot, lambda: "LAPSED" in words(app))


async def test_the_other_side_reuses_what_holds(app, folder):
    async with app.run_test(size=(80, 24)) as pilot:
        who = await watched(app, pilot, folder)
        assert "2 of 18 to ask, the rest holds" in shown(app)
        assert "Bracket, Cover" in shown(app)
        walk = await back(who, "o")
        assert folder.journal("HB-0417", write=False).job.sides == ("left", "right")
        assert walk.row is not None
        assert (walk.row.check.id, walk.row.side) == ("bracket", "right")
        right = {(check, "right", key): text for (check, _, key), text in who.answers.items()}
        who.answers |= right
        asked = set()
        while isinstance(app.screen, Walk) and who.row is not None:
            asked.add((who.row.check.id, who.row.side))
            await who.answer(who.row)
            await pilot.pause()
        assert asked <= {("bracket", "right"), ("cover", "right")}


async def test_a_side_of_the_job_that_is_no_go_says_what_is_missing(app, folder):
    async with app.run_test(size=(120, 40)) as pilot:
        who = await opened(app, pilot, folder, "HB-0418")
        await who.press("f10")
        who.walk.form.on_resize()  # a form that is laid out late, hidden by now, takes no key from the page
        await pilot.pause()
        await who.ask("w", Watch)
        await until(pilot, lambda: bool(app.screen._undone))
        assert "✗ NO-GO  right side" in words(app)
        assert "1 of 18 to put right, the rest holds" in shown(app)
        walk = await back(who, "enter")
        assert walk.row is not None
        assert walk.row.check.id == "clear_area"


async def test_the_whole_sentence_is_seen_and_names_only_what_can_be_answered(app, folder):
    """Moving the car ends so much that it takes three lines at 80 columns; the aim follows from other answers."""
    async with app.run_test(size=(80, 24)) as pilot:
        who = await watched(app, pilot, folder)
        await who.press("c")
        sentence = app.screen.query_one("#sentence")
        assert len(sentence.content.wrap(sentence.content_size.width)) == sentence.size.height == 3
        await who.press("l", "ctrl+z")
        assert "the go ended at 10:00: the car was moved" in said(app)
        assert "Closed and still" in said(app)
        assert "Aim" not in said(app)
        await back(who, "escape")
        await until(
            pilot,
            lambda: "Aim  Nothing to type: it follows from the others." in " ".join(shown(app).split("\n")),
        )


async def test_what_this_page_is_for_and_all_its_keys_are_two_keys_away(app, folder):
    async with app.run_test(size=(80, 24)) as pilot:
        who = await watched(app, pilot, folder)
        assert "F1 help" in shown(app)
        await who.ask("f1", Tell)
        assert "What it is for" in shown(app)
        assert "Calibrate with this page in sight" in shown(app)
        await who.press("escape")
        await who.ask("ctrl+p", Pick)
        labels = [o.label for o in app.screen._offers]
        assert [x for x in labels if x.startswith("Ctrl+Z")]
        assert not [x for x in labels if "Ctrl+W" in x]
        await who.press("d")
        await until(pilot, lambda: kept(folder) == ["door_opened"])


async def test_a_job_that_another_program_has_is_watched_and_taken_from_there(app, folder):
    journal = folder.journal("HB-0417", by="Lio Fenn")
    try:
        async with app.run_test(size=(80, 24)) as pilot:
            who = await watched(app, pilot, folder)
            assert "Read-only. Lio Fenn has HB-0417 open" in shown(app)
            await who.press("d")
            assert "Nothing can be entered" in said(app)
            await who.press("ctrl+w")
            assert "It still cannot be written here." in said(app)
            journal.close()
            await who.press("ctrl+w", "d")
            assert "Kept: a door" in said(app)
            assert not app.screen.query_one("#locked").display
    finally:
        journal.close()


async def test_a_result_that_was_not_in_order_is_not_calibrated_over(app, folder):
    async with app.run_test(size=(80, 24)) as pilot:
        who = await watched(app, pilot, folder)
        await back(who, "r")
        await who.press("y", "9", "enter", "f10")
        await who.ask("w", Watch)
        await until(pilot, lambda: "the last result was not in order" in said(app))


def _full(event):
    raise JournalError(f"The job cannot be written: {OSError(errno.ENOSPC, 'No space left on device')}.")


# --- words ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("seconds", "figures"),
    [
        (7260, "2:01"),
        (3600, "1:00"),
        (3599, "59"),
        (301, "5"),
        (300, "5:00"),
        (61, "1:01"),
        (0.4, "0:00"),
        (-9, "0:00"),
    ],
)
def test_figures_say_no_more_than_is_left(seconds, figures):
    assert watch_words.time_left(timedelta(seconds=seconds))[0] == figures


def test_the_next_look_is_when_other_figures_are_due():
    """Counting in steps of those looks, every figure is shown, and none twice."""
    left, shown = timedelta(minutes=7, seconds=20), []
    while left > timedelta(0):
        shown.append(watch_words.time_left(left)[0])
        left -= timedelta(seconds=watch_words.to_next_look(left))
    assert len(shown) == len(set(shown))
    assert shown[:4] == ["7", "6", "5", "5:00"]
    assert shown[-2:] == ["0:01", "0:00"]


def test_large_figures_are_made_of_blocks():
    low, tall = watch_words.large("12:34", tall=False), watch_words.large("12:34", tall=True)
    assert len(low.splitlines()) == 3
    assert len(tall.splitlines()) == 5
    assert set(low + tall) <= set(" █▀▄\n")
    assert len({len(line) for line in low.splitlines()}) == 1
    assert len({watch_words.large(d, tall=False) for d in "0123456789"}) == 10


def test_titles_that_do_not_fit_are_counted():
    assert watch_words.fitted(["Tyres", "Floor", "Light"], "ends ", 40) == "ends Tyres, Floor, Light"
    assert watch_words.fitted(["Tyres", "Floor", "Light"], "ends ", 22) == "ends Tyres and 2 more"
    assert watch_words.fitted(["Tyres", "Floor"], "ends ", 10) == "ends 2 checks"
    assert watch_words.fitted(["Closed and still"], "ends ", 10) == "ends Closed and still"


def test_the_side_is_named_before_all_else(folder):
    visit = folder.visit(folder.journal("HB-0417", write=False).job)
    go = judge(visit, MOMENT).sides["left"]
    waived = replace(go, verdict="go-with-waivers", lapses_at=MOMENT + timedelta(minutes=2))
    told = [watch_words.outcome(waived, MOMENT, width).plain for width in (60, 42, 38)]
    assert told == [
        "! GO WITH WAIVERS, ENDS SOON  left side, until 10:02",
        "! GO WITH WAIVERS, ENDS SOON  left side",
        "! GO WITH WAIVERS  left side",
    ]

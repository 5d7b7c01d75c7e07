"""The jobs on the start screen: open and ended apart, found by letters, what was changed comes anew."""

from __future__ import annotations

import os
from datetime import timedelta
from pathlib import Path

import pytest
from textual.widgets import Static

from readiness.job import Ended, Event
from readiness.jobstate import JobState, SideState
from readiness.records import index as records_index
from readiness.records.journal import Journal
from readiness.records.shop import ShopFolder
from readiness.wizard import job_list, start
from readiness.wizard.app import ReadinessApp
from readiness.wizard.job_list import JobList, outcome_of
from readiness.wizard.pages import clock
from readiness.wizard.start import Start
from readiness.wizard.walk import Walk
from tests.shop import MOMENT, Clock, demo_shop
from tests.wizard.driver import settled, until


@pytest.fixture
def folder(tmp_path, monkeypatch) -> ShopFolder:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    monkeypatch.setenv("LOCALAPPDATA", str(tmp_path / "cache"))
    return demo_shop(tmp_path)


@pytest.fixture
def app(folder) -> ReadinessApp:
    return ReadinessApp(folder.path, person="Odo Brack", clock=Clock())


def jobs_of(app: ReadinessApp) -> JobList:
    assert isinstance(app.screen, Start)
    return app.screen.jobs


def listed(app: ReadinessApp) -> list[str]:
    return [str(option.prompt) for option in jobs_of(app).options]


def line_of(app: ReadinessApp, job: str) -> str:
    return next(line for line in listed(app) if line.split()[0] == job)


async def all_said(app: ReadinessApp, pilot) -> None:
    """The list stands, and of each job in it how it stands: that is begun only once the list is there."""
    await settled(app, pilot)
    jobs = jobs_of(app)
    await until(
        pilot, lambda: bool(jobs._jobs) and all(j.problem or j.id in jobs._standing for j in jobs.shown)
    )
    await settled(app, pilot)


def under_the_cursor(app: ReadinessApp) -> str:
    option = jobs_of(app).highlighted_option
    return str(option.id) if option else ""


def open_and_ended(folder: ShopFolder) -> tuple[set[str], set[str]]:
    jobs = folder.jobs()
    return {j.id for j in jobs if not j.ended}, {j.id for j in jobs if j.ended}


def copies(folder: ShopFolder, count: int) -> None:
    """So many jobs that were hardly begun, each an hour older than the one before, by their files too."""
    of = folder.journal("HB-0417", write=False).job
    for n in range(count):
        at = MOMENT - timedelta(hours=n)
        Journal.create(folder.jobs_folder, job=f"X-{n:03}", sheet=of.sheet, bay=of.bay, sides=of.sides, by=of.by,
                       at=at, plate=f"QQ {n}").close()  # fmt: skip
        os.utime(folder.jobs_folder / f"X-{n:03}.jsonl", (at.timestamp(),) * 2)


# --- what is listed -------------------------------------------------------------------------------


async def test_ended_jobs_stand_apart(app, folder):
    with folder.journal("HB-0409") as journal:
        journal.end(Ended(at=MOMENT, by="x"))
    going, over = open_and_ended(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await all_said(app, pilot)
        first, *jobs, last = listed(app)
        assert first == "n  New job"
        assert {line.split()[0] for line in jobs} == going
        assert last == f"e  {len(over)} ended {'job' if len(over) == 1 else 'jobs'}"
        await pilot.press("e")
        await all_said(app, pilot)
        back, *jobs = listed(app)
        assert back == "e  Back to the jobs that are open"
        assert {line.split()[0] for line in jobs} == over
        assert line_of(app, "HB-0409").endswith("ended without a result")
        await pilot.press("escape")
        assert listed(app)[0] == "n  New job"


async def test_no_ended_job_says_so(app, folder):
    for job in open_and_ended(folder)[1]:
        (folder.jobs_folder / f"{job}.jsonl").unlink()
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(app, pilot)
        await pilot.press("e")
        assert "No job is ended yet." in str(app.screen.query_one("#sentence", Static).content)
        assert not any(line.startswith("e ") for line in listed(app))


async def test_every_line_fits_and_says_how_its_job_stands(app, folder):
    (folder.jobs_folder / "HB-9.jsonl").write_bytes(b"nonsense\n")
    with Journal.create(folder.jobs_folder, job="HB-8" + "0" * 40, sheet="pipit-front", bay="bay-1", sides=("single",),
                        by="x" * 90, at=MOMENT, plate="[b]漢字\x1b[31m[/4]") as long:  # fmt: skip
        long.happen(Event(event="got_in", at=MOMENT, by="x"))
    async with app.run_test(size=(80, 24)) as pilot:
        await all_said(app, pilot)
        assert (
            line_of(app, "HB-0417").rstrip().endswith(f"✓ go until {clock(MOMENT + timedelta(minutes=11))}")
        )
        assert "HB-9  cannot be opened: line 1" in listed(app)[-2]
        for width in (80, 120, 60):
            await pilot.resize_terminal(width, 24)
            await settled(app, pilot)
            options = jobs_of(app)
            assert options.virtual_size.height == len(options.options)  # none is broken in two
            assert any("[b]漢字" in line for line in listed(app))
            assert ("Lio Fenn" in "".join(listed(app))) == (width == 120)


# --- many of them ---------------------------------------------------------------------------------


async def test_of_many_the_latest_are_listed_and_any_is_found(app, folder, monkeypatch):
    most = 20
    for module in (job_list, start):
        monkeypatch.setattr(module, "MOST", most)
    copies(folder, 50)
    judged = []
    whole = records_index._judged
    monkeypatch.setattr(records_index, "_judged", lambda *a: judged.append(a[1].id) or whole(*a))
    going, _ = open_and_ended(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(app, pilot)
        jobs = listed(app)[1:-2]
        assert len(jobs) == most
        assert [line.split()[0] for line in jobs] == [j.id for j in folder.jobs() if not j.ended][:most]
        assert listed(app)[-2] == f"   … {len(going) - most} more: / finds any of them"
        await until(pilot, lambda: len(judged) == most)
        await settled(app, pilot)
        await pilot.press("slash", *"qq49")
        await until(pilot, lambda: "to do" in listed(app)[0])
        assert [line.split()[0] for line in listed(app)] == ["X-049"]
        await settled(app, pilot)
        assert judged[most:] == ["X-049"]


async def test_what_was_judged_is_known_when_the_program_is_started_again(folder, monkeypatch):
    copies(folder, 70)
    first = ReadinessApp(folder.path, person="Odo Brack", clock=Clock())
    async with first.run_test(size=(80, 24)) as pilot:
        await all_said(first, pilot)
        before = listed(first)
    judged = []
    whole = records_index._judged
    monkeypatch.setattr(records_index, "_judged", lambda *a: judged.append(a[1].id) or whole(*a))
    second = ReadinessApp(folder.path, person="Odo Brack", clock=Clock())
    async with second.run_test(size=(80, 24)) as pilot:
        await all_said(second, pilot)
        assert listed(second) == before
    assert judged == []


# --- finding --------------------------------------------------------------------------------------


async def test_a_job_is_found_by_number_plate_person_and_sheet(app):
    looked_for = {"902b": {"HB-0418"}, "hb0418": {"HB-0418"}, "902 odo": {"HB-0418"}, "dunlin": {"HB-0414"}}
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(app, pilot)
        for letters, found in looked_for.items():
            await pilot.press("escape", "slash", *(c if c != " " else "space" for c in letters))
            await until(pilot, lambda found=found: {line.split()[0] for line in listed(app)} == found)


async def test_letters_are_letters_while_one_looks_for_a_job(app):
    """n, e and p are keys of the list, and parts of names."""
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(app, pilot)
        before = listed(app)
        await pilot.press("slash", *"nep")
        await settled(app, pilot)
        assert isinstance(app.screen, Start)
        assert "No job has 'nep'" in listed(app)[0]
        await pilot.press("escape")
        await settled(app, pilot)
        assert listed(app) == before
        assert not app.screen.query("#find")
        assert jobs_of(app).has_focus


async def test_ended_jobs_are_found_too(app, folder):
    with folder.journal("HB-0409") as journal:
        journal.end(Ended(at=MOMENT, by="x"))
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(app, pilot)
        await pilot.press("slash", *"0409")
        await until(pilot, lambda: "ended" in listed(app)[0])


async def test_enter_opens_the_only_one_and_coming_back_it_is_still_found(app):
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(app, pilot)
        await pilot.press("slash", *"0420", "enter")
        await settled(app, pilot)
        await until(pilot, lambda: isinstance(app.screen, Walk) and app.screen.is_mounted)
        assert isinstance(app.screen, Walk)
        app.screen.session.journal.close()
        app.pop_screen()
        await settled(app, pilot)
        assert [line.split()[0] for line in listed(app)] == ["HB-0420"]


async def test_down_goes_to_the_list(app):
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(app, pilot)
        await pilot.press("slash", *"pipit", "down")
        assert jobs_of(app).has_focus
        await pilot.press("down", "slash", "o")  # what was typed before is selected, so it is replaced
        assert jobs_of(app).wanted == "o"


# --- coming back ----------------------------------------------------------------------------------


async def test_only_what_changed_is_read_again_and_the_cursor_stays_on_its_job(app, folder, monkeypatch):
    for path in folder.jobs_folder.iterdir():
        os.utime(path, (path.stat().st_mtime - 3600,) * 2)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(app, pilot)
        await pilot.press("down", "down", "down")
        here = under_the_cursor(app)
        read: list[Path] = []
        whole = records_index.glance
        monkeypatch.setattr(records_index, "glance", lambda path: read.append(path) or whole(path))
        with folder.journal("HB-0409") as journal:
            journal.happen(Event(event="got_in", at=MOMENT + timedelta(minutes=1), by="x"))
        app.screen.read_jobs()
        await settled(app, pilot)
        assert [path.stem for path in read] == ["HB-0409"]
        assert listed(app)[1].split()[0] == "HB-0409"
        assert under_the_cursor(app) == here


async def test_a_shop_that_is_gone_is_told_and_the_list_stays(app, folder):
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(app, pilot)
        before = listed(app)
        folder.path.rename(folder.path.with_name("elsewhere"))
        app.screen.read_jobs()
        await settled(app, pilot)
        said = " ".join(str(app.screen.query_one("#sentence", Static).content).split())
        assert "could not be read: no such file or directory" in said
        assert listed(app) == before


# --- words ----------------------------------------------------------------------------------------


def side(name: str, word: str, minutes: int = 30, **more) -> SideState:
    until = MOMENT + timedelta(minutes=minutes) if word.startswith("go") else None
    return SideState(name, word, until, 1 if word == "no-go" else 0, 14, 16, **more)


def test_how_a_job_stands_in_a_few_words():
    def words(*sides: SideState, **more) -> str:
        said = outcome_of(JobState(sides, **more))
        assert len(said) <= 32  # what a line of 80 cells has room for
        return said

    def at(minutes: int) -> str:
        return clock(MOMENT + timedelta(minutes=minutes))

    waivers, end = "go-with-waivers", Ended(at=MOMENT, by="x")
    assert words(side("single", "go")) == f"✓ go until {at(30)}"
    assert words(side("single", waivers)) == f"– go with waivers to {at(30)}"
    assert words(side("single", "no-go")) == "✗ no-go, 1 to put right"
    assert words(side("single", "lapsed")) == "○ lapsed"
    assert words(side("single", "unfinished")) == "2 of 16 checks to do"
    assert words(side("left", "go"), side("right", "no-go")) == f"left ✓ {at(30)}, right ✗"
    assert words(side("left", waivers), side("right", "no-go")) == "left – waivers, right ✗"
    assert words(side("left", "go"), side("right", waivers)) == "left ✓, right – waivers"
    assert words(side("left", waivers), side("right", waivers, 20)) == f"– go with waivers to {at(20)}"
    assert words(side("left", "go", in_range=True), side("right", "lapsed")) == "left ✓ result, right ○"
    assert words(side("single", "go", in_range=False)) == "✗ result out of range"
    assert words(side("single", "go", in_range=True), ended=end) == "ended, result in range"
    assert words(side("single", "no-go"), ended=end) == "ended without a go"
    both = side("left", "go", in_range=True), side("right", "no-go", in_range=True)
    assert words(side("single", "no-go", in_range=True)) == "✗ result without a go"
    assert words(*both) == "✗ right without a go"
    assert words(*both, ended=end) == "ended, right without a go"
    assert words(side("single", waivers, in_range=True)) == "– in range, waivers"
    assert words(side("single", waivers, in_range=True), ended=end) == "ended, in range, waivers"
    assert words(side("single", "no-go", in_range=False), ended=end) == "ended, result out of range"
    assert words(side("single", "go"), ended=end) == "ended without a result"
    assert outcome_of(JobState((), problem="gone")) == "cannot be judged: open it to see why"

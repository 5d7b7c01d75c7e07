"""After the go: the result, the files, the end of the job and the paper, typed as a technician would."""

from __future__ import annotations

import hashlib
from datetime import timedelta
from urllib.request import pathname2url

import pytest

from readiness.records.account import account
from readiness.records.ending import unsettled
from readiness.wizard import closing_pages
from readiness.wizard.app import ReadinessApp
from readiness.wizard.closing import dropped
from readiness.wizard.closing_deeds import AskPath
from readiness.wizard.dialogs import Ask, Pick
from readiness.wizard.walk import Walk
from readiness.wizard.watch import Watch
from tests.shop import Clock
from tests.wizard.driver import settled, until
from tests.wizard.test_walk import page_text, shown
from tests.wizard.test_watch import LAPSES, few_jobs, opened, said, watched

JOB = "HB-0417"
PHOTO = b"not really a photo"
ROAD = ("y", *"ring", "enter", "d", "l", *"warned", "enter", "y")
"""A road test was made, where, under which conditions, what was seen, and that it was right."""
RESULT = ("y", *"0.3", "enter", "y")
"""A result in its range, and no fault."""


@pytest.fixture
def folder(tmp_path):
    shop = few_jobs(tmp_path)
    photos = shop.path / "photos"
    photos.mkdir()
    (photos / "the target.jpg").write_bytes(PHOTO)
    return shop


@pytest.fixture
def clock():
    return Clock(step=timedelta(milliseconds=10))


@pytest.fixture
def app(folder, clock):
    return ReadinessApp(folder.path, person="Odo Brack", clock=clock)


def keyed(*keys: str) -> list[str]:
    return ["space" if k == " " else "full_stop" if k == "." else k for k in keys]


def job_of(folder, job: str = JOB):
    return folder.journal(job, write=False).job


async def line_of(app, pilot, job: str) -> str:
    """A job in the list of those that have ended."""
    await settled(app, pilot)
    await pilot.press("e")

    def line() -> str:
        return next((row for row in shown(app).splitlines() if job in row), "")

    await until(pilot, lambda: "Back to the jobs that are open" in shown(app) and "ended" in line())
    return line()


async def to_result(app, pilot, folder, job: str = JOB):
    """From the go / no-go page by way of the watch to the first question after the calibration."""
    who = await watched(app, pilot, folder, job)
    await who.press("r")
    await until(pilot, lambda: isinstance(app.screen, Walk))
    await pilot.pause()
    return who


async def typed(who, text: str) -> None:
    """A line in a dialog, as pasted."""
    dialog = who.app.screen
    dialog.query_one("Input").value = text
    await who.press("enter")


async def answered(who, title_part: str, text: str) -> None:
    """Wait for a dialog about something, and answer it with a line."""
    await until(who.pilot, lambda: isinstance(who.app.screen, Ask) and title_part in shown(who.app))
    await typed(who, text)


async def test_a_job_is_closed_with_all_it_needs_and_asks_for_no_reason(app, folder):
    async with app.run_test(size=(80, 24)) as pilot:
        who = await opened(app, pilot, folder)
        await who.press("f10", "pagedown")
        assert who.walk.on_verdict_page
        assert "Road test" not in shown(app)
        await who.press("r")
        assert who.walk.step.title == "Result"
        assert all(t in shown(app) for t in ("Fault scan", "Road test", "Remarks", "End of the job"))
        await who.press("pageup")
        assert who.walk.on_verdict_page
        await who.press("pagedown", *keyed(*RESULT))
        assert who.walk.step.title == "Road test"
        assert "never trust an assist system" in said(app)
        await who.press(*keyed(*ROAD, *"ok", "enter", "enter"))
        walk = who.walk
        assert walk.on_end_page
        assert "✓ GO  when the result was read at 10:00" in page_text(app)
        assert "Open" not in page_text(app)
        await who.press("e")
        await settled(app, pilot)
        assert "Ended 10:00 by Odo Brack" in page_text(app)
        await who.press("escape")
        assert "ended, result in range" in await line_of(app, pilot, JOB)
    job = job_of(folder)
    assert job.ended is not None
    assert (job.ended.by, job.ended.why) == ("Odo Brack", "")
    told = account(folder.visit(job), job.ended.at)
    assert unsettled(told) == ()
    assert told.sides["left"].go


async def test_a_result_out_of_its_range_needs_a_reason_to_end_with(app, folder):
    async with app.run_test(size=(80, 24)) as pilot:
        who = await to_result(app, pilot, folder)
        await who.press(*keyed("y", *"3.1", "enter"))
        await who.press("ctrl+e")
        assert "✗ fail      Result" in page_text(app)
        await who.ask("e", Ask)
        await typed(who, ".")
        assert isinstance(app.screen, Ask)
        assert "Say in a few words why" in shown(app)
        await typed(who, "sensor goes back to the maker")
        await until(pilot, lambda: job_of(folder).ended is not None)
        await settled(app, pilot)
        assert "sensor goes back to the maker" in " ".join(page_text(app).split())
    assert job_of(folder).ended.why == "sensor goes back to the maker"


async def test_what_an_earlier_calibration_found_was_no_slip(app, folder):
    """A second calibration asks for scan and drive anew; what was found before it stays in the record as it was."""
    async with app.run_test(size=(80, 24)) as pilot:
        who = await to_result(app, pilot, folder)
        await who.press(*keyed("y", *"3.1", "enter", "enter", "n"))
        assert who.row.question.key == "left"  # what is stored: asked at once
        assert "which ones is not said" in said(app)
        await who.press(*"P1", "enter", "pageup", "down", "1")
        await who.ask("enter", Pick)
        assert "calibrated again: the new result counts" in shown(app)
        assert "count together" not in shown(app)
        await who.press("r")
        await until(pilot, lambda: isinstance(app.screen, Walk))
        await pilot.pause()
        assert who.row.place == ("rescan", "", "empty")
        assert who.row.overtaken
        await who.press("y")
        assert who.walk.step.title == "Road test"
        found = who.walk.session.stories()
    assert found["rescan", "", "empty"].in_short == "answered twice"
    assert found["result", "left", "azimuth"].in_short == "answered twice"
    assert not [e for e in folder.journal(JOB, write=False).entries if e.kind == "withdrawn"]


async def test_a_state_that_is_found_otherwise_later_was_no_slip(app, folder):
    async with app.run_test(size=(80, 24)) as pilot:
        who = await opened(app, pilot, folder)
        await who.go_to("closed", "doors")
        await who.press("n")
        assert who.row.failing
        assert who.walk.session.stories()["closed", "", "doors"].in_short == "answered twice"
        await who.press("f5")
        assert who.row.readings[-1].value == "yes"


async def test_a_job_ends_without_a_go_and_goes_on_with_a_reason_only(app, folder):
    async with app.run_test(size=(80, 24)) as pilot:
        who = await opened(app, pilot, folder, "HB-0420")
        await who.press("ctrl+e")
        assert "Right side: there was no go." in page_text(app)
        await who.press("enter")
        assert who.walk.at < who.walk.go_page  # what is open comes before any result
        await who.press("ctrl+e")
        await who.ask("e", Ask)
        await typed(who, "customer took the car")
        await settled(app, pilot)
        await who.press("escape")
        assert "ended without a go" in await line_of(app, pilot, "HB-0420")
        who = await opened(app, pilot, folder, "HB-0420")
        assert who.walk.on_end_page
        lines = len(folder.journal("HB-0420", write=False).entries)
        await who.go_to("tyres")
        await who.press("2", "3", "1", "enter")
        assert "The job was ended at" in said(app)
        await who.press("escape", "f9")
        assert len(folder.journal("HB-0420", write=False).entries) == lines
        await who.press("ctrl+e")
        await who.ask("g", Ask)
        await typed(who, "it came back")
        await until(pilot, lambda: job_of(folder, "HB-0420").ended is None)
        await settled(app, pilot)
        await who.go_to("tyres")
        await who.press("2", "3", "1", "enter")
        assert len(folder.journal("HB-0420", write=False).entries) > lines + 1
    withdrawn = [e for e in folder.journal("HB-0420", write=False).entries if e.kind == "withdrawn"]
    assert withdrawn[-1].body["why"] == "it came back"


async def test_a_missing_file_is_said_and_can_be_put_right_where_it_stands(app, folder):
    async with app.run_test(size=(80, 24)) as pilot:
        who = await opened(app, pilot, folder)
        await who.press("ctrl+e")
        await who.ask("a", AskPath)
        wrong = folder.path / "photos" / "gone.jpg"
        await typed(who, str(wrong))
        await until(pilot, lambda: "no such file" in " ".join(shown(app).replace("│", "").split()))
        assert app.screen.query_one("Input").value == str(wrong)
        await typed(who, f"'{folder.path / 'photos' / 'the target.jpg'}'")
        await answered(who, "What does it show", "reflector in place")
        await until(pilot, lambda: bool(job_of(folder).attached))
        await settled(app, pilot)
        assert "photos/the target.jpg, 18 B: reflector in place" in page_text(app)
        (kept,) = job_of(folder).attached
        assert (kept.path, kept.sha256) == ("photos/the target.jpg", hashlib.sha256(PHOTO).hexdigest())
        await who.ask("a", AskPath)
        await typed(who, kept.path)
        await until(pilot, lambda: isinstance(app.screen, Walk) and "is attached already" in said(app))
        other = folder.path / "photos" / "another.jpg"
        other.write_bytes(b"")
        await who.ask("a", AskPath)
        await typed(who, str(other))
        await until(pilot, lambda: isinstance(app.screen, Ask) and "What does it show" in shown(app))
        await who.press("escape")
        await until(pilot, lambda: isinstance(app.screen, Walk) and "was left out" in said(app))
        assert job_of(folder).attached == (kept,)
        await who.ask("x", Pick)
        await who.press("1")
        await settled(app, pilot)
        assert job_of(folder).attached == ()
        assert "Taken back: photos/the target.jpg" in said(app)


async def test_a_failing_signature_is_said_and_the_job_has_ended_all_the_same(app, folder):
    shop = folder.path / "shop.yaml"
    text = shop.read_text(encoding="utf-8") + "\nsigning: {key: keys/none, signers: keys/signers}\n"
    shop.write_text(text, encoding="utf-8", newline="\n")
    async with app.run_test(size=(80, 24)) as pilot:
        who = await opened(app, pilot, folder)
        await who.press("ctrl+e")
        await who.ask("e", Ask)
        await typed(who, "customer took the car")
        await settled(app, pilot)
        assert job_of(folder).ended is not None
        assert "not signed" in said(app)


async def test_the_report_goes_where_one_says_and_the_other_side_is_a_key_away(app, folder):
    async with app.run_test(size=(80, 24)) as pilot:
        who = await opened(app, pilot, folder)
        await who.press("ctrl+e")
        await who.ask("p", AskPath)
        await who.press("enter")
        usual = folder.jobs_folder / f"{JOB}.html"
        await until(pilot, lambda: usual.exists())
        await settled(app, pilot)
        assert "The report is in" in said(app)
        assert b"<html" in usual.read_bytes()[:200]
        await who.ask("p", AskPath)
        await typed(who, str(folder.jobs_folder / f"{JOB}.jsonl"))
        await settled(app, pilot)
        assert "name of a file of the shop" in said(app)
        await who.ask("p", AskPath)
        await typed(who, str(folder.path / "nowhere" / "paper.html"))
        await settled(app, pilot)
        assert "There is no folder" in said(app)
        assert usual.stem in {j.id for j in folder.jobs()}
        assert not any(j.problem for j in folder.jobs())
        assert "o right side" in shown(app)
        await who.press("o")
        assert job_of(folder).sides == ("left", "right")
        assert (who.row.check.id, who.row.side) == ("bracket", "right")


async def test_only_the_side_that_is_ready_is_asked_for_its_result(app, folder, clock):
    """HB-0418: the left side goes, the right one has something in its clear area."""
    async with app.run_test(size=(80, 24)) as pilot:
        who = await to_result(app, pilot, folder, "HB-0418")
        sides = set()
        while who.walk.step.title == "Result":
            sides.add(who.row.side)
            await who.press(*(("y",) if who.row.question.type == "choice" else keyed(*"0.3", "enter")))
        assert sides == {"left"}
        await who.press("ctrl+e")
        assert "Right side: there was no go." in page_text(app)
        clock.at += timedelta(hours=3)
        await who.press("f10")
        text = page_text(app)
        assert "Right side" in text or "NO-GO" in text
        assert "left" not in text.splitlines()[0]


async def test_the_result_may_come_after_the_go_has_lapsed(app, folder, clock):
    """A calibration may take longer than the go lasts; then the paper says that there was no go any more."""
    clock.at = LAPSES + timedelta(minutes=2)
    async with app.run_test(size=(80, 24)) as pilot:
        who = await opened(app, pilot, folder)
        await who.press("f10")
        assert "r result" in shown(app)
        await who.press("r")
        await who.press(*keyed("y", *"0.3", "enter"))
        await who.press("ctrl+e")
        assert "✗ NO-GO  when the result was read" in page_text(app)
        assert "after the go had lapsed." in " ".join(page_text(app).split())


async def test_a_side_with_its_result_lapses_no_more(app, folder, clock):
    """Hours later the walk asks nothing of it, and the page says how it stood."""
    async with app.run_test(size=(80, 24)) as pilot:
        who = await to_result(app, pilot, folder)
        await who.press(*keyed("y", *"0.3", "enter"))
        clock.at += timedelta(hours=30)
        await who.press("f10")
        await pilot.pause()
        assert "✓ GO" in page_text(app)
        assert "as it stood at 10:00" in shown(app)
        await who.press("w")
        assert not isinstance(app.screen, Watch)
        await who.press("enter")
        assert who.walk.step.title == "Fault scan"


# --- words and paths -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    "how",
    [
        "{}",
        "'{}'",
        '"{}"',
        "  {}  ",
        "{escaped}",
        "{url}",
        "'{url}'",
    ],
)
def test_a_path_comes_as_a_terminal_hands_it_over(tmp_path, how):
    """Quotation marks, backslashes before blanks, file:// addresses; from memory of what terminals type."""
    path = tmp_path / "the target's photo (1).jpg" if "'" not in how else tmp_path / "the photo (1).jpg"
    path.write_bytes(b"")
    escaped = "".join(f"\\{c}" if c in " '()" else c for c in str(path))
    text = how.format(path, escaped=escaped, url=f"file://{pathname2url(str(path))}")
    assert dropped(text, windows=False) == [str(path)]


def test_several_files_are_told_apart_where_they_are_there(tmp_path):
    one, two = tmp_path / "a b.jpg", tmp_path / "c.jpg"
    for path in (one, two):
        path.write_bytes(b"")
    assert dropped(f"'{one}' {two}", windows=False) == [str(one), str(two)]
    assert dropped("my photo of it.jpg", windows=False) == ["my photo of it.jpg"]
    assert dropped("", windows=False) == [""]


def test_on_windows_a_backslash_parts_folders():
    assert dropped(r'"C:\photos\the target.jpg"', windows=True) == [r"C:\photos\the target.jpg"]
    assert dropped(r"& 'C:\photos\a.jpg'", windows=True) == [r"C:\photos\a.jpg"]


@pytest.mark.parametrize(
    ("count", "words"), [(0, "0 B"), (999, "999 B"), (1000, "1 kB"), (2_345_678, "2.35 MB"), (5e9, "5 GB")]
)
def test_sizes_as_people_say_them(count, words):
    assert closing_pages.size(int(count)) == words

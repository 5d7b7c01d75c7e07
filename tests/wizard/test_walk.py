"""The wizard, typed through as a technician would, on a copy of the demo shop."""

from __future__ import annotations

import json
from datetime import timedelta

import pytest

from readiness.records.answers import read_answers, write_answers
from readiness.records.journal import Journal
from readiness.report.data import as_dict
from readiness.verdict import judge
from readiness.wizard.app import ReadinessApp
from readiness.wizard.form import Form
from readiness.wizard.start import Start
from tests.shop import MOMENT, Clock, demo_shop
from tests.wizard.driver import Technician, settled

GOES = "HB-0417"
"""The demo job that goes."""


def typed_texts(folder, job: str) -> dict[tuple[str, str, str], str]:
    """What was typed in a demo job, as a person types it: without the unit that the field shows."""
    readings = folder.journal(job, write=False).job.readings
    return {(r.check, r.side, r.question): bare(r.text) for r in readings}


def bare(text: str) -> str:
    for unit in (" kPa", " mm", " lx", " °C", " V", " µm", " °"):
        text = text.removesuffix(unit)
    return text


@pytest.fixture
def folder(tmp_path):
    return demo_shop(tmp_path)


@pytest.fixture
def clock():
    return Clock()


@pytest.fixture
def app(folder, clock):
    return ReadinessApp(folder.path, person="Odo Brack", clock=clock)


async def test_a_first_time_user_types_every_answer_and_reaches_a_go(app, folder, clock):
    """From the list of jobs to the go; the same answers as YAML and as journal give identical JSON."""
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(app, pilot)
        who = Technician(app, pilot, typed_texts(folder, GOES))
        await who.begin(1 + list(folder.sheets).index("tern-rear-corner"), "l", "bay-2")
        await who.answer_all()
        verdict, session = who.walk.verdict, who.walk.session
        assert verdict is not None
        open_checks = [f.reason for f in verdict.sides["left"].findings if not f.counts]
        assert verdict.go, open_checks
        assert who.keys < 150, f"{who.keys} keys"
        print(f"keys to a go: {who.keys}")
        job, path, visit = session.journal.job, session.journal.path, session.visit
        app.exit()
    at = clock.at
    by_wizard = as_dict(judge(visit, at), visit)
    by_journal = as_dict(judge(folder.visit(Journal.open(path, write=False).job), at), visit)
    answers = path.with_suffix(".yaml")
    answers.write_text(write_answers(job, folder), encoding="utf-8", newline="\n")
    from_yaml = folder.visit(read_answers(answers, folder))
    by_yaml = as_dict(judge(from_yaml, at), from_yaml)
    assert json.dumps(by_wizard, default=str) == json.dumps(by_journal, default=str)
    assert json.dumps(by_wizard, default=str) == json.dumps(by_yaml, default=str)


def begun(folder, clock, sides=("left",)) -> Journal:
    return Journal.create(
        folder.path / "jobs", job="T1", sheet="tern-rear-corner", bay="bay-2", sides=sides,
        by="Odo Brack", at=clock(),
    )  # fmt: skip


async def opened(app, pilot, folder, clock) -> Technician:
    """A new job, opened by its number."""
    begun(folder, clock).close()
    app.first_job = "T1"
    await settled(app, pilot)
    screen = app.screen
    assert isinstance(screen, Start)
    screen.open_job("T1")
    await settled(app, pilot)
    return Technician(app, pilot, {})


async def to_tyres(who: Technician) -> None:
    await who.go_to("tyres")
    await who.press("s")
    await who.press("1", "8", "enter", "enter", "y")


def shown(app) -> str:
    strips = app.screen._compositor.render_strips()
    return "\n".join("".join(s.text for s in strip) for strip in strips)


def page_text(app) -> str:
    """The whole go / no-go page, also what is scrolled out of view."""
    return str(app.screen.query_one("#page-text").content)


async def test_what_is_shown_as_kept_is_on_the_disk(app, folder, clock):
    async with app.run_test(size=(80, 24)) as pilot:
        who = await opened(app, pilot, folder, clock)
        await to_tyres(who)
        await who.press("2", "3", "1", "enter")
        on_disk = (folder.path / "jobs" / "T1.jsonl").read_text(encoding="utf-8")
        assert '"pressure.lf"' in on_disk
        assert "✓ pass" in shown(app)


async def test_quitting_and_starting_again_resumes_there(folder, clock):
    first = ReadinessApp(folder.path, person="Odo Brack", clock=clock)
    async with first.run_test(size=(80, 24)) as pilot:
        who = await opened(first, pilot, folder, clock)
        await to_tyres(who)
        await who.press("2", "3", "1", "enter")
        await who.press("ctrl+q")
    second = ReadinessApp(folder.path, "T1", person="Odo Brack", clock=clock)
    async with second.run_test(size=(80, 24)) as pilot:
        await settled(second, pilot)
        await settled(second, pilot)
        who = Technician(second, pilot, {})
        assert who.row is not None
        assert who.row.question.key == "document"
        await who.go_to("tyres")
        assert who.row.question.key == "tread.lf"


async def test_a_low_tyre_says_what_to_set_and_a_fix_starts_anew(app, folder, clock):
    async with app.run_test(size=(80, 24)) as pilot:
        who = await opened(app, pilot, folder, clock)
        await to_tyres(who)
        await who.press("2", "1", "9", "enter")
        screen = shown(app)
        assert "✗ fail" in screen
        assert "Set the gauge to 230 kPa now" in screen.replace("\n", " ") or "230 kPa" in screen
        assert who.row is not None
        assert who.row.question.key == "pressure.lf"
        await who.press("2", "3", "0")
        await who.ask("enter")
        assert "Why again" in shown(app)
        await who.press("f")
        await settled(app, pilot)
        finding = who.walk.verdict.sides["left"].finding("tyres")
        part = next(p for p in finding.parts if p.key == "pressure.lf")
        assert part.outcome == "pass"
        assert len(part.readings) == len(finding.parts[1].readings)
        readings = folder.journal("T1", write=False).job.readings
        assert [r.text for r in readings if r.question == "pressure.lf"] == ["219", "230"]


async def test_repeating_makes_a_series_and_correcting_replaces(app, folder, clock):
    async with app.run_test(size=(80, 24)) as pilot:
        who = await opened(app, pilot, folder, clock)
        await to_tyres(who)
        await who.press("2", "2", "7", "enter")
        place = ("tyres", "", "pressure.lf")
        await who.press("2", "3", "3")
        await who.ask("enter")
        await who.press("r")
        await settled(app, pilot)
        visit = who.walk.session.visit
        scene = visit.scene(visit.checklist.check("tyres"), "", clock())
        assert scene.answer("pressure.lf").estimate.value == pytest.approx(230.0)
        assert len(scene.series(place[2])) == 2
        form = who.walk.query_one(Form)
        while form.row.place != place:
            await who.press("up")
        await who.press("2", "3", "1")
        await who.ask("enter")
        await who.press("c")
        await settled(app, pilot)
        job = folder.journal("T1", write=False).job
        assert [r.text for r in job.readings if r.question == "pressure.lf"] == ["227", "231"]


@pytest.mark.parametrize(
    ("typed", "words"),
    [("23 bar", "2.3 bar"), ("5 mm", "pressure"), ("2.3.4", "decimal"), ("231 kpz", "kPa")],
)
async def test_a_wrong_entry_is_refused_in_place_and_nothing_is_lost(app, folder, clock, typed, words):
    async with app.run_test(size=(80, 24)) as pilot:
        who = await opened(app, pilot, folder, clock)
        await to_tyres(who)
        form = who.walk.query_one(Form)
        form.entry.value = typed
        await who.press("enter")
        assert words in " ".join(shown(app).split())
        assert form.entry.value == typed
        assert who.row.question.key == "pressure.lf"


async def test_text_from_people_is_text(app, folder, clock):
    """A note, a name and a plate with brackets neither crash the program nor lose a letter."""
    async with app.run_test(size=(80, 24)) as pilot:
        who = await opened(app, pilot, folder, clock)
        await to_tyres(who)
        await who.press("2", "3", "1", "enter", "up")
        who.walk.session.person = "O. [/Brack]"
        await who.ask("f2")
        await who.press("left_square_bracket", "slash", "4", "right_square_bracket", "enter")
        await settled(app, pilot)
        assert "[/4]" in shown(app)
        readings = folder.journal("T1", write=False).job.readings
        assert [r.note for r in readings if r.question == "pressure.lf"] == ["[/4]"]


async def test_units_are_switched_while_working(app, folder, clock):
    async with app.run_test(size=(80, 24)) as pilot:
        who = await opened(app, pilot, folder, clock)
        await to_tyres(who)
        await who.press("2", "3", "1", "enter")
        await who.press("f8")
        assert "psi" in shown(app)
        form = who.walk.query_one(Form)
        while form.row.question.key != "pressure.lr":
            await who.press("down")
        form.entry.value = "33.5"
        await who.press("enter")
        readings = folder.journal("T1", write=False).job.readings
        assert [r.value for r in readings if r.question == "pressure.lr"] == [
            pytest.approx(33.5 * 6.894757293168)
        ]
        await who.press("f8")
        assert "231" in shown(app)


async def test_an_event_voids_and_only_that_is_asked_again(app, folder, clock):
    async with app.run_test(size=(80, 24)) as pilot:
        who = await opened(app, pilot, folder, clock)
        await to_tyres(who)
        await who.press("2", "3", "1", "enter")
        who.walk.session.happened("tyre_touched")
        who.walk.show_anew(None)
        finding = who.walk.verdict.sides["left"].finding("tyres")
        assert finding.outcome == "lapsed"


async def test_setting_aside_needs_a_reason_and_shows(app, folder, clock):
    async with app.run_test(size=(80, 24)) as pilot:
        who = await opened(app, pilot, folder, clock)
        await to_tyres(who)
        await who.ask("f7")
        await who.press("enter")
        assert "is set aside by Odo Brack, because" in " ".join(shown(app).split())
        await who.press("n", "o", "enter")
        await settled(app, pilot)
        finding = who.walk.verdict.sides["left"].finding("tyres")
        assert finding.outcome == "waived"
        assert not who.walk.verdict.go
        await who.press("f10")
        assert "set aside" in page_text(app)


@pytest.mark.parametrize("size", [(80, 24), (120, 40), (30, 10), (1, 1)])
async def test_every_size_is_survived(folder, clock, size):
    app = ReadinessApp(folder.path, person="Odo Brack", clock=clock)
    async with app.run_test(size=size) as pilot:
        who = await opened(app, pilot, folder, clock)
        for _ in who.walk.session.steps:
            await who.press("pagedown")
        await pilot.resize_terminal(100, 30)
        await pilot.pause()
        assert who.walk.on_verdict_page


async def test_the_verdict_lapses_while_the_page_is_open(app, folder, clock):
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(app, pilot)
        app.screen.open_job(GOES)
        await settled(app, pilot)
        who = Technician(app, pilot, {})
        assert who.walk.verdict.go
        clock.at = MOMENT + timedelta(hours=9)
        who.walk.action_verdict()
        await pilot.pause()
        assert not who.walk.verdict.go
        assert "lapsed" in page_text(app)

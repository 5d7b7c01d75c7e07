"""Setting a check aside: a name and a reason, never a plain go, and back again; and the record of what was answered."""

from __future__ import annotations

import pytest

from readiness.wizard import record_page
from readiness.wizard.dialogs import Ask, Pick, Tell
from readiness.wizard.form import Form
from readiness.wizard.rail import Rail
from readiness.wizard.session import Session
from tests.shop import MOMENT
from tests.wizard.driver import Technician, settled
from tests.wizard.test_deeds import sentence, type_pressure
from tests.wizard.test_walk import GOES, app, clock, folder, opened, page_text, shown

__all__ = ["app", "clock", "folder"]


def unbroken(app) -> str:
    return " ".join(shown(app).replace("│", " ").split())


def waivers(folder, job):
    return folder.journal(job, write=False).job.waivers


def told(app) -> str:
    """The page of a dialog."""
    return str(app.screen.query("VerticalScroll > Static").first().content)


async def at_goes(app, pilot) -> Technician:
    """In the demo job that is a go."""
    await settled(app, pilot)
    app.screen.open_job(GOES)
    await settled(app, pilot)
    return Technician(app, pilot, {})


def to_row(who: Technician, key: str) -> None:
    """The cursor on a row of this step, answered or not."""
    lines = who.walk.query_one(Form).rows.lines
    row = next(line.row for line in lines if line.row is not None and line.row.question.key == key)
    who.walk._enter(who.walk.at, row.place)


@pytest.fixture
def session(folder, clock):
    """The demo job that is a go, without a screen."""
    with folder.journal(GOES, write=True) as journal:
        yield Session(folder, journal, "Odo Brack", clock)


async def test_a_go_with_something_set_aside_says_so_everywhere(app, folder, clock):
    async with app.run_test(size=(100, 40)) as pilot:
        who = await at_goes(app, pilot)
        await who.go_to("papers")
        await who.press("f7")
        await settled(app, pilot)
        assert "Procedure cannot be set aside by anybody: without it there is no go." in sentence(app)
        await who.go_to("tyres")
        await who.ask("f7", Ask)
        assert "go with waivers at best" in unbroken(app)
        for typed in ("", "x", "--"):
            app.screen.query_one("Input").value = typed
            await who.press("enter")
            assert isinstance(app.screen, Ask)
            assert "Say in a few words why" in unbroken(app)
        app.screen.query_one("Input").value = "new [/4]"
        await who.press("enter")
        await settled(app, pilot)
        assert "new [/4]. It is demanded here. The verdict will read go with waivers" in sentence(app)
        assert "– set aside" in shown(app)
        await who.press("down")
        assert "Tyres: set aside by Odo Brack" in sentence(app)
        rail = str(who.walk.query_one(Rail).content).splitlines()
        assert [line.split()[-1] for line in rail if "Tyres" in line or "Go /" in line] == ["–", "–"]
        await who.press("f10")
        await pilot.pause()
        page = page_text(app)
        assert "– GO WITH WAIVERS until" in page
        assert "Set aside: Tyres (Odo Brack)" in page
        why = page[page.index("Why") :].splitlines()
        assert "Tyres" in why[1]
        assert "Set aside by Odo Brack" in why[1]
        assert [(w.by, w.reason) for w in waivers(folder, GOES)] == [("Odo Brack", "new [/4]")]
        await who.go_to("tyres")
        await who.ask("f7", Pick)
        assert "Tyres: set aside by Odo Brack" in unbroken(app)
        await who.press("escape")
        await settled(app, pilot)
        assert len(waivers(folder, GOES)) == 1
        await who.ask("f7", Pick)
        await who.press("c")
        await settled(app, pilot)
        assert "it counts again" in sentence(app)
        assert who.walk.verdict.go
    assert waivers(folder, GOES) == ()


def test_what_was_set_aside_twice_counts_again_at_once(session):
    for reason in ("new ones", "another reason"):
        session.waive("tyres", "", reason)
    found = session.finding_at("tyres", "", session.verdict())
    assert found.waiver.reason == "another reason"
    assert session.verdict().word == "go-with-waivers"
    session.count_again("tyres", "")
    assert session.verdict().go
    assert session.stories()["tyres", "", ""].in_short == "set aside twice, taken back"


@pytest.mark.parametrize(
    ("check", "by", "reason", "why"),
    [
        ("procedure", "Odo Brack", "no time", "cannot be set aside by anybody"),
        ("tyres", " ", "new ones", "with a name"),
        ("tyres", "Odo Brack", "x", "in a few words why"),
        ("tyres", "Odo Brack", "", "in a few words why"),
    ],
)
def test_nothing_is_set_aside_without_name_or_reason(session, check, by, reason, why):
    session.person = by
    with pytest.raises(ValueError, match=why):
        session.waive(check, "", reason)
    assert session.journal.job.waivers == ()


def test_a_step_that_was_set_aside_is_not_waited_for(session):
    step = next(s for s in session.steps if s.id == "load")
    session.happened("load_changed")
    before = session.state(step, session.verdict())
    session.waive("load", "", "weighed with the trailer on")
    after = session.state(step, session.verdict())
    assert (before.outcome, before.waived, before.asked > before.answered) == ("", False, True)
    assert (after.outcome, after.waived, after.asked) == ("pass", True, 0)


# --- the record ----------------------------------------------------------------------------------


async def test_the_record_shows_who_answered_what_and_when(app, folder, clock):
    async with app.run_test(size=(80, 24)) as pilot:
        who = await opened(app, pilot, folder, clock)
        await type_pressure(who, "291")  # it fails, so the cursor stays
        await who.press(*"219")
        await who.ask("enter", Pick)
        await who.press("c")
        await settled(app, pilot)
        to_row(who, "pressure.lf")
        await who.ask("ctrl+r", Tell)
        assert "measured twice, the first taken back as mistyped" in told(app)
        assert "Odo Brack: 291 kPa (" in told(app)
        assert "Odo Brack: 219 kPa (" in told(app)
        assert "Odo Brack took back 291 kPa: mistyped" in told(app)
        await who.press("ctrl+r")
        await settled(app, pilot)
        to_row(who, "parked")
        choice = next(c for c in who.row.question.choices if c.key == "s")
        await who.ask("ctrl+r", Tell)
        assert f"Odo Brack: {choice.label} (" in told(app)
        await who.press("escape")
        to_row(who, "pressure.rf")
        await who.ask("ctrl+r", Tell)
        assert told(app) == "Nothing was answered here yet."
        await who.press("escape")
        who.walk.session.waive("aim", "left", "no tolerance [/4]")
        await who.go_to("aim")
        assert who.row is None
        await who.ask("ctrl+r", Tell)
        assert "Odo Brack set it aside: no tolerance [/4]" in told(app)
        await who.press("escape", "f10")
        await who.ask("ctrl+r", Tell)
        assert "no tolerance [/4]" in told(app)
        assert "291 kPa" in told(app)
        assert choice.label not in told(app)  # one plain answer
        await who.press("escape")
        await who.go_to("tyres")
        await who.ask("f1", Tell)
        assert "Ctrl+R the record" in told(app)


def test_the_record_shows_an_answer_that_serves_several_checks(session):
    step = next(s for s in session.steps if s.id == "tyres")
    air = next(r for r in session.rows(step, session.verdict()) if r.question.shared)
    page = record_page.of_row(air, session.stories(), MOMENT).plain
    assert "°C (thermometer-1)" in page

"""What the keys do beside answering, and that nothing typed or failing is passed over in silence."""

from __future__ import annotations

from dataclasses import replace

import pytest

from readiness.wizard import help_page
from readiness.wizard.app import ReadinessApp
from readiness.wizard.dialogs import Ask, Tell
from readiness.wizard.form import Form
from readiness.wizard.start import Start
from tests.wizard.driver import Technician, settled
from tests.wizard.test_walk import app, begun, clock, folder, opened, page_text, shown, to_tyres

__all__ = ["app", "clock", "folder"]


def sentence(app) -> str:
    """What stands under the form, unbroken."""
    return str(app.screen.query_one("#sentence").content)


def readings(folder, key: str):
    return [r for r in folder.journal("T1", write=False).job.readings if r.question == key]


async def type_pressure(who: Technician, text: str = "231") -> None:
    await to_tyres(who)
    await who.press(*text, "enter")


async def test_a_failing_step_is_not_left_in_silence(app, folder, clock):
    """42.5 kg on the front seats fail the load, though the last question of the step is only 'anything else'."""
    async with app.run_test(size=(80, 24)) as pilot:
        who = await opened(app, pilot, folder, clock)
        await who.go_to("load")
        await who.press("1", "enter", "y", "y")
        for text in ("tool box", "42.5"):
            who.walk.form.entry.value = text
            await who.press("enter")
        await who.press("f", "n")
        assert who.walk.session.steps[who.walk.at].id == "load"
        assert "tool box" in sentence(app)
        await who.press("enter")
        assert who.walk.session.steps[who.walk.at].id != "load"


@pytest.mark.parametrize("key", ["down", "up"])
async def test_arrows_enter_what_is_typed(app, folder, clock, key):
    async with app.run_test(size=(80, 24)) as pilot:
        who = await opened(app, pilot, folder, clock)
        await to_tyres(who)
        await who.press("2", "3", "1", key)
        assert [r.text for r in readings(folder, "pressure.lf")] == ["231"]


@pytest.mark.parametrize("key", ["pagedown", "f10"])
async def test_other_ways_out_say_that_something_is_not_kept(app, folder, clock, key):
    async with app.run_test(size=(80, 24)) as pilot:
        who = await opened(app, pilot, folder, clock)
        await to_tyres(who)
        await who.press("9", "3", key)
        assert "'93' is not kept yet" in shown(app)
        assert who.walk.form.entry.value == "93"
        await who.press("escape")
        assert who.walk.form.entry.value == ""
        assert who.walk.session.steps[who.walk.at].id == "tyres"


async def test_after_a_refusal_typing_replaces_the_entry(app, folder, clock):
    async with app.run_test(size=(80, 24)) as pilot:
        who = await opened(app, pilot, folder, clock)
        await to_tyres(who)
        who.walk.form.entry.value = "23 bar"
        await who.press("enter")
        await who.press("2", "3", "1")
        assert who.walk.form.entry.value == "231"


async def test_a_number_begun_in_one_unit_stays_in_it(app, folder, clock):
    async with app.run_test(size=(80, 24)) as pilot:
        who = await opened(app, pilot, folder, clock)
        await to_tyres(who)
        await who.press("2", "3", "1", "f8", "enter")
        assert [r.value for r in readings(folder, "pressure.lf")] == [231.0]
        assert [r.text for r in readings(folder, "pressure.lf")] == ["231 kPa"]


async def test_another_instrument_corrects_the_reading(app, folder, clock):
    async with app.run_test(size=(80, 24)) as pilot:
        who = await opened(app, pilot, folder, clock)
        await type_pressure(who)
        await who.press("up")
        await who.ask("f4")
        gauges = [i.id for i in folder.instruments.values() if i.measures == "pressure"]
        await who.press("2")
        await settled(app, pilot)
        assert [(r.instrument, r.text) for r in readings(folder, "pressure.lf")] == [(gauges[1], "231")]
        assert folder.instruments[gauges[1]].title in shown(app)


async def test_an_instrument_out_of_date_is_said_at_once(app, folder, clock):
    async with app.run_test(size=(120, 40)) as pilot:
        who = await opened(app, pilot, folder, clock)
        await who.go_to("light")
        await who.ask("f4")
        assert "OUT OF DATE since 2026-06-30" in " ".join(shown(app).split())


async def test_told_without_a_name_changes_nothing(app, folder, clock):
    async with app.run_test(size=(80, 24)) as pilot:
        who = await opened(app, pilot, folder, clock)
        await to_tyres(who)
        await who.ask("f3")
        await who.ask("t", Ask)
        await who.press("escape")
        await settled(app, pilot)
        await who.press("2", "3", "1", "enter")
        assert [r.evidence for r in readings(folder, "pressure.lf")] == ["measured"]


async def test_undo_takes_back_the_last_thing_whatever_it_was(app, folder, clock):
    async with app.run_test(size=(80, 24)) as pilot:
        who = await opened(app, pilot, folder, clock)
        await type_pressure(who)
        who.walk.session.happened("tyre_touched")
        who.walk.show_anew(None)
        await who.press("ctrl+z")
        assert "Taken back: a tyre was touched" in shown(app)
        assert who.walk.verdict.sides["left"].finding("tyres").outcome == "not_done"
        await who.press("ctrl+z")
        assert readings(folder, "pressure.lf") == []
        for _ in folder.journal("T1", write=False).job.readings:
            await who.press("ctrl+z")
        await who.press("ctrl+z")
        assert "nothing to take back" in shown(app)


async def test_the_go_page_leads_to_what_is_to_be_done(app, folder, clock):
    async with app.run_test(size=(80, 24)) as pilot:
        who = await opened(app, pilot, folder, clock)
        await type_pressure(who, "219")
        await who.press("f10")
        await pilot.pause()
        assert "1 Tyres" in page_text(app)
        await who.press("1")
        assert who.row is not None
        assert who.row.place == ("tyres", "", "pressure.lf")


async def test_another_bay_moves_the_car(app, folder, clock):
    async with app.run_test(size=(80, 24)) as pilot:
        who = await opened(app, pilot, folder, clock)
        await who.ask("ctrl+o")
        await who.to_bays("b")
        await who.take_bay("bay-3")
        await settled(app, pilot)
        job = folder.journal("T1", write=False).job
        assert job.bay == "bay-3"
        assert [e.event for e in job.events] == ["car_moved"]


async def test_the_second_side_asks_only_for_what_is_its_own(app, folder, clock):
    async with app.run_test(size=(80, 24)) as pilot:
        who = await opened(app, pilot, folder, clock)
        await type_pressure(who)
        await who.ask("ctrl+o")
        await who.ask("s")
        await who.press("b")
        await settled(app, pilot)
        assert set(who.walk.verdict.sides) == {"left", "right"}
        assert len(readings(folder, "pressure.lf")) == 1


async def test_every_key_is_on_the_list_and_can_be_picked(app, folder, clock):
    async with app.run_test(size=(80, 30)) as pilot:
        who = await opened(app, pilot, folder, clock)
        await who.ask("ctrl+p")
        assert "F10" in shown(app)
        assert "May I start" in shown(app)
        for _ in range(9):
            await who.press("down")
        await who.press("enter")
        await settled(app, pilot)
        assert who.walk.on_verdict_page


async def test_a_click_goes_to_the_row_under_it_also_when_scrolled(app, folder, clock):
    async with app.run_test(size=(80, 14)) as pilot:
        who = await opened(app, pilot, folder, clock)
        await to_tyres(who)
        form = who.walk.query_one(Form)
        form.move(6)
        await pilot.pause()
        assert form.scroll_y > 0
        rows = form.rows
        line = int(form.scroll_y) + 1
        await pilot.click(rows, offset=(4, line))
        await pilot.pause()
        assert rows.here == line


async def test_a_number_that_is_taken_is_asked_again(app, folder, clock):
    begun(folder, clock).close()
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(app, pilot)
        who = Technician(app, pilot, {})
        await who.ask("n")
        await who.ask("4")
        await who.to_bays("l")
        await who.take_bay("bay-2")
        await who.dialog(Ask)
        await who.press("T", "1")
        await who.ask("enter")
        assert "exists already" in " ".join(shown(app).split())
        await who.press("escape")
        await settled(app, pilot)
        assert isinstance(app.screen, Start)


async def test_own_kit_is_asked_once_and_shows_the_side_that_it_spoils(app, folder, clock):
    """In the demo job the tool chest stands in the right side's line of sight only."""
    async with app.run_test(size=(120, 40)) as pilot:
        await settled(app, pilot)
        app.screen.open_job("HB-0418")
        await settled(app, pilot)
        who = Technician(app, pilot, {})
        await who.go_to("clear_area")
        rows = [line.row for line in who.walk.form.rows.lines if line.row is not None]
        assert [r.question.key for r in rows].count("kit.5") == 1
        chest = next(r for r in rows if r.question.key == "kit.5")
        assert chest.failing
        assert who.walk.session.finding_of(chest, who.walk.verdict).outcome == "fail"
        assert who.row.question.key == "kit.5"
        assert "tool chest reaches" in sentence(app)


async def test_a_check_with_nothing_to_ask_can_be_set_aside(folder, clock):
    """The procedure gives no ride heights: stance has no row, and F7 still reaches it."""
    sheet = folder.path / "sheets" / "tern-rear-corner.yaml"
    text = sheet.read_text(encoding="utf-8")
    start, end = text.index("ride_heights:"), text.index("marks:")
    sheet.write_text(text[:start] + text[end:], encoding="utf-8", newline="\n")
    app = ReadinessApp(folder.path, person="Odo Brack", clock=clock)
    async with app.run_test(size=(80, 24)) as pilot:
        who = await opened(app, pilot, folder, clock)
        await who.go_to("stance")
        await who.ask("f7")
        await who.ask("1", Ask)
        await who.press(*"none", "enter")
        await settled(app, pilot)
        finding = who.walk.verdict.sides["left"].finding("stance")
        assert finding.outcome == "waived"
        assert finding.counts


async def test_the_go_page_says_what_is_wrong_where_there_is_no_row(app, folder, clock):
    """In the demo job a lux meter is out of date; the instruments check asks nothing."""
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(app, pilot)
        app.screen.open_job("HB-0414")
        await settled(app, pilot)
        who = Technician(app, pilot, {})
        await who.press("f10")
        await pilot.pause()
        await who.press("1")
        assert who.walk.session.steps[who.walk.at].id == "kit"
        assert "Old lux meter" in sentence(app)


async def test_how_it_was_worked_out_is_told_on_asking_only(app, folder, clock):
    """On the page behind F1 and not under the form nor on the go / no-go page; text in it is text."""
    async with app.run_test(size=(80, 24)) as pilot:
        who = await opened(app, pilot, folder, clock)
        await type_pressure(who)
        row, session, verdict = who.row, who.walk.session, who.walk.verdict
        assert row is not None
        assert verdict is not None
        found = session.finding_of(row, verdict)
        assert "How it was worked out" not in shown(app)
        asked = replace(found, notes=("The gauge is warm.",), details=("226 = 241 - [/15].",))
        page = help_page.help_page(row.check, row, session.visit, help_page.working_of([("", asked)])).plain
        assert "How it was worked out\n• The gauge is warm.\n• 226 = 241 - [/15].\n" in page
        bare = help_page.help_page(row.check, row, session.visit)
        assert "How it was worked out" not in bare.plain
        await who.ask("f1", Tell)
        told = str(app.screen.query("VerticalScroll > Static").first().content)
        assert all(line in told for line in (*found.notes, *found.details))
        assert ("How it was worked out" in told) == bool(found.notes or found.details)

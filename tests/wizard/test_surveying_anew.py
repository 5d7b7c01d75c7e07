"""A survey on the screen: how it is begun, and begun anew."""

from __future__ import annotations

from readiness.records.shop import ShopFolder
from readiness.records.surveys import SurveyJournal, unfinished
from readiness.wizard.dialogs import Ask, Pick
from readiness.wizard.surveying import Surveying
from readiness.wizard.surveying_lines import lines_of
from tests.wizard.driver import Technician, settled, until
from tests.wizard.test_surveying import (
    begun,
    clock,
    enter,
    folder,
    page,
    read_all,
    row_of,
    screen,
    sentence,
    staff,
    surveys,
    title,
)

__all__ = ["clock", "folder"]


def offered(app) -> str:
    """What a Pick offers, line by line."""
    options = app.screen.query_one("OptionList").options
    return "\n".join(str(o.prompt) for o in options)


async def test_a_survey_is_begun_anew_with_the_same_places_and_the_old_one_is_not_offered_again(
    folder, clock
):
    first = surveys(folder, clock)
    async with first.run_test(size=(80, 24)) as pilot:
        who = await begun(first, pilot, "l")
        screen(first).session.leave_out("4", "a pallet stands there")
        screen(first).show_anew(None)
        for _ in range(3):
            await enter(who, staff(first))
    old = unfinished(folder, "bay-3")
    second = surveys(folder, clock, person="Lio Fenn")
    async with second.run_test(size=(80, 24)) as pilot:
        who = Technician(second, pilot, {})
        await who.dialog(Pick)
        assert "its survey is not finished" in title(second)
        assert "3 of 10 readings by laser, begun 2026-11-25 by Odo Brack" in offered(second)
        await who.press("s")
        await until(pilot, lambda: isinstance(second.screen, Surveying))
        await settled(second, pilot)
        session = screen(second).session
        assert session.surveying.by == "Lio Fenn"
        assert "4" not in [n.name for n in session.surveying.nodes]
        assert session.so_far().done == 0
        new = session.journal.path
        await read_all(who, staff)
        await settled(second, pilot)
        await who.press("enter")
        await settled(second, pilot)
        assert session.kept is not None
    assert old is not None
    assert new != old
    assert unfinished(folder, "bay-3") is None
    with SurveyJournal.open(old, write=False) as journal:
        assert len(journal.surveying.readings) == 3
        assert journal.surveying.set_aside is not None
    survey = ShopFolder(folder.path).bays["bay-3"].survey
    assert survey is not None
    assert "4 was left out: a pallet stands there." in survey.note


async def test_begun_anew_the_other_way_or_not_at_all(folder, clock):
    first = surveys(folder, clock)
    async with first.run_test(size=(80, 24)) as pilot:
        who = await begun(first, pilot, "l")
        await enter(who, staff(first))
    old = unfinished(folder, "bay-3")
    second = surveys(folder, clock)
    async with second.run_test(size=(80, 24)) as pilot:
        who = Technician(second, pilot, {})
        await who.dialog(Pick)
        await who.press("n")
        await until(pilot, lambda: "surveyed with" in title(second))
        await who.press("escape")
        await until(pilot, lambda: "Nothing was begun" in sentence(second))
        assert unfinished(folder, "bay-3") == old
        await who.ask("enter", Pick)
        await who.press("n")
        await until(pilot, lambda: "surveyed with" in title(second))
        await who.press("v")
        await until(pilot, lambda: isinstance(second.screen, Ask))
        await who.press("enter")
        await until(pilot, lambda: isinstance(second.screen, Surveying))
        await settled(second, pilot)
        assert screen(second).session.surveying.way == "level"
    assert unfinished(folder, "bay-3") != old


async def test_a_second_enter_while_the_places_are_chosen_begins_nothing_twice(folder, clock):
    app = surveys(folder, clock, "bay-1")
    async with app.run_test(size=(80, 24)) as pilot:
        who = Technician(app, pilot, {})
        await who.dialog(Pick)
        await who.press("v")
        await until(pilot, lambda: isinstance(app.screen, Ask))
        await pilot.press("enter", "enter", "enter")
        await until(pilot, lambda: isinstance(app.screen, Surveying))
        await settled(app, pilot)
    assert len(list(folder.surveys_folder.glob("bay-1-*.jsonl"))) == 1


async def test_what_to_bring_is_said_first(folder, clock):
    app = surveys(folder, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await Technician(app, pilot, {}).dialog(Pick)
        assert "Rotating laser with staff" in offered(app)
        await begun(app, pilot, "l")
        said = sentence(app)
        assert "10 places, 11 readings, about" in said
        assert "laser, staff, tape and chalk" in said
        assert "from the bay's corner" in str(app.screen.query_one("#prompt").content)


async def test_after_the_laser_was_moved_all_is_read_again_from_the_first(folder, clock):
    """6 mm more at the end: the cursor goes there, nothing is kept, F6 begins anew with the same places."""
    app = surveys(folder, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        who = await begun(app, pilot, "l")
        session = screen(app).session

        def shifted(app) -> str:
            return str(int(staff(app)) + 6 * (session.so_far().done >= 5))

        await read_all(who, shifted)
        await settled(app, pilot)
        assert row_of(app).question.key == "again.1"
        assert "the laser has moved" in sentence(app)
        assert "F6" in sentence(app)
        await who.press("f10")
        await settled(app, pilot)
        assert " ".join(page(app).split()).count("at the beginning") == 1
        await who.press("enter")
        await settled(app, pilot)
        assert row_of(app).question.key == "again.1"
        places = session.surveying.nodes
        await who.ask("f6", Pick)
        await who.press("g")
        await settled(app, pilot)
        assert session.so_far().done == 11
        await who.ask("f6", Pick)
        await who.press("b")
        await settled(app, pilot)
        assert "from the first" in sentence(app)
        assert session.surveying.nodes == places
        assert session.so_far().done == 0
        assert row_of(app).question.key == "staff.1"
        await read_all(who, staff)
        await settled(app, pilot)
        assert "✓ Sound" in page(app)


async def test_after_one_reading_in_divisions_numbers_alone_are_divisions(folder, clock):
    """The vial of level-2 is 0.5 mm/m a division, so 4.25 divisions are 2.125 mm/m; another level reads mm/m."""
    app = surveys(folder, clock, "bay-1")
    async with app.run_test(size=(80, 24)) as pilot:
        who = await begun(app, pilot, "v", "enter")
        session = screen(app).session
        await who.ask("f4", Pick)
        await who.press("2")
        await settled(app, pilot)
        assert session.entry_unit(row_of(app)) == "mm/m"
        await enter(who, "4.25 div")
        assert session.entry_unit(row_of(app)) == "div"
        await enter(who, "-3")
        await enter(who, "1 mm/m")
        assert session.entry_unit(row_of(app)) == "mm/m"
        readings = session.surveying.readings
        assert [(r.text, r.value) for r in readings] == [
            ("4.25 div", 2.125),
            ("-3 div", -1.5),
            ("1 mm/m", 1.0),
        ]
        lines = lines_of(session)[:3]
        assert [(line.shown, line.unit) for line in lines] == [("4.25", "div"), ("-3", "div"), ("1", "mm/m")]
        session.pick(row_of(app), "level-1")
        assert session.entry_unit(row_of(app)) == "mm/m"


async def test_an_instrument_that_is_out_of_date_is_told_before_and_after(folder, clock):
    tools = folder.path / "instruments.yaml"
    text = tools.read_text(encoding="utf-8")
    assert text.count("due: 2027-06-30") == 2
    tools.write_text(text.replace("due: 2027-06-30", "due: 2026-06-30"), encoding="utf-8", newline="\n")
    app = surveys(ShopFolder(folder.path), clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await Technician(app, pilot, {}).dialog(Pick)
        assert "out of date" in offered(app)
        who = await begun(app, pilot, "l")
        assert "Rotating laser with staff is out of date" in sentence(app)
        await read_all(who, staff)
        await settled(app, pilot)
        assert "It will not count. Rotating laser with staff (laser-1) was due" in " ".join(page(app).split())
        await who.press("enter")
        await settled(app, pilot)
        said = " ".join(page(app).split())
        assert "but it does not count" in said
        assert "it counts for every job" not in said

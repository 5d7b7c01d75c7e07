"""A bay surveyed on the screen, typed as a technician would, on a copy of the demo shop.

The floor is known: a tilted plane with a dip, so that what the screen keeps is held against what was poured in.
"""

from __future__ import annotations

import errno
import os
import signal
import subprocess
import sys
from datetime import datetime
from math import dist

import pytest

from readiness.records.shop import ShopFolder
from readiness.records.surveys import SurveyJournal, unfinished
from readiness.survey.surveying import run_keys
from readiness.wizard.app import ReadinessApp
from readiness.wizard.dialogs import Ask, Pick, Tell
from readiness.wizard.picture import PictureView
from readiness.wizard.rows import Row
from readiness.wizard.surveying import Surveying
from readiness.wizard.surveying_deeds import PlanPage
from tests.shop import Clock, demo_shop
from tests.test_imports import brought
from tests.wizard.driver import Technician, settled, until

ALONG, ACROSS = 1.2, -0.6
"""mm/m by which the floor of these tests rises with x and y."""
ZERO = 0.3
"""mm/m that the level of these tests reads too much."""


def height(x: float, y: float) -> float:
    """mm, of the floor that is surveyed."""
    return ALONG * x + ACROSS * y


@pytest.fixture
def folder(tmp_path):
    return demo_shop(tmp_path)


@pytest.fixture
def clock():
    return Clock()


def surveys(folder, clock, bay="bay-3", person: str | None = "Odo Brack") -> ReadinessApp:
    return ReadinessApp(folder.path, person=person, clock=clock, survey=bay)


def screen(app) -> Surveying:
    assert isinstance(app.screen, Surveying), app.screen
    return app.screen


def row_of(app) -> Row:
    row = screen(app).row
    assert row is not None
    return row


def sentence(app) -> str:
    return str(app.screen.query_one("#sentence").content)


def page(app) -> str:
    return str(app.screen.query_one("#page-text").content)


def on_disk(folder, bay="bay-3") -> SurveyJournal:
    path = unfinished(folder, bay)
    assert path is not None
    return SurveyJournal.open(path, write=False)


async def begun(app, pilot, *keys: str) -> Technician:
    """A survey by the way that the first key picks; the other keys answer what is asked after it."""
    who = Technician(app, pilot, {})
    await who.dialog(Pick)
    for key in keys:
        await who.press(key)
    await until(pilot, lambda: isinstance(app.screen, Surveying))
    await settled(app, pilot)
    return who


async def resumed(app, pilot) -> Technician:
    """The bay's unfinished survey goes on."""
    await Technician(app, pilot, {}).dialog(Pick)
    await pilot.press("enter")
    await until(pilot, lambda: isinstance(app.screen, Surveying))
    await settled(app, pilot)
    return Technician(app, pilot, {})


async def enter(who: Technician, text: str) -> None:
    """Type the whole of a reading at once, and Enter."""
    screen(who.app).form.entry.value = text
    await who.press("enter")


def staff(app) -> str:
    """What the staff reads at the place of the cursor, to the millimetre that it is read to."""
    session = screen(app).session
    at = session.place(session.places_of(row_of(app))[0])
    return f"{1500 - height(at.x, at.y):.0f}"


def level(app, zero: float = ZERO) -> str:
    """What the level shows on the run of the cursor, to its last digit."""
    session, row = screen(app).session, row_of(app)
    run = session.run_of(row)
    assert run is not None
    a, b = (session.place(n) for n in run)
    length = ((b.x - a.x) ** 2 + (b.y - a.y) ** 2) ** 0.5
    rise = (height(b.x, b.y) - height(a.x, a.y)) / length
    turned = row.question.key == run_keys(run)[1]
    return f"{(-rise if turned else rise) + zero:.1f}"


async def read_all(who: Technician, reading, most: int = 200) -> None:
    """Type what the instrument shows at each row until the result comes or something is said to be wrong."""
    app = who.app
    for _ in range(most):
        if screen(app).on_result or screen(app).session.so_far().problems:
            return
        await enter(who, reading(app))
    raise AssertionError("the survey does not come to an end")


# --- whole surveys -------------------------------------------------------------------------------


async def test_a_bay_is_surveyed_by_laser_key_by_key(folder, clock):
    """From the start to the file: every key a person presses, and the bay then has these heights."""
    app = surveys(folder, clock, person=None)
    async with app.run_test(size=(80, 24)) as pilot:
        who = await begun(app, pilot, "l", "2")
        session = screen(app).session
        assert session.person == "Odo Brack"
        nodes = session.surveying.nodes
        assert [n.what for n in nodes].count("left front wheel of the Dunlin coupe") == 1
        while not screen(app).on_result:
            assert f"{session.so_far().done} of {len(nodes) + 1} readings" in session.progress
            await who.press(*staff(app), "enter")
        await settled(app, pilot)
        assert "✓ Sound" in page(app)
        assert "Along the car it rises 1.2" in " ".join(page(app).split())
        print(f"keys: {who.keys}")
        assert who.keys <= 2 + 5 * (len(nodes) + 1)
        await who.press("enter")
        await settled(app, pilot)
        assert "✓ Kept" in page(app)
        kept = session.kept
        await who.press("enter")
    assert app.return_code == 0
    assert kept is not None
    survey = ShopFolder(folder.path).bays["bay-3"].survey
    assert survey is not None
    assert kept.stem == survey.survey
    assert survey.by == "Odo Brack"
    lowest = min(height(p.x, p.y) for p in survey.points)
    assert len(survey.points) == len(nodes)
    for p in survey.points:
        # the staff is read to 1 mm, at this place and at the lowest
        assert p.height == pytest.approx(height(p.x, p.y) - lowest, abs=1.0)
    assert unfinished(folder, "bay-3") is None


async def test_a_wrong_sign_by_level_is_caught_and_corrected(folder, clock):
    app = surveys(folder, clock, "bay-1")
    async with app.run_test(size=(120, 40)) as pilot:
        who = await begun(app, pilot, "v", *"2.5", "enter")
        session = screen(app).session
        assert session.surveying.straightedge == 2.5
        runs = session.surveying.runs
        wrong = next(r for r in runs if abs(slope_of(session, r)) > 1.0)

        def shown(app) -> str:
            """One second reading typed with the sign of the slope."""
            text = level(app, zero=0.0)  # runs are short here: the whole slope in the second reading shows it
            slip = row_of(app).question.key == run_keys(wrong)[1]
            return text.replace("-", "") if slip else text

        await read_all(who, shown)
        if not session.so_far().problems:
            raise AssertionError("the wrong sign was not caught")
        assert run_keys(wrong)[1] in session.so_far().suspect
        assert row_of(app).question.key in run_keys(wrong)
        assert f"{wrong[0]} to {wrong[1]}" in sentence(app)
        await who.press("f10")
        await settled(app, pilot)
        assert "Not to be kept yet" in page(app)
        assert f"{wrong[0]} to {wrong[1]}" in " ".join(page(app).split())
        await who.press("enter")
        await settled(app, pilot)
        assert session.kept is None
        assert row_of(app).question.key in run_keys(wrong)
        screen(app).show_anew(next(r for r in session.rows() if r.question.key == run_keys(wrong)[1]))
        await pilot.pause()
        screen(app).form.entry.value = level(app, zero=0.0)
        await who.ask("enter", Pick)
        await who.press("c")
        await settled(app, pilot)
        assert not session.so_far().problems
        await read_all(who, lambda app: level(app, zero=0.0))
        await settled(app, pilot)
        assert "✓ Sound" in page(app)
        await who.press("enter")
        await settled(app, pilot)
        assert session.kept is not None
    survey = ShopFolder(folder.path).bays["bay-1"].survey
    assert survey is not None
    assert len(survey.runs) == len(runs)
    by_ends = {(r.start, r.end): r for r in survey.runs}
    for run in runs:
        found = by_ends[run]
        assert found.turned is not None
        # each reading is rounded to 0.1 mm/m
        assert (found.first - found.turned) / 2 == pytest.approx(slope_of(session, run), abs=0.1)


def slope_of(session, run) -> float:
    a, b = (session.place(n) for n in run)
    return (height(b.x, b.y) - height(a.x, a.y)) / ((b.x - a.x) ** 2 + (b.y - a.y) ** 2) ** 0.5


# --- leaving and coming back ---------------------------------------------------------------------


async def test_a_survey_goes_on_where_it_was_left(folder, clock):
    first = surveys(folder, clock)
    async with first.run_test(size=(80, 24)) as pilot:
        who = await begun(first, pilot, "l")
        for _ in range(3):
            await enter(who, staff(first))
        there = row_of(first).question.key
        await who.press("1", "4", "escape")
        assert screen(first).form.entry.value == ""
        await who.press("escape")
    assert first.return_code == 0
    second = surveys(folder, clock, person="Lio Fenn")
    async with second.run_test(size=(80, 24)) as pilot:
        who = await resumed(second, pilot)
        assert "goes on where it was left" in sentence(second)
        assert row_of(second).question.key == there
        assert screen(second).session.so_far().done == 3
        await enter(who, staff(second))
    readings = on_disk(folder).surveying.readings
    assert [r.by for r in readings] == ["Odo Brack"] * 3 + ["Lio Fenn"]


async def test_a_level_run_that_was_left_half_way_is_turned_first(folder, clock):
    first = surveys(folder, clock, "bay-1")
    async with first.run_test(size=(80, 24)) as pilot:
        who = await begun(first, pilot, "v", "enter")
        for _ in range(3):
            await enter(who, level(first))
        there = row_of(first).question.key
    second = surveys(folder, clock, "bay-1")
    async with second.run_test(size=(80, 24)) as pilot:
        await resumed(second, pilot)
        assert row_of(second).question.key == there == run_keys(screen(second).session.surveying.runs[1])[1]
        assert in_view(second)
        screen(second).show_anew(screen(second).session.rows()[-1])
        await pilot.pause()
        assert in_view(second)


async def test_a_second_window_looks_on_until_the_survey_is_free(folder, clock):
    first, second = surveys(folder, clock), surveys(folder, clock, person="Lio Fenn")
    async with first.run_test(size=(80, 24)) as pilot:
        who = await begun(first, pilot, "l")
        await enter(who, "1500")
        async with second.run_test(size=(80, 24)) as other:
            await until(other, lambda: isinstance(second.screen, Surveying) and bool(held_by(second)))
            assert "Odo Brack has bay-3-" in held_by(second)
            for key in ("f2", "f5", "f6", "f7", "f8", "ctrl+n", "ctrl+z", "enter"):
                screen(second).form.entry.value = "9"
                await other.press(key)
                assert "Nothing can be entered: Odo Brack has bay-3-" in sentence(second), key
                screen(second).say("")
            await enter(who, "1500")
            screen(second).look_again()
            assert screen(second).session.so_far().done == 2
            screen(first).session.close()
            await other.press("ctrl+w")
            assert held_by(second) == ""
            assert screen(second).form.entry.value == "9", "what was typed is still there"
            await enter(Technician(second, other, {}), "1501")
            await Technician(second, other, {}).dialog(Pick)  # the other one has read this place meanwhile
            await other.press("r")
            await until(other, lambda: isinstance(second.screen, Surveying))
    assert [r.by for r in on_disk(folder).surveying.readings] == ["Odo Brack", "Odo Brack", "Lio Fenn"]


def held_by(app) -> str:
    """The line that says that nothing can be entered; empty where something can."""
    line = app.screen.query_one("#locked")
    return str(line.content) if line.display else ""


@pytest.mark.parametrize(("bay", "said"), [("bay-9", "bay-9"), ("bay-3", "shop.yaml")])
async def test_what_is_missing_is_said_and_enter_tries_again(folder, clock, bay, said):
    aside = folder.path / "shop.yaml"
    text = aside.read_text(encoding="utf-8")
    if bay == "bay-3":
        aside.unlink()
    app = surveys(folder, clock, bay)
    async with app.run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: said in sentence(app))
        if bay == "bay-3":
            aside.write_text(text, encoding="utf-8", newline="\n")
            await pilot.press("enter")
            await until(pilot, lambda: isinstance(app.screen, Pick))
            await pilot.press("escape")
            await until(pilot, lambda: "Nothing was begun" in sentence(app))
    assert unfinished(folder, "bay-3") is None


async def test_without_a_bay_it_is_asked_for(folder, clock):
    app = surveys(folder, clock, "")
    async with app.run_test(size=(80, 24)) as pilot:
        who = Technician(app, pilot, {})
        await who.dialog(Pick)
        await who.press(str(1 + list(folder.bays).index("bay-3")))
        await who.dialog(Pick)
        await who.press("l")
        await until(pilot, lambda: isinstance(app.screen, Surveying))
        assert screen(app).session.surveying.bay == "bay-3"


# --- places --------------------------------------------------------------------------------------


async def test_a_place_is_added_and_another_left_out(folder, clock):
    app = surveys(folder, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        who = await begun(app, pilot, "l")
        session = screen(app).session
        names = [n.name for n in session.surveying.nodes]
        await who.ask("ctrl+n", Ask)
        await who.press(*"drain", "enter")
        await until(pilot, lambda: isinstance(app.screen, Ask) and "x from" in title(app))
        await who.press(*"40", "enter")
        await until(pilot, lambda: "y from" in title(app))
        await who.press(*"1", "enter")
        await until(pilot, lambda: "x from" in title(app))
        assert "outside the bay" in " ".join(dialog(app).split())
        await who.press(*"5.5 m".replace(" ", ""), "enter")
        await until(pilot, lambda: "y from" in title(app))
        await who.press(*"1.2", "enter")
        await settled(app, pilot)
        added = next(n for n in on_disk(folder).surveying.nodes if n.name not in names)
        assert (added.what, added.x, added.y) == ("drain", 5.5, 1.2)
        assert session.places_of(row_of(app)) == (added.name,)
        left = next(n for n in names if n != names[0])
        screen(app).show_anew(session.row_about(left))
        await who.ask("f7", Ask)
        await who.press(*"rack", "enter")
        await settled(app, pilot)
        assert left not in [n.name for n in on_disk(folder).surveying.nodes]
        assert "left out" in sentence(app)
        await who.press("ctrl+z")
        assert left in [n.name for n in on_disk(folder).surveying.nodes]
        assert "rack" in sentence(app)


async def test_a_run_is_added_and_another_left_out(folder, clock):
    app = surveys(folder, clock, "bay-1")
    async with app.run_test(size=(80, 24)) as pilot:
        who = await begun(app, pilot, "v", "enter")
        session = screen(app).session
        runs = session.surveying.runs
        start = session.surveying.nodes[0]
        end = next(n for n in session.surveying.nodes if not {(start.name, n.name), (n.name, start.name)} & set(runs)
                   and n is not start and dist((n.x, n.y), (start.x, start.y)) < 2.0)  # fmt: skip
        await who.ask("ctrl+n", Pick)
        await who.press("r")
        for wrong, said in ((start.name, "does not name two"), (f"{start.name} 99", "no place 99")):
            await until(pilot, lambda: "which two places" in title(app))
            await who.press(*wrong.replace(" ", ","), "enter")
            await until(pilot, lambda said=said: said in dialog(app))
        await until(pilot, lambda: "which two places" in title(app))
        await who.press(*start.name, "space", *end.name, "enter")
        await settled(app, pilot)
        assert (start.name, end.name) in on_disk(folder, "bay-1").surveying.runs
        assert session.run_of(row_of(app)) == (start.name, end.name)
        assert in_view(app)
        await who.ask("f7", Pick)
        await who.press("1")
        await until(pilot, lambda: isinstance(app.screen, Ask))
        await who.press("enter")
        await settled(app, pilot)
        assert on_disk(folder, "bay-1").surveying.runs == runs


def in_view(app) -> bool:
    """Whether the cursor's row shows."""
    form = screen(app).form
    return 0 <= form.rows.here - form.scroll_offset.y < form.size.height


def title(app) -> str:
    found = app.screen.query(".title")
    return str(found.first().content) if found else ""


def dialog(app) -> str:
    return " ".join(str(s.content) for s in app.screen.query("Static"))


# --- on the way ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("typed", "words"), [("12 m", "12 m"), ("1502 kPa", "kPa"), ("-5", "Staff"), ("1.2.3", "decimal")]
)
async def test_a_wrong_entry_is_refused_in_place_and_stays(folder, clock, typed, words):
    app = surveys(folder, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        who = await begun(app, pilot, "l")
        key = row_of(app).question.key
        await enter(who, typed)
        assert screen(app).form.entry.value == typed
        assert row_of(app).question.key == key
        assert sentence(app)
        assert not on_disk(folder).surveying.readings


async def test_a_full_disk_loses_nothing_that_was_typed(folder, clock, monkeypatch):
    def full(_: int) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    app = surveys(folder, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        who = await begun(app, pilot, "l")
        await enter(who, "1502")
        key = row_of(app).question.key
        with monkeypatch.context() as patch:
            patch.setattr(os, "fsync", full)
            await enter(who, "1498")
            assert "no space left" in sentence(app)
            assert screen(app).form.entry.value == "1498"
            assert row_of(app).question.key == key
        await who.press("enter")
        assert [r.text for r in on_disk(folder).surveying.readings] == ["1502 mm", "1498 mm"]


async def test_a_full_disk_at_the_end_is_said_and_keeping_is_tried_again(folder, clock, monkeypatch):
    def full(_: int) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    app = surveys(folder, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        who = await begun(app, pilot, "l")
        await read_all(who, staff)
        await settled(app, pilot)
        with monkeypatch.context() as patch:
            patch.setattr(os, "fsync", full)
            await who.press("enter")
            await settled(app, pilot)
            assert "no space left" in sentence(app)
            assert screen(app).session.kept is None
        await who.press("enter")
        await settled(app, pilot)
        assert screen(app).session.kept is not None


async def test_text_from_people_is_text(folder, clock):
    app = surveys(folder, clock, person="O. [/Brack]")
    async with app.run_test(size=(80, 24)) as pilot:
        who = await begun(app, pilot, "l")
        await enter(who, "1502")
        await who.press("up")
        await who.ask("f2", Ask)
        await who.press("left_square_bracket", "slash", "4", "right_square_bracket", "enter")
        await settled(app, pilot)
        screen(app).session.add_place(5.5, 1.2, "[bold]drain[/x]")
        screen(app).show_anew(None)
        await who.ask("f1", Tell)
        await who.press("escape")
        await who.press("f10")
        await settled(app, pilot)
        readings = on_disk(folder).surveying.readings
        assert [r.note for r in readings] == ["[/4]"]


async def test_a_second_reading_asks_why_and_a_reading_is_taken_back(folder, clock):
    app = surveys(folder, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        who = await begun(app, pilot, "l")
        await enter(who, "1502")
        await who.press("up")
        screen(app).form.entry.value = "1503"
        await who.ask("enter", Pick)
        await who.press("r")
        await settled(app, pilot)
        assert [r.value for r in on_disk(folder).surveying.readings] == [1502.0, 1503.0]
        screen(app).show_anew(screen(app).session.rows()[0])
        await who.press("f5")
        assert [r.value for r in on_disk(folder).surveying.readings] == [1502.0]
        screen(app).form.entry.value = "1504"
        await who.ask("enter", Pick)
        await who.press("c")
        await settled(app, pilot)
        assert [r.value for r in on_disk(folder).surveying.readings] == [1504.0]


async def test_a_step_in_the_floor_is_doubted_and_may_be_kept(folder, clock):
    """A place 40 mm under the others: the cursor goes there, the sentence says it; read again it stays so."""
    app = surveys(folder, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        who = await begun(app, pilot, "l")
        session = screen(app).session
        drain = session.rows()[3].question.key

        def dipped(app) -> str:
            return str(int(staff(app)) + 40 * (row_of(app).question.key == drain))

        while not session.so_far().doubts:
            await enter(who, dipped(app))
        assert row_of(app).question.key == drain
        place = session.places_of(row_of(app))[0]
        assert f"{place} lies" in sentence(app)
        screen(app).form.entry.value = dipped(app)
        await who.ask("enter", Pick)
        await who.press("r")
        await settled(app, pilot)
        while not screen(app).on_result:
            await enter(who, dipped(app))
        await settled(app, pilot)
        assert "Not to be kept" not in page(app)
        assert f"{place} lies" in " ".join(page(app).split())
        await who.press("enter")
        await settled(app, pilot)
        assert session.kept is not None


async def test_enter_alone_keeps_nothing(folder, clock):
    app = surveys(folder, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        who = await begun(app, pilot, "l")
        key = row_of(app).question.key
        await who.press("enter")
        assert row_of(app).question.key == key
        assert "nothing was typed" in sentence(app)
        await who.press("1", "5")
        for away in ("f10", "f7", "ctrl+n", "pagedown"):
            await who.press(away)
            assert isinstance(app.screen, Surveying)
            assert not screen(app).on_result
            assert "not kept yet" in sentence(app)
            assert screen(app).form.entry.value == "15"


async def test_what_is_typed_stays_with_its_row(folder, clock):
    app = surveys(folder, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        who = await begun(app, pilot, "l")
        await enter(who, "1502")
        key = row_of(app).question.key
        await who.press("1", "4", "f8")
        assert row_of(app).question.key == key
        assert screen(app).form.entry.value == "14"
        screen(app).show_anew(screen(app).session.rows()[4])
        assert screen(app).form.entry.value == ""


async def test_the_units_are_switched_on_the_way(folder, clock):
    app = surveys(folder, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        who = await begun(app, pilot, "l")
        await enter(who, "1500")
        await who.press("f8")
        await enter(who, "59")
        values = [r.value for r in on_disk(folder).surveying.readings]
        # 1 in = 25.4 mm exactly (the international inch)
        assert values == [1500.0, pytest.approx(59 * 25.4)]


async def test_the_plan_comes_up_on_a_narrow_screen_and_stands_beside_the_form_on_a_wide_one(folder, clock):
    app = surveys(folder, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        who = await begun(app, pilot, "l")
        assert not app.screen.query_one(PictureView).display
        await who.ask("ctrl+l", PlanPage)
        await until(pilot, lambda: "◦10" in drawn(app))
        await who.press("escape")
        await pilot.resize_terminal(130, 40)
        await until(pilot, lambda: app.screen.query_one(PictureView).display)
        text = drawn(app)
        assert all(n.name in text for n in screen(app).session.surveying.nodes)


def drawn(app) -> str:
    view = app.screen.query_one(PictureView)
    return "\n".join(view.render_line(y).text for y in range(view.size.height))


@pytest.mark.parametrize("size", [(80, 24), (120, 40), (30, 10), (1, 1)])
async def test_every_size_is_survived(folder, clock, size):
    app = surveys(folder, clock)
    async with app.run_test(size=size) as pilot:
        who = await begun(app, pilot, "l")
        await enter(who, "1502")
        await who.press("pagedown", "pageup", "f10")
        await pilot.resize_terminal(100, 30)
        await settled(app, pilot)
        assert "Not to be kept yet" in page(app)
        assert "not read yet" in page(app)


# --- the program ---------------------------------------------------------------------------------


def test_the_way_to_the_first_paint_is_light():
    assert not brought("import readiness.wizard.app, readiness.wizard.survey_start") & {
        "pint",
        "numpy",
        "shapely",
        "yaml",
        "msgspec",
        "click",
    }


@pytest.mark.skipif(os.name == "nt", reason="Windows has no pseudo-terminals of this kind")
@pytest.mark.parametrize("leave", ["\x11", "\x1b", None], ids=["ctrl+q", "escape", "told to end"])
def test_the_command_surveys_and_leaves_the_terminal_as_it_was(tmp_path, leave):
    from tests.terminal import ALTERNATE, Terminal, surroundings

    folder = demo_shop(tmp_path, datetime.now().astimezone())
    command = [sys.executable, "-m", "readiness", "survey", "bay-3", "--shop", str(folder.path)]
    with Terminal(command, surroundings(str(tmp_path / "home"))) as terminal:
        terminal.wait_for("surveyed with")
        terminal.type("l")
        terminal.wait_for("Who is working")
        terminal.type("2")
        terminal.wait_for("10 places, 11 readings")
        drawn = len(terminal.output)
        terminal.type("1502\r")
        terminal.wait_for("kept ", after=drawn)
        assert ALTERNATE in terminal.output
        if leave is None:
            os.kill(terminal.process.pid, signal.SIGTERM)
        else:
            terminal.type(leave)
        code = terminal.leave()
        assert terminal.restored
        assert terminal.left_behind.strip() == ""
    assert code == (128 + signal.SIGTERM if leave is None else 0)
    assert [r.text for r in on_disk(folder).surveying.readings] == ["1502 mm"]


def test_without_a_terminal_it_says_what_goes_without_one(folder):
    done = subprocess.run(
        [sys.executable, "-m", "readiness", "survey", "bay-3", "--shop", str(folder.path)],
        capture_output=True, text=True, stdin=subprocess.DEVNULL,
    )  # fmt: skip
    assert done.returncode == 2
    assert "Traceback" not in done.stderr
    assert "--show" in done.stderr

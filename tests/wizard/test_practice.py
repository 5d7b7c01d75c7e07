"""Practice on the screen: an apprentice looks, types, calls; the program keeps silent until then, and the shop's jobs alone."""

from __future__ import annotations

import pytest

from readiness.practice import kept, looking
from readiness.practice.exercise import exercise
from readiness.practice.filling import said_in
from readiness.wizard.app import ReadinessApp
from readiness.wizard.dialogs import Pick
from readiness.wizard.practice_start import PracticeStart, Wanted
from readiness.wizard.practice_walk import PracticeWalk
from readiness.wizard.start import Start
from tests.shop import Clock
from tests.wizard.driver import NAMES, Technician, settled, until
from tests.wizard.test_walk import page_text, shown
from tests.wizard.test_watch import few_jobs, said

WHO = "Lio Fenn"


@pytest.fixture
def folder(tmp_path):
    return few_jobs(tmp_path)


def practice(folder, seed: int, level: int, sheet: str | None = None) -> ReadinessApp:
    return ReadinessApp(folder.path, person=WHO, clock=Clock(), practice=Wanted(seed, level, sheet))


async def begun(app, pilot) -> Technician:
    """The car of the application's seed stands on the screen."""
    await until(pilot, lambda: isinstance(app.screen, PracticeWalk) and app.screen.verdict is not None)
    await pilot.pause()
    return Technician(app, pilot, {})


async def step_done(who: Technician) -> None:
    """Look at every row of the step and enter what is seen, as a careful person does, until a call is asked for."""
    for _ in range(80):
        if isinstance(who.app.screen, Pick) or who.walk.step is None or who.row is None:
            return
        await row_done(who)
        await who.pilot.pause()
    raise AssertionError("the step does not come to an end")


async def row_done(who: Technician) -> None:
    row, session = who.row, who.walk.session
    await who.press("enter")
    if row.answered or isinstance(who.app.screen, Pick) or who.row is None or who.row.place != row.place:
        return
    if row.question.type == "choice":
        text = looking.truly(session.exercise.world, row.kept_at, said_in(session.visit))
        choice = next(c for c in row.question.choices if text in (c.key, c.value, c.label))
        await who.press(choice.key)
    elif not who.walk.form.entry.value:  # shown in another unit: to be typed
        looked = session.looks[-1]
        sight = session.exercise.look(looked.place, looked.instrument, 0, said_in(session.visit))
        await who.press(*(NAMES.get(c, c) for c in sight.typed), "enter")
    else:
        await who.press("enter")


async def called(who: Technician, key: str) -> None:
    await until(who.pilot, lambda: isinstance(who.app.screen, Pick))
    asked = who.app.screen
    await who.press(key)
    await until(who.pilot, lambda: who.app.screen is not asked)


# --- looking -------------------------------------------------------------------------------------


async def test_enter_looks_and_enter_again_keeps_what_the_instrument_shows(folder):
    app = practice(folder, 2, 1)
    async with app.run_test(size=(80, 24)) as pilot:
        who = await begun(app, pilot)
        assert "PRACTICE, car 2, level 1." in shown(app)
        assert who.row.question.key == "light.1"
        before = len(who.walk.session.journal.entries)
        await who.press("enter")
        first = who.walk.form.entry.value
        assert first.isdigit(), "its unit stands beside the field"
        assert "shows" in said(app)
        assert len(who.walk.session.journal.entries) == before, "a look alone keeps nothing"
        await who.press("enter")
        assert len(who.walk.session.journal.entries) == before + 1
        assert who.row.question.key == "light.2"
        assert [look.place[2] for look in who.walk.session.looks] == ["light.1"]


async def test_the_same_car_for_everybody(folder, tmp_path):
    seen = []
    for _ in range(2):
        app = practice(folder, 7, 2)
        async with app.run_test(size=(80, 24)) as pilot:
            who = await begun(app, pilot)
            await who.press("enter")
            seen.append((shown(app).split("kept")[0], said(app), who.walk.form.entry.value))
    assert seen[0] == seen[1]


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
async def test_nothing_of_what_the_program_finds_shows_before_the_call(folder, size):
    """Car 2 at level 1 has patchy light: the number of its uniformity fails, and so would say it all."""
    app = practice(folder, 2, 1)
    async with app.run_test(size=size) as pilot:
        who = await begun(app, pilot)
        await step_done(who)
        await who.press("escape")
        for word in ("fail", "too close", "uniform", "Uniform", "%"):
            assert word not in shown(app).replace("Light, air", ""), word
        who.walk._enter(who.walk.go_page)
        await pilot.pause()
        assert "not called yet" in page_text(app)
        assert "fail" not in page_text(app)


async def test_a_second_enter_reads_no_instrument_again_and_a_question_mark_does(folder):
    """In US units the tread gauge shows millimetres still, so that nothing stands in the field to be kept."""
    app = practice(folder, 44, 1)
    async with app.run_test(size=(80, 24)) as pilot:
        who = await begun(app, pilot)
        for _ in range(5):
            await who.press("down")
        assert who.row.question.label == "left front: tread"
        await who.press("f8", "enter")
        assert who.walk.form.entry.value == ""
        assert "Type what it shows, with its unit." in " ".join(said(app).split())
        first = said(app)
        await who.press("enter", "enter")
        assert said(app) == first
        assert len(who.walk.session.looks) == 1
        await who.press("f8", "enter")
        number = who.walk.form.entry.value
        assert number
        assert len(who.walk.session.looks) == 1
        await who.press("?")
        assert len(who.walk.session.looks) == 2, "at once, with a number in the field"
        assert "?" not in who.walk.form.entry.value
        await who.ask("f4")
        await who.press("1")
        assert who.walk.form.entry.value == "", "what one instrument showed is no reading of another"


async def test_what_is_given_stays_as_it_is(folder):
    app = practice(folder, 2, 1)
    async with app.run_test(size=(80, 24)) as pilot:
        who = await begun(app, pilot)
        entries = len(who.walk.session.journal.entries)
        await who.press("ctrl+z")
        assert "nothing of yours to take back" in " ".join(said(app).split())
        who.walk.go_to_check("closed")
        await pilot.pause()
        for key in ("n", "f3", "f5"):
            await who.press(key)
            assert "That is given" in said(app), key
        assert len(who.walk.session.journal.entries) == entries


async def test_the_aim_gives_away_no_centre_mark_that_is_off(folder):
    """It is worked out from what was typed, and names what turns it most."""
    app = practice(folder, 10, 1)
    async with app.run_test(size=(80, 24)) as pilot:
        who = await begun(app, pilot)
        await step_done(who)
        await who.press("escape")
        who.walk.go_to_check("aim")
        await pilot.pause()
        assert "Aim" in shown(app)
        assert "azimuth" not in shown(app)
        assert "centre mark" not in shown(app)
        await called_on_page(who)
        who.walk.go_to_check("aim")
        await pilot.pause()
        assert "azimuth" in shown(app)


async def called_on_page(who: Technician) -> None:
    await who.press("f10", "n")
    await settled(who.app, who.pilot)


# --- calling -------------------------------------------------------------------------------------


async def test_a_bad_check_called_a_pass_and_a_go_are_missed_and_kept(folder):
    jobs = {p: p.read_bytes() for p in folder.jobs_folder.iterdir()}
    app = practice(folder, 2, 1)
    async with app.run_test(size=(80, 24)) as pilot:
        who = await begun(app, pilot)
        await step_done(who)
        await called(who, "p")
        assert who.walk.on_verdict_page
        await who.press("g")
        await settled(app, pilot)
        told = page_text(app)
        assert "You said go, and it was not ready." in told
        assert "✗ missed" in told
        assert "you said pass, the program says fail" in told
        [truth] = exercise(2, 1).truth().values()
        assert truth.was in " ".join(told.split())
        assert "Kept for Lio Fenn in" in told
        await who.press("enter")
        await until(pilot, lambda: isinstance(app.screen, PracticeWalk) and app.screen is not who.app)
    [result] = kept.everybody(folder.path).people[WHO]
    assert (result.seed, result.level) == (2, 1)
    assert [c.worth for c in result.calls] == ["missed"]
    assert [g.worth for g in result.goes] == ["missed"]
    assert {p: p.read_bytes() for p in folder.jobs_folder.iterdir()} == jobs


async def test_an_enter_too_many_calls_nothing(folder):
    app = practice(folder, 2, 1)
    async with app.run_test(size=(80, 24)) as pilot:
        who = await begun(app, pilot)
        session = who.walk.session
        await step_done(who)
        await who.press("enter", "enter")
        assert isinstance(app.screen, Pick)
        assert not session.calls
        await who.press("down", "down", "enter")
        assert [c.said for c in session.calls.values()] == ["fail"]


async def test_no_go_may_be_said_at_once_and_a_go_only_after_every_call(folder):
    app = practice(folder, 2, 1)
    async with app.run_test(size=(80, 24)) as pilot:
        who = await begun(app, pilot)
        await who.press("f10", "g")
        assert "Not called yet: Light. A go needs every check called." in said(app)
        assert not who.walk.session.go_calls
        await who.press("n")
        await settled(app, pilot)
        assert "You said no-go, and rightly." in page_text(app)
        assert "Not called: Light" in page_text(app)


async def test_after_an_early_no_go_what_was_not_called_is_told_too(folder):
    app = practice(folder, 12, 2)
    async with app.run_test(size=(80, 24)) as pilot:
        who = await begun(app, pilot)
        await who.ask("ctrl+k", Pick)
        assert "Each reading of any step says" in shown(app)
        await who.press("escape", "f10", "n")
        await settled(app, pilot)
        told = " ".join(page_text(app).split())
        truths = exercise(12, 2).truth()
        assert [t.was in told for t in truths.values() if t.bad] == [True]


async def test_a_side_that_is_called_is_said_where_another_is_left(folder):
    app = practice(folder, 5, 5, "tern-rear-corner")
    async with app.run_test(size=(80, 24)) as pilot:
        who = await begun(app, pilot)
        await who.press("f10")
        await who.ask("n", Pick)
        await who.press("l")
        assert "Left side: no-go. Now the other side." in said(app)
        await who.press("n")
        assert who.walk.session.over


async def test_a_go_against_ones_own_call_is_refused(folder):
    app = practice(folder, 2, 1)
    async with app.run_test(size=(80, 24)) as pilot:
        who = await begun(app, pilot)
        await who.press("ctrl+k")
        await called(who, "f")
        await who.press("f10", "g")
        assert "You called Light fail. Only a pass counts towards a go." in said(app)


async def test_afterwards_the_steps_show_what_the_program_found_and_nothing_more_is_kept(folder):
    app = practice(folder, 2, 1)
    async with app.run_test(size=(80, 24)) as pilot:
        who = await begun(app, pilot)
        await step_done(who)
        await called(who, "f")
        await who.press("n")
        await settled(app, pilot)
        assert "✓ caught" in page_text(app)
        who.walk.go_to_check("light")
        await pilot.pause()
        assert "✗ fail" in shown(app)
        entries = len(who.walk.session.journal.entries)
        await who.press("4", "enter")
        assert len(who.walk.session.journal.entries) == entries
        assert "This car is called" in said(app)
        await who.press("escape", "f10", "escape")
        await until(pilot, lambda: isinstance(app.screen, PracticeStart))


async def test_what_a_real_job_has_and_practice_has_not_is_said(folder):
    app = practice(folder, 2, 1)
    async with app.run_test(size=(80, 24)) as pilot:
        who = await begun(app, pilot)
        for key, words in (
            ("ctrl+l", "after your go or no-go"), ("f6", "nothing is put right"), ("f7", "nothing is set aside"), ("f9", "nothing happens to the car"), ("ctrl+n", "as it is typed"),
            ("ctrl+o", "stands where it stands"), ("ctrl+e", "ends with your go or no-go"),
        ):  # fmt: skip
            await who.press(key)
            assert words in said(app), key


# --- where it begins -----------------------------------------------------------------------------


async def test_practice_is_one_key_from_the_list_of_jobs_and_leads_back_to_it(folder):
    app = ReadinessApp(folder.path, person=WHO, clock=Clock())
    async with app.run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: isinstance(app.screen, Start) and app.screen.folder is not None)
        await pilot.press("x")
        await until(pilot, lambda: isinstance(app.screen, PracticeStart) and app.screen.folder is not None)
        assert "1  one check" in shown(app)
        await pilot.press("enter")
        await begun(app, pilot)
        made = app.screen_stack[-2]._made
        assert made.is_dir()
        await pilot.press("escape")
        for _ in range(20):
            if isinstance(app.screen, PracticeWalk):
                await pilot.press("escape")
                await pilot.pause()
        await until(pilot, lambda: isinstance(app.screen, PracticeStart))
        assert "nothing of that car is kept" in shown(app)
        await pilot.press("escape")
        await until(pilot, lambda: isinstance(app.screen, Start))
        assert not made.exists()


async def test_a_car_by_its_number_and_a_sheet(folder):
    app = ReadinessApp(folder.path, person=WHO, clock=Clock(), practice=Wanted())
    async with app.run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: isinstance(app.screen, PracticeStart) and app.screen.folder is not None)
        who = Technician(app, pilot, {})
        await who.ask("c")
        await who.press(*"x1", "enter")
        assert "A car is known by a number" in shown(app)
        await who.press("backspace", "backspace", *"4711", "enter")
        await until(pilot, lambda: isinstance(app.screen, PracticeStart))
        await who.ask("s")
        await who.press("2")
        await until(pilot, lambda: isinstance(app.screen, PracticeStart))
        await who.press("down", "enter")
        who = await begun(app, pilot)
        assert who.walk.session.exercise.seed == 4711
        assert who.walk.session.exercise.level == 2


# --- whole cars ----------------------------------------------------------------------------------


def truly(session, title: str) -> str:
    """The key of what a check really is, by the title of the question for a call."""
    named = title.removeprefix("Your call: ").partition(". ")[0]
    [topic] = [t for t in session.exercise.topics if named == session.title(t)]
    truth = session.exercise.truth()[topic]
    return "f" if truth.bad else "t" if truth.near else "p"


async def whole_car_called(who: Technician) -> None:
    """Look at everything, enter it, and call each check as it really is; then the sides."""
    app = who.app
    for _ in range(400):
        if isinstance(app.screen, Pick):
            await called(who, truly(app.screen_stack[-2].session, str(app.screen._title)))
        elif who.walk.on_verdict_page:
            break
        elif who.row is None:
            await who.press("enter")
        else:
            await row_done(who)
    session = who.walk.session
    for side in session.exercise.sides:
        several = len(session.exercise.sides) - len(session.go_calls) > 1
        await who.press("n" if session.why_no_go(side) else "g")
        if several:
            await called(who, side[0])
        await settled(app, who.pilot)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("seed", "level", "sheet"),
    [
        (5, 2, None), (2, 5, "tern-rear-corner")
    ],
)  # fmt: skip
async def test_who_looks_at_everything_and_calls_it_as_it_is_has_nothing_wrong(folder, seed, level, sheet):
    app = practice(folder, seed, level, sheet)
    async with app.run_test(size=(120, 40) if seed % 2 else (80, 24)) as pilot:
        who = await begun(app, pilot)
        await whole_car_called(who)
        marked = who.walk.marked
        assert marked is not None, shown(app)
        wrong = [m for m in (*marked.checks, *marked.sides) if m.worth in ("missed", "false_alarm")]
        assert wrong == []
        assert [m.topic for m in marked.checks if m.unseen or m.for_nothing] == []
        assert {m.topic for m in marked.checks} == set(who.walk.session.exercise.topics)

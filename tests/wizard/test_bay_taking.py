"""Taking a bay: where to park is kept in the job, and given back; and the search without a screen."""

from __future__ import annotations

import pytest

from readiness.checks.place import PLAN
from readiness.records.parked import place_kept
from readiness.records.shop import ShopFolder
from readiness.report import bay_words
from readiness.wizard.bay_screen import BayScreen
from readiness.wizard.bay_search import BaySearch, Looked, Taken
from readiness.wizard.dialogs import Ask, Pick
from tests.bayfits import BOTH, MOVED, NONE, bay
from tests.shop import Clock, demo_shop
from tests.wizard.driver import settled, until
from tests.wizard.test_bay_screen import SHEET, app_on, at_bays, finished, fit_of, go_to, shown


@pytest.fixture
def folder(tmp_path) -> ShopFolder:
    return demo_shop(tmp_path)


# --- taking it -----------------------------------------------------------------------------------


def plan_kept(job) -> dict[str, float]:
    return {r.question: r.value for r in job.readings if r.question in PLAN}


async def with_choice(pilot, screen: BayScreen, choice: str) -> str:
    """A bay of the demo shop in which that is to be done about the two places."""
    await finished(pilot, screen)
    return next(name for name, x in screen.search.looked.items() if x.choice == choice and x.fit.fits)


@pytest.mark.usefixtures("searched_before")
async def test_the_place_worked_out_is_kept_in_the_job_with_its_tapes(folder):
    app = app_on(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        who, screen = await at_bays(app, pilot, "l")
        name = await with_choice(pilot, screen, "ask")
        place = fit_of(screen, name)
        await who.press(screen.keys_of[name])
        await who.dialog(Pick)
        assert "on the bay's own marks" in shown(app)
        await who.press("w")
        await who.dialog(Ask)
        await who.press("enter")
        await settled(app, pilot)
        job = who.walk.session.journal.job
        at = place.standing
        assert plan_kept(job) == {"plan.x": at.x, "plan.y": at.y, "plan.heading": at.heading}
        mine = [r for r in job.readings if r.question in PLAN]
        assert {(r.evidence, r.by, r.check) for r in mine} == {("told", "Odo Brack", "standing")}
        assert [r.unit for r in mine] == ["m", "m", "deg"]
        assert mine[0].note == " ".join(bay_words.park(place, "metric"))
        await who.go_to("place")
        assert who.row.question.default == "chalk"
        assert "Ctrl+O which bay" in shown(app)
        await who.press("c")
        await settled(app, pilot)
        finding = who.walk.verdict.sides["left"].finding("standing")
        assert finding.outcome == "pass", finding.reason


@pytest.mark.usefixtures("searched_before")
@pytest.mark.parametrize("choice", ["ask", "own"])
async def test_on_the_bays_own_marks_nothing_is_entered(folder, choice):
    """Where they are the place worked out as well, nothing is asked."""
    app = app_on(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        who, screen = await at_bays(app, pilot, "l")
        name = await with_choice(pilot, screen, choice)
        await go_to(who, screen, name)
        assert ("Park on the bay's own marks" in shown(app)) == (choice == "own")
        await who.take_bay(name, "own")
        await who.dialog(Ask)
        await who.press("enter")
        await settled(app, pilot)
        assert who.walk.session.journal.job.bay == name
        assert who.walk.session.journal.job.readings == ()


@pytest.mark.usefixtures("searched_before")
async def test_where_only_the_place_worked_out_serves_it_is_taken_without_a_question(folder):
    app = app_on(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        who, screen = await at_bays(app, pilot, "l")
        name = await with_choice(pilot, screen, "worked out")
        assert screen.search.looked[name].own.in_the_way
        await go_to(who, screen, name)
        await who.ask("enter", Ask)
        await who.press("enter")
        await settled(app, pilot)
        assert len(plan_kept(who.walk.session.journal.job)) == 3


@pytest.mark.usefixtures("searched_before")
async def test_a_bay_without_a_place_is_taken_on_second_thoughts_only(folder):
    app = app_on(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        who, screen = await at_bays(app, pilot, "b")
        await finished(pilot, screen)
        name = next(name for name in folder.bays if not fit_of(screen, name).fits)
        await go_to(who, screen, name)
        await who.press("enter")
        await who.dialog(Pick)
        assert "no place for both sides" in shown(app)
        await who.press("enter")
        await until(pilot, lambda: app.screen is screen)
        await who.press(screen.keys_of[name])
        await who.dialog(Pick)
        await who.press("t")
        await who.dialog(Ask)
        await who.press("enter")
        await settled(app, pilot)
        assert who.walk.session.journal.job.bay == name


@pytest.mark.usefixtures("searched_before")
async def test_back_from_where_to_park_nothing_is_taken(folder):
    app = app_on(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        who, screen = await at_bays(app, pilot, "l")
        await who.press(screen.keys_of[await with_choice(pilot, screen, "ask")])
        await who.dialog(Pick)
        await who.press("escape")
        await until(pilot, lambda: app.screen is screen)


@pytest.mark.usefixtures("searched_before")
async def test_in_a_job_another_place_is_taken_and_given_back(folder):
    app = app_on(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        who, screen = await at_bays(app, pilot, "l")
        name = await with_choice(pilot, screen, "ask")
        await who.take_bay(name, "own")
        await who.dialog(Ask)
        await who.press("enter")
        await settled(app, pilot)
        await who.ask("ctrl+o")
        screen = await who.to_bays("b")
        assert screen.here == name, "the cursor stands on the job's own bay"
        assert "counts as moving the car" not in shown(app)
        await go_to(who, screen, next(other for other in folder.bays if other != name))
        await until(pilot, lambda: "counts as moving the car" in " ".join(shown(app).split()))
        await who.take_bay(name, "worked out")
        await settled(app, pilot)
        job = who.walk.session.journal.job
        assert len(plan_kept(job)) == 3
        assert [e.event for e in job.events] == ["car_moved"]
        await who.ask("ctrl+o")
        await who.to_bays("b")
        await who.take_bay(name, "own")
        await settled(app, pilot)
        session = who.walk.session
        assert place_kept(session.journal.job, session.visit.checklist) == ()
        # what was found at the place that it left stays with it
        assert len(plan_kept(session.journal.job)) == 3


@pytest.mark.usefixtures("searched_before")
async def test_leaving_changes_nothing(folder):
    app = app_on(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        who, screen = await at_bays(app, pilot, "l")
        await who.take_bay("bay-2", "own")
        await who.dialog(Ask)
        await who.press("enter")
        await settled(app, pilot)
        before = who.walk.session.journal.job
        await who.ask("ctrl+o")
        screen = await who.to_bays("b")
        await until(pilot, lambda: screen.search.done)
        await who.press("escape")
        await settled(app, pilot)
        assert who.walk.session.journal.job == before


# --- the search without a screen -------------------------------------------------------------------


def test_the_search_tells_every_bay_and_ends(folder):
    search = BaySearch(folder, folder.sheets[SHEET], ("left",), Clock())
    told: list[str] = []
    search.run(told.append)
    assert search.done
    assert set(told) == set(folder.bays)
    assert all(x.own is not None and x.found is not None for x in search.looked.values())
    assert search.ranked == [b.bay for b in _ranked(search)]


def _ranked(search: BaySearch):
    """By room to spare, the plain order where one side is asked for and nothing has to be moved."""
    return sorted(
        (x.found for x in search.looked.values()),
        key=lambda b: (not b.fits[0].fits, bool(b.fits[0].moved), -b.fits[0].spare),
    )


@pytest.mark.usefixtures("searched_before")
def test_a_place_that_fits_is_judged_to_have_nothing_in_the_way(folder):
    """The search and the check of the clear area are two ways to one answer."""
    for sides in (("left",), ("right",), ("left", "right")):
        search = BaySearch(folder, folder.sheets[SHEET], sides, Clock())
        search.run(lambda _: None)
        for looked in search.looked.values():
            place = looked.fit
            if place.fits and not place.moved:
                assert not looked.there.in_the_way, (sides, looked.bay.bay, looked.there.reason)
            if place.on_marks is not None and abs(place.on_marks) > 0.005:
                assert looked.own.in_the_way == (place.on_marks < 0), (sides, looked.bay.bay)


def test_a_search_that_is_stopped_says_no_more(folder):
    search = BaySearch(folder, folder.sheets[SHEET], ("left", "right"), Clock())
    told: list[str] = []

    def first(bay: str) -> None:
        told.append(bay)
        search.stopped = True

    search.run(first)
    assert len(told) == 1
    assert not search.done


def test_the_best_place_of_hand_made_bays_is_the_one_in_the_list():
    for one in (BOTH, MOVED, NONE):
        assert Looked(bay(2), found=one).fit in one.fits
    assert Taken("bay-1").place is None

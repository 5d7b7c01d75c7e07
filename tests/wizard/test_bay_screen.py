"""Which bay: all by name at once, verdicts as they are found, taken at any moment, kept in the job."""

from __future__ import annotations

import pytest

from readiness.bayfit import Fit
from readiness.bayfit.rank import same_place
from readiness.job import Standing
from readiness.records.shop import ShopFolder
from readiness.report import bay_words
from readiness.wizard.app import ReadinessApp
from readiness.wizard.bay_screen import BayScreen
from readiness.wizard.bay_search import Judged, Looked
from readiness.wizard.bay_words import in_short, keys_of
from readiness.wizard.dialogs import Ask, Tell
from readiness.wizard.picture import PictureView
from readiness.wizard.plan_page import PlanPage
from tests.bayfits import USUAL, bay, fit, found
from tests.halls import crowded, hall
from tests.shop import Clock, demo_shop
from tests.wizard.driver import Technician, settled, until

SHEET = "tern-rear-corner"
OTHER_PLACE = Standing(x=3.0, y=2.5, heading=1.0)


@pytest.fixture
def folder(tmp_path) -> ShopFolder:
    return demo_shop(tmp_path)


def app_on(folder: ShopFolder) -> ReadinessApp:
    return ReadinessApp(folder.path, person="Odo Brack", clock=Clock())


def shown(app: ReadinessApp) -> str:
    strips = app.screen._compositor.render_strips()
    return "\n".join("".join(s.text for s in strip) for strip in strips)


async def at_bays(app: ReadinessApp, pilot, side: str = "b") -> tuple[Technician, BayScreen]:
    """A new job for the rear corner radar, as far as the list of bays."""
    await settled(app, pilot)
    who = Technician(app, pilot, {})
    await who.ask("n")
    folder = app.screen_stack[0].folder
    await who.ask(str(1 + list(folder.sheets).index(SHEET)))
    return who, await who.to_bays(side)


async def finished(pilot, screen: BayScreen) -> None:
    """All bays looked at, and the list in its last order."""
    await until(pilot, lambda: screen.search.done)
    await until(pilot, lambda: screen._order == screen.search.ranked)


def fit_of(screen: BayScreen, name: str) -> Fit:
    place = screen.search.looked[name].fit
    assert place is not None
    return place


# --- where to park is asked only where there is a choice -------------------------------------------

PASSES, FAILS = Judged(), Judged("the shelf stands in the zone", in_the_way=True)


@pytest.mark.parametrize(
    ("own", "there", "place", "choice"),
    [
        (PASSES, PASSES, fit(standing=OTHER_PLACE), "ask"),
        (FAILS, PASSES, fit(standing=OTHER_PLACE), "worked out"),
        (PASSES, PASSES, fit(standing=OTHER_PLACE, on_marks=-0.1), "worked out"),
        (PASSES, FAILS, fit(standing=OTHER_PLACE), "own"),
        (FAILS, None, fit(standing=OTHER_PLACE, spare=-0.1), "own"),
        (FAILS, FAILS, fit(standing=OTHER_PLACE, moved=("trolley",)), "worked out"),
        (PASSES, PASSES, fit(standing=USUAL), "own"),
        (PASSES, PASSES, fit(standing=Standing(x=2.0, y=2.5, heading=180.0), turned=True), "ask"),
    ],
)  # fmt: skip
def test_where_to_park_is_asked_where_both_places_serve(own, there, place, choice):
    assert Looked(bay(2), own, found(2, place), there).choice == choice


def test_a_bay_that_was_not_looked_at_is_taken_on_its_own_marks():
    assert Looked(bay(2)).choice == "own"
    assert Looked(bay(2), FAILS).choice == "own"


def test_a_turn_is_another_place_and_a_whole_turn_is_not():
    assert same_place(USUAL, Standing(x=2.01, y=2.5, heading=360.1))
    assert not same_place(USUAL, Standing(x=2.0, y=2.5, heading=179.0))
    assert not same_place(USUAL, Standing(x=2.03, y=2.5))


def test_thirty_bays_have_keys_that_mean_nothing_else():
    keys = keys_of([f"bay-{n}" for n in range(30)])
    used = list(keys.values())
    assert len(set(used)) == 30
    assert not {"c", "q"} & set(used)
    assert keys_of([str(n) for n in range(60)])["59"] == ""


# --- the screen ----------------------------------------------------------------------------------


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
async def test_verdicts_come_in_and_the_best_bay_stands_first_in_the_end(folder, size):
    app = app_on(folder)
    async with app.run_test(size=size) as pilot:
        who, screen = await at_bays(app, pilot)
        first = screen.here
        assert all(x.bay.title[:12] in shown(app) for x in screen.search.looked.values())
        await finished(pilot, screen)
        assert screen.here == first, "the cursor stays on its bay"
        rows = [line for line in shown(app).splitlines() if line[1:2] in screen.keys_of.values()]
        verdicts = [row for row in rows if "✓" in row or "✗" in row]
        assert len(verdicts) == len(folder.bays)
        assert ["✓" in row for row in verdicts] == sorted(("✓" in row for row in verdicts), reverse=True)
        for name in folder.bays:
            await go_to(who, screen, name)
            said = " ".join(shown(app).split())
            place = fit_of(screen, name)
            words = bay_words.verdict(place, "metric")
            assert (words[0].upper() + words[1:])[:20] in said
            if place.fits:
                assert f"{bay_words.park(place, 'metric')[0][:24]}" in said
            assert screen.query_one(PictureView).picture
        view = screen.query_one(PictureView)
        assert view.display == (size[0] >= 110), "a plan of a few rows says nothing"
        assert not view.display or view.size.width > 30


async def go_to(who: Technician, screen: BayScreen, name: str) -> None:
    for _ in range(40):
        if screen.here == name:
            break
        await who.press("down")
    assert screen.here == name


async def test_a_bay_can_be_taken_before_it_is_looked_at(tmp_path):
    app = app_on(crowded(tmp_path, 10, 300))
    async with app.run_test(size=(80, 24)) as pilot:
        who, screen = await at_bays(app, pilot)
        await who.press("down")
        assert screen.here == "hall-02", "keys are heard while the search goes on"
        assert screen.search.running
        assert screen.search.looked["hall-10"].found is None
        await who.press(screen.keys_of["hall-10"])
        await who.dialog(Ask)
        assert screen.search.stopped
        await who.press("enter")
        await settled(app, pilot)
        job = who.walk.session.journal.job
        assert (job.bay, job.readings) == ("hall-10", ())


async def test_the_bay_under_the_cursor_is_looked_at_next(tmp_path):
    app = app_on(crowded(tmp_path, 6, 150))
    async with app.run_test(size=(80, 24)) as pilot:
        who, screen = await at_bays(app, pilot)
        looked = screen.search.looked
        await who.press("end")
        assert screen.here == "hall-06"
        before, now = found_in(screen), screen.search.now
        await until(pilot, lambda: looked["hall-06"].found is not None)
        # at most the one that was being looked at, and one that had just been begun
        assert len(found_in(screen) - before - {now, "hall-06"}) <= 1


def found_in(screen: BayScreen) -> set[str]:
    return {name for name, x in screen.search.looked.items() if x.found is not None}


async def test_c_ends_the_search_and_esc_ends_it_before_it_leaves(tmp_path):
    app = app_on(crowded(tmp_path, 10, 300))
    async with app.run_test(size=(80, 24)) as pilot:
        who, screen = await at_bays(app, pilot)
        await until(pilot, lambda: "Looking" in shown(app))
        await who.press("c")
        await until(pilot, lambda: "The search was ended" in shown(app))
        assert screen.search.stopped
        assert app.screen is screen
        await who.press("escape")
        await until(pilot, lambda: not isinstance(app.screen, BayScreen))
        who, screen = await at_bays(app, pilot)
        await who.press("escape")
        assert screen.search.stopped
        assert app.screen is screen


async def test_thirty_bays_are_listed_at_once_and_none_is_lost_in_the_end(tmp_path):
    app = app_on(crowded(tmp_path, 30, 3))
    async with app.run_test(size=(80, 24)) as pilot:
        who, screen = await at_bays(app, pilot, "l")
        assert len(screen._order) == 30
        await finished(pilot, screen)
        assert sorted(screen._order) == sorted(screen.keys_of)
        await go_to(who, screen, screen._order[-1])
        assert screen.search.looked[screen.here].bay.title in shown(app)


@pytest.mark.usefixtures("searched_before")
async def test_how_it_was_worked_out_and_the_plan_are_a_key_away(folder):
    app = app_on(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        who, screen = await at_bays(app, pilot)
        await go_to(who, screen, "bay-2")
        await until(pilot, lambda: screen.search.looked["bay-2"].found is not None)
        assert "has more than" not in shown(app)
        await who.ask("f1", Tell)
        assert "has more than" in " ".join(shown(app).split())
        await who.press("escape")
        await who.ask("ctrl+l", PlanPage)
        await who.press("escape")
        assert app.screen is screen


@pytest.mark.usefixtures("searched_before")
@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
async def test_no_verdict_of_the_demo_shop_is_cut_off(folder, size):
    app = app_on(folder)
    async with app.run_test(size=size) as pilot:
        _, screen = await at_bays(app, pilot, "b")
        await finished(pilot, screen)
        seen = shown(app)
        for x in screen.search.looked.values():
            assert in_short(x, screen.search)[0] in seen


async def test_text_from_people_is_text(tmp_path):
    folder = demo_shop(tmp_path)
    hall(folder, "odd", 12.0, 9.0, posts=2, title="'[/4] [bold]odd[/] \\e[2J'")
    text = (folder.path / "bays" / "odd.yaml").read_text(encoding="utf-8").replace("post 1", "'[red] post'")
    (folder.path / "bays" / "odd.yaml").write_text(text, encoding="utf-8", newline="\n")
    app = app_on(ShopFolder(folder.path))
    async with app.run_test(size=(120, 40)) as pilot:
        who, screen = await at_bays(app, pilot)
        await go_to(who, screen, "odd")
        assert "[/4] [bold]" in shown(app)
        await until(pilot, lambda: screen.search.done)
        await who.take_bay("odd", "own")


@pytest.mark.usefixtures("searched_before")
@pytest.mark.parametrize("size", [(1, 1), (20, 6), (40, 12), (200, 60)])
async def test_every_size_is_survived(folder, size):
    app = app_on(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        _, screen = await at_bays(app, pilot)
        await pilot.resize_terminal(*size)
        await finished(pilot, screen)
        await pilot.resize_terminal(80, 24)
        await until(pilot, lambda: "which bay" in shown(app))


@pytest.mark.usefixtures("searched_before")
async def test_in_more_room_more_is_said(folder):
    app = app_on(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        _, screen = await at_bays(app, pilot)
        await finished(pilot, screen)
        await pilot.resize_terminal(120, 40)
        await until(pilot, lambda: screen.has_class("-wide"))
        title = screen.search.looked[screen._order[0]].bay.title[:12]
        # each bay on one line of the list: none runs on in the next
        await until(
            pilot,
            lambda: (
                [line[1] for line in shown(app).splitlines()[1:5]]
                == [screen.keys_of[n] for n in screen._order]
            ),
        )
        assert title in shown(app)

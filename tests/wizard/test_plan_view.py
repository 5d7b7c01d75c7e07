"""The plan over the whole screen: opened from any step with a picture, walked about in, left without a trace."""

from __future__ import annotations

import pytest

from readiness.checks.picture import Circle, Outline, Spot
from readiness.wizard.app import ReadinessApp
from readiness.wizard.form import Form
from readiness.wizard.picture import PictureView
from readiness.wizard.plan_page import PlanPage, sentence_of, things_of
from readiness.wizard.plates import Plate
from readiness.wizard.walk import Walk
from tests.pictures import bay, crowded
from tests.shop import Clock, demo_shop
from tests.wizard.driver import Technician, settled, until

SIZES = [(80, 24), (120, 40)]


class Plan:
    """The wizard on a job of the demo shop, at a step."""

    def __init__(self, tmp_path, job: str = "HB-0418") -> None:
        self.app = ReadinessApp(demo_shop(tmp_path).path, person="Odo Brack", clock=Clock())
        self.job = job

    async def begin(self, pilot, step: str, question: str = "") -> Technician:
        await settled(self.app, pilot)
        self.app.screen.open_job(self.job)
        await settled(self.app, pilot)
        who = Technician(self.app, pilot, {})
        await who.go_to(step, question)
        return who

    async def opened(self, who: Technician) -> PlanPage:
        await who.ask("ctrl+l", PlanPage)
        await until(who.pilot, lambda: bool(self.app.screen.query_one(PictureView).picture))
        return self.app.screen


def lines(app) -> list[str]:
    return ["".join(s.text for s in strip) for strip in app.screen._compositor.render_strips()]


def said(page: PlanPage) -> str:
    return page.query_one("#plan-sentence", Plate).shown.plain


@pytest.mark.parametrize("size", SIZES, ids=str)
async def test_it_shows_the_whole_plan_and_what_its_keys_do(tmp_path, size):
    plan = Plan(tmp_path)
    async with plan.app.run_test(size=size) as pilot:
        who = await plan.begin(pilot, "clear_area")
        assert "Ctrl+L plan" in lines(plan.app)[-1]
        await plan.opened(who)
        shown = "\n".join(lines(plan.app))
        for word in ("Clear area, right", "front", "radar", "tool chest", "┤", "Tab", "Esc back"):
            assert word in shown
        await who.press("escape")
        assert isinstance(plan.app.screen, Walk)


async def test_what_is_half_typed_is_still_there_afterwards(tmp_path):
    plan = Plan(tmp_path, "HB-0420")
    async with plan.app.run_test(size=(80, 24)) as pilot:
        who = await plan.begin(pilot, "tyres", "pressure.rr")
        await who.press("2", "1")
        await plan.opened(who)
        await who.press("tab", "plus", "left", "n", "0", "t", "9", "escape")
        form = who.walk.query_one(Form)
        assert form.entry.value == "21"
        assert form.row.question.key == "pressure.rr"
        await who.press("9")
        assert form.entry.value == "219"
        assert not form.row.answered


async def test_arrows_move_plus_and_minus_come_nearer_and_zero_shows_all(tmp_path):
    plan = Plan(tmp_path)
    async with plan.app.run_test(size=(80, 24)) as pilot:
        who = await plan.begin(pilot, "clear_area")
        await plan.opened(who)
        whole = lines(plan.app)
        await who.press("plus")
        nearer = lines(plan.app)
        assert nearer != whole
        await who.press("left")
        moved = lines(plan.app)
        assert moved != nearer
        await who.press("right")
        assert lines(plan.app) == nearer
        await who.press("up", "down")
        assert lines(plan.app) == nearer
        await who.press("minus")
        assert lines(plan.app)[1:-3] == whole[1:-3]
        await who.press("plus", "plus", "home")
        assert lines(plan.app) == whole
        await who.press("plus", "0", "t")
        assert lines(plan.app) != whole
        await who.press("t")
        assert lines(plan.app) == whole


async def test_one_cannot_walk_so_far_that_nothing_is_left_to_find(tmp_path):
    plan = Plan(tmp_path)
    async with plan.app.run_test(size=(80, 24)) as pilot:
        who = await plan.begin(pilot, "clear_area")
        page = await plan.opened(who)
        for key in ("left", "up", "right", "down"):
            await who.press("plus", *[key] * 12)
            xs = [p[0] for s in page._shown if isinstance(s, Outline) and s.role == "bay" for p in s.points]
            assert min(xs) - 1 <= page._view.middle[0] <= max(xs) + 1
        await who.press(*["minus"] * 30)
        assert page._view.dots_per_metre > 0
        await who.press(*["plus"] * 40)
        assert len(lines(plan.app)) == 24


async def test_tab_goes_through_the_things_by_name_and_brings_each_into_view(tmp_path):
    plan = Plan(tmp_path)
    async with plan.app.run_test(size=(80, 24)) as pilot:
        who = await plan.begin(pilot, "clear_area")
        page = await plan.opened(who)
        names = [page._picture[k].label for k in things_of(page._picture)]
        await who.press("plus", "plus")
        heard = []
        for _ in names:
            await who.press("tab")
            heard.append(said(page))
            assert page._view.holds(_middle(page))
        assert all(name in sentence for name, sentence in zip(names, heard, strict=True))
        await who.press("n")
        assert said(page) == heard[0]
        await who.press("shift+tab")
        assert said(page) == heard[-1]


def _middle(page: PlanPage):
    from readiness.checks.picture import middle_of

    return middle_of(page._lit)


async def test_a_step_without_a_picture_says_so(tmp_path):
    plan = Plan(tmp_path)
    async with plan.app.run_test(size=(80, 24)) as pilot:
        who = await plan.begin(pilot, "power")
        assert "Ctrl+L" not in lines(plan.app)[-1]
        await who.press("ctrl+l")
        await settled(plan.app, pilot)
        assert isinstance(plan.app.screen, Walk)
        assert any("no picture" in line for line in lines(plan.app))


async def test_a_picture_turns_with_the_window(tmp_path):
    plan = Plan(tmp_path)
    async with plan.app.run_test(size=(80, 24)) as pilot:
        who = await plan.begin(pilot, "clear_area")
        await plan.opened(who)
        await who.press("plus")
        await pilot.resize_terminal(60, 30)
        await pilot.pause()
        shown = lines(plan.app)
        assert len(shown) == 30
        assert all(len(line) == 60 for line in shown)
        assert any("front" in line or "radar" in line for line in shown)


@pytest.mark.parametrize("size", [(1, 1), (3, 2), (12, 6), (200, 60)], ids=str)
async def test_every_size_is_survived(tmp_path, size):
    plan = Plan(tmp_path)
    async with plan.app.run_test(size=(80, 24)) as pilot:
        who = await plan.begin(pilot, "clear_area")
        await plan.opened(who)
        await pilot.resize_terminal(*size)
        await who.press("plus", "left", "tab", "t", "minus", "0")
        assert len(lines(plan.app)) == size[1]
        await pilot.resize_terminal(80, 24)
        await pilot.pause()
        assert any("front" in line for line in lines(plan.app))


def test_a_sentence_says_name_kind_and_what_is_known():
    zone = Circle("zone", (0, 0), 1.0, "A1", reason="metal-free", note="From 0.3 m to 1.2 m.")
    assert sentence_of(zone) == "A1: keep-clear zone, no metal. From 0.3 m to 1.2 m."
    assert sentence_of(Spot("wheel", (0, 0), "231 kPa")) == "Wheel: 231 kPa."
    assert sentence_of(Spot("obstacle", (0, 0), "a\x1b[2J\u202eb")) == "a[2Jb: stands in the bay."


def test_what_stands_out_comes_first_and_nothing_is_left_out():
    for picture in (bay(), crowded(60)):
        order = things_of(picture)
        assert sorted(order) == [k for k, s in enumerate(picture) if s.label]
        marked = [picture[k].marked for k in order]
        assert marked == sorted(marked, reverse=True)

"""What the program says to put right leads to a go, typed through on copies of the demo's jobs."""

from __future__ import annotations

from readiness.wizard.app import ReadinessApp
from readiness.wizard.dialogs import Ask, Tell
from readiness.wizard.start import Start
from tests.wizard.driver import Technician, settled
from tests.wizard.test_deeds import sentence
from tests.wizard.test_walk import app, clock, folder, page_text

__all__ = ["app", "clock", "folder"]


async def resumed(app: ReadinessApp, pilot, job: str) -> Technician:
    """A job of the demo shop, opened again."""
    app.first_job = job
    await settled(app, pilot)
    screen = app.screen
    assert isinstance(screen, Start)
    screen.open_job(job)
    await settled(app, pilot)
    return Technician(app, pilot, {})


async def put_right(who: Technician, text: str) -> None:
    await who.ask("f6", Ask)
    await who.press(*text, "enter")
    await settled(who.app, who.pilot)


async def test_a_drain_and_a_new_cover_put_right_as_told_are_a_go(app, folder, clock):
    """HB-0421: a plate under the foot over the drain, the line laid out through another point."""
    async with app.run_test(size=(80, 24)) as pilot:
        who = await resumed(app, pilot, "HB-0421")
        await who.press("f10")
        assert "NO-GO" in page_text(app)
        assert "Pack plate foot 1 by 10 mm" in page_text(app)
        await who.press("1")
        await who.go_to("floor", "packed.plate.1")
        await who.press("1", "0", "enter")
        await who.press("f10")
        assert "Pack" not in page_text(app)
        await who.press("1")  # to the marks, not to the first row of their step
        assert who.row is not None
        assert who.row.question.key == "front.left"
        assert "a point 6 mm to the right of the front mark" in sentence(app)
        await put_right(who, "point")
        assert [r.answered for r in rows(who, "centre_marks")] == [False, False, True, True]
        await who.press(*"655", "enter", *"655", "enter")
        await who.press("f10")
        assert "GO until" in page_text(app)
        assert "NO-GO" not in page_text(app)


def rows(who: Technician, check: str):
    walk = who.walk
    session = walk.session
    return [r for r in session.rows(session.steps[walk.at], session.verdict()) if r.check.id == check]


async def test_packing_a_foot_undoes_nothing_else(app, folder, clock):
    """F6 on a foot is no moved car: what else was read still counts."""
    async with app.run_test(size=(80, 24)) as pilot:
        who = await resumed(app, pilot, "HB-0421")
        await who.go_to("floor", "packed.plate.1")
        await put_right(who, "plate")
        await who.press("1", "0", "enter")
        verdict = who.walk.session.verdict()
        assert {f.check for s in verdict.sides.values() for f in s.findings if not f.counts} == {
            "centre_marks"
        }


async def test_the_aim_of_both_sides_is_told_behind_f1_with_what_they_share_once(app, folder, clock):
    async with app.run_test(size=(80, 24)) as pilot:
        who = await resumed(app, pilot, "HB-0418")
        await who.go_to("aim")
        assert who.row is None
        await who.ask("f1", Tell)
        told = str(app.screen.query("VerticalScroll > Static").first().content)
        assert told.startswith("How it was worked out")
        assert told.index("Left side") < told.index("Right side") < told.index("Usual mistakes")
        assert told.count("floor under reflector") == 2
        assert told.count("Azimuth is left or right") == 1

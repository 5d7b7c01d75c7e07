"""Typing in what was read earlier: it counts from when it was read, and the screen and the report say so."""

from __future__ import annotations

from datetime import timedelta

from readiness.records.account import account
from readiness.records.dossier import dossier
from readiness.report.html_annex import annex
from readiness.report.markup import text_of
from readiness.wizard.dialogs import Ask
from readiness.wizard.watch import Watch
from tests.wizard.driver import Technician, settled
from tests.wizard.test_deeds import readings, sentence
from tests.wizard.test_walk import app, clock, folder, opened, shown, to_tyres

__all__ = ["app", "clock", "folder"]


async def say_when(who: Technician, app, text: str) -> None:
    await who.ask("ctrl+n", Ask)
    await who.press(*text, "enter")
    await settled(app, who.pilot)


async def test_what_is_typed_counts_from_the_time_on_the_paper(app, folder, clock):
    async with app.run_test(size=(80, 24)) as pilot:
        who = await opened(app, pilot, folder, clock)
        await to_tyres(who)
        await say_when(who, app, "9:20")
        assert "read at 09:20" in shown(app)
        assert "counts from 09:20" in sentence(app)
        await who.press(*"231", "enter")
        [kept] = readings(folder, "pressure.lf")
        assert f"{kept.at:%H:%M:%S}" == "09:20:00"
        journal = folder.journal("T1", write=False)
        assert journal.entries[kept.number - 1].at > kept.at + timedelta(minutes=30)  # the line tells both
        await say_when(who, app, "now")
        assert "read at" not in shown(app).splitlines()[0]
        await who.press(*"4.5", "enter")
        assert readings(folder, "tread.lf")[0].at > kept.at + timedelta(minutes=30)
    found = dossier("T1", folder.path)
    told = account(found.visit, clock.at)
    page = " ".join(text_of(annex(told, found, [])).split())
    assert ", as of 09:20" in page


async def test_what_was_read_too_long_ago_has_lapsed_when_it_is_typed(app, folder, clock):
    """The doors are looked at for half an hour only."""
    async with app.run_test(size=(80, 24)) as pilot:
        who = await opened(app, pilot, folder, clock)
        await say_when(who, app, "9:10")
        await who.go_to("closed")
        await who.press("y")
        assert (
            "it was taken at 09:10 and holds 30 min"
            in who.walk.session.verdict().sides["left"].finding("closed").reason
        )


async def test_a_time_that_is_still_to_come_or_none_is_asked_for_again(app, folder, clock):
    async with app.run_test(size=(80, 24)) as pilot:
        who = await opened(app, pilot, folder, clock)
        for text, why in (("23:59", "still to come"), ("soon", "A time is written 9:40")):
            await who.ask("ctrl+n", Ask)
            await who.press(*text, "enter")
            await who.dialog(Ask)
            assert why in " ".join(shown(app).replace("│", " ").split())
            await who.press("escape")
            await settled(app, pilot)
        assert who.walk.session.as_of == ""


async def test_on_the_watch_things_happen_as_one_looks(app, folder, clock):
    async with app.run_test(size=(80, 24)) as pilot:
        who = await opened(app, pilot, folder, clock)
        await say_when(who, app, "9:20")
        session = who.walk.session
        app.push_screen(Watch(session))
        await settled(app, pilot)
        assert isinstance(app.screen, Watch)
        assert session.as_of == ""

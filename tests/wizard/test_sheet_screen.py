"""A sheet written on the screen, typed as a person with the document would, on a copy of the demo shop."""

from __future__ import annotations

import errno
from collections.abc import Callable
from functools import partial

import pytest
from msgspec.structs import replace
from textual.pilot import Pilot

from readiness.checklist.files import read_sheet
from readiness.records import drafts as module
from readiness.records.drafts import drafts, new_draft, open_draft, same_sheet
from readiness.sheetmaking.draft import Draft
from readiness.wizard.dialogs import Pick, Tell
from readiness.wizard.picture import PictureView
from readiness.wizard.plan_page import PlanPage
from readiness.wizard.sheet_screen import SheetScreen
from readiness.wizard.sheet_start import SheetApp
from tests.sheetmaking.writing import TERN, answers_of
from tests.shop import Clock, demo_shop
from tests.test_imports import brought
from tests.wizard.driver import NAMES, until

SMALL, LARGE = (80, 24), (120, 40)


@pytest.fixture
def shop(tmp_path):
    return demo_shop(tmp_path)


def writes(shop, source: str = "", new_id: str = "") -> SheetApp:
    return SheetApp(shop.path, source, new_id, clock=Clock())


class Writer:
    """One person at the keyboard."""

    def __init__(self, app: SheetApp, pilot: Pilot[None]) -> None:
        self.app, self.pilot = app, pilot

    async def begun(self) -> None:
        await until(
            self.pilot, lambda: isinstance(self.app.screen, SheetScreen) and bool(self.screen.query("Entry"))
        )

    async def opened(self) -> None:
        """A sheet that was begun from another one: everything is there but its document."""
        await self.begun()
        await until(self.pilot, lambda: self.key == "document.reference")
        await self.put("QM-WREN-01 issue 2")

    @property
    def screen(self) -> SheetScreen:
        assert isinstance(self.app.screen, SheetScreen), self.app.screen
        return self.app.screen

    @property
    def key(self) -> str:
        return self.screen.row.question.key if self.screen.row else ""

    def text(self, name: str) -> str:
        return self.screen.query_one(name).shown.plain

    @property
    def draft(self) -> Draft:
        return self.screen.session.draft

    async def press(self, *keys: str) -> None:
        await self.pilot.press(*keys)
        await self.pilot.pause()

    async def type(self, text: str) -> None:
        await self.press(*(NAMES.get(c, c) for c in text), "enter")

    async def put(self, text: str) -> None:
        """As typed, in one stroke."""
        self.screen.form.entry.value = text
        await self.press("enter")

    async def to(self, key: str) -> None:
        """The cursor on that question, as the keys lead there."""
        screen = self.screen
        screen._go_to_first([key])
        await self.pilot.pause()
        assert self.key == key

    async def dialog(self, kind: type = Pick) -> None:
        await until(self.pilot, lambda: isinstance(self.app.screen, kind))

    async def answer_all(self, wanted: Draft, stop: Callable[[], bool] = lambda: False) -> None:
        """Whatever stands under the cursor, until the last page."""
        for _ in range(400):
            if self.screen.section is None or stop():
                return
            section, row = self.screen.section, self.screen.row
            assert row is not None
            if section.id == "limits" and not any(
                wanted.get(a.key) and not self.draft.get(a.key) for a in section.asked
            ):
                await self.press("pagedown")
                continue
            text = "" if row.answered else wanted.get(row.question.key)
            if row.question.type == "choice" and text:
                await self.press(next(c.key for c in row.question.choices if c.value == text))
            else:
                await self.put("" if text == row.question.default else text)
        raise AssertionError("the questions do not come to an end")


def less(draft: Draft, *keys: str) -> Draft:
    for key in keys:
        draft = draft.drop(key)
    return draft


@pytest.mark.slow
async def test_a_whole_sheet_is_typed_and_written(shop):
    wanted = less(
        answers_of(TERN), "zones.2", "zones.1", "load.stations.2", "load.stations.1", "results.1", "limits"
    )
    wanted = wanted.put("sheet", "tern-typed").put("document.checked", "2026-05-20")
    app = writes(shop)
    async with app.run_test(size=SMALL) as pilot:
        me = Writer(app, pilot)
        await me.begun()
        await me.answer_all(wanted)
        assert me.text("#title") == "Before it is written"
        assert not me.screen.query_one(PictureView).display
        await me.press("enter")
        await until(pilot, lambda: me.screen.session.written is not None)
        await until(pilot, lambda: me.text("#title") == "Written")
    made, tern = read_sheet(shop.path / "sheets" / "tern-typed.yaml"), read_sheet(TERN)
    stations, results = tern.load.stations[:1], tern.results[:1]
    load = replace(tern.load, stations=stations)
    expected = replace(
        tern, sheet="tern-typed", zones=tern.zones[:1], load=load, results=results, limits=None
    )
    assert same_sheet(made, expected)
    assert drafts(shop) == []


@pytest.mark.slow
async def test_the_plan_beside_the_form_grows_with_what_is_typed(shop):
    wanted = answers_of(TERN)
    kept = new_draft(shop)
    kept.keep(less(wanted, "dimensions.front_overhang", "sensors", "targets", "zones"))
    app = writes(shop)
    async with app.run_test(size=LARGE) as pilot:
        me = Writer(app, pilot)
        await me.dialog()
        await me.press("2")
        await me.begun()

        def labels(role: str) -> list[str]:
            picture = me.screen.query_one(PictureView)
            return [s.label for s in picture.picture if s.role in (role, "here")] if picture.display else []

        assert me.key == "dimensions.front_overhang"
        assert not me.screen.query_one(PictureView).display
        await me.put(wanted.get(me.key))
        assert me.screen.query_one(PictureView).display
        assert labels("sensor") == []
        for kind, last in (("sensors", "at.z"), ("targets", "at.z"), ("zones", "disc.radius")):
            entry = wanted.tree[kind][kind == "zones"]
            await me.to(f"{kind}.0.id")
            await me.answer_all(
                Draft(tree={kind: [entry]}),
                lambda kind=kind, last=last: bool(me.draft.get(f"{kind}.0.{last}")),
            )
            assert set(labels(kind[:-1])) >= {entry["id"], f"{entry['id']} (right)"}


def beyond(me: Writer, start: int) -> bool:
    return me.screen.at > start


@pytest.mark.slow
async def test_what_was_typed_is_kept_and_gone_on_with(shop):
    wanted = answers_of(TERN)
    for n in range(3):  # left in three ways
        app = writes(shop)
        async with app.run_test(size=SMALL) as pilot:
            me = Writer(app, pilot)
            if n:
                await me.dialog()
                await me.press("2")
            await me.begun()
            await me.answer_all(wanted, partial(beyond, me, me.screen.at))
            left = me.draft
            await me.press(*(["ctrl+q"], ["escape"] * 4, [])[n])
        (line,) = drafts(shop)
        assert open_draft(line.path).draft == left
    assert left.get("fuel.tank") == wanted.get("fuel.tank")


async def test_a_sheet_begun_from_another_has_no_document_yet(shop):
    app = writes(shop, "tern-rear-corner", "tern-2")
    async with app.run_test(size=SMALL) as pilot:
        me = Writer(app, pilot)
        await me.begun()
        await until(pilot, lambda: me.key == "document.reference")
        await me.press("f10", "enter")
        await until(pilot, lambda: me.key == "document.reference")
        assert not (shop.path / "sheets" / "tern-2.yaml").exists()


async def test_what_is_wrong_is_said_in_place_and_stays_under_the_cursor(shop):
    app = writes(shop, "tern-rear-corner", "tern-2")
    async with app.run_test(size=SMALL) as pilot:
        me = Writer(app, pilot)
        await me.opened()
        await me.to("placard.pressure.front")
        await me.type("33 bar")
        assert me.key == "placard.pressure.front"
        assert "It would fit as 33 psi" in me.text("#sentence")
        await me.type("33 psi")
        assert me.key == "placard.pressure.rear"
        assert me.draft.get("placard.pressure.front") == "33 psi"
        await me.type("thirty")
        assert me.key == "placard.pressure.rear"
        assert me.screen.form.entry.value == "thirty"
        assert me.draft.get("placard.pressure.rear") == "230 kPa"
        await me.press("escape", "f10")
        await me.press("escape")
        await me.to("placard.pressure.front")
        await me.type("33 bar")
        await me.press("f10", "enter")
        await until(pilot, lambda: me.key == "placard.pressure.front")
        assert not (shop.path / "sheets" / "tern-2.yaml").exists(), "a sheet with a mistake is not written"


async def test_a_doubt_may_stand_and_is_asked_about_before_writing(shop):
    app = writes(shop, "tern-rear-corner", "tern-2")
    async with app.run_test(size=SMALL) as pilot:
        me = Writer(app, pilot)
        await me.opened()
        await me.to("dimensions.track_rear")
        await me.type("1.3")
        assert "tracks no more than" in me.text("#sentence")
        await me.press("f10", "enter")
        await me.dialog()
        await me.press("l")
        await until(pilot, lambda: isinstance(app.screen, SheetScreen) and me.key == "dimensions.track_rear")
        await me.press("f6")
        assert me.draft.accepted
        assert "It stands" in me.text("#sentence")
        await me.press("f10", "enter")
        await until(pilot, lambda: me.screen.session.written is not None)
    assert read_sheet(shop.path / "sheets" / "tern-2.yaml").dimensions.track_rear == 1.3


async def test_undo_clear_and_leave_out(shop):
    app = writes(shop, "tern-rear-corner", "tern-2")
    async with app.run_test(size=SMALL) as pilot:
        me = Writer(app, pilot)
        await me.opened()
        first = me.draft
        await me.to("zones.1.disc.radius")
        await me.press("f7")
        assert [z["id"] for z in me.draft.tree["zones"]] == ["line-of-sight", "beside-the-bumper"]
        await me.press("ctrl+z")
        assert me.draft == first
        await me.to("targets.0.feet.1.y")
        await me.press("f7")
        assert me.draft.count("targets.0.feet") == 2
        await me.to("marks.front")
        await me.press("f5")
        assert me.draft.get("marks.front") == ""
        assert "cleared" in me.text("#sentence")
        await me.press("ctrl+z", "ctrl+z")
        assert me.draft == first
        await me.press("ctrl+z", "ctrl+z")
        assert me.draft.get("document.reference") == ""
        assert "nothing to undo" in me.text("#sentence")
        await me.press("f7")
        assert "Only a foot" in me.text("#sentence")


async def test_a_sheet_that_is_there_is_replaced_only_when_asked(shop):
    there = shop.path / "sheets" / "tern-rear-corner.yaml"
    before = there.read_bytes()
    app = writes(shop, "tern-rear-corner")
    async with app.run_test(size=SMALL) as pilot:
        me = Writer(app, pilot)
        await me.opened()
        await me.to("car")
        await me.type("Tern estate 2")
        await me.press("f10", "enter")
        await me.dialog()
        await me.press("i")
        await until(pilot, lambda: isinstance(app.screen, SheetScreen) and me.key == "sheet")
        assert there.read_bytes() == before
        await me.press("f10", "enter")
        await me.dialog()
        await me.press("r")
        await until(
            pilot, lambda: isinstance(app.screen, SheetScreen) and me.screen.session.written is not None
        )
    assert read_sheet(there).car == "Tern estate 2"


async def test_a_full_disk_loses_nothing(shop, monkeypatch):
    app = writes(shop, "tern-rear-corner", "tern-2")
    async with app.run_test(size=SMALL) as pilot:
        me = Writer(app, pilot)
        await me.opened()
        await me.to("car")

        def full(path, data):
            raise OSError(errno.ENOSPC, "No space left on device")

        with monkeypatch.context() as patch:
            patch.setattr(module, "write_whole", full)
            await me.type("Wren")
            assert "no space left" in me.text("#sentence")
            assert me.screen.form.entry.value == "Wren"
            assert me.draft.get("car") == "Tern estate"
        await me.press("enter")
        assert me.draft.get("car") == "Wren"


async def test_leaving_keeps_what_is_half_typed_or_says_why_not(shop):
    for text in ("Wren", "12"):
        app = writes(shop, "tern-rear-corner", "tern-2")
        async with app.run_test(size=SMALL) as pilot:
            me = Writer(app, pilot)
            await me.opened()
            key = "car" if text == "Wren" else "placard.pressure.front"
            await me.to(key)
            me.screen.form.entry.value = text if text == "Wren" else "12 m"
            await me.press("ctrl+q")
            if text != "Wren":
                assert app.return_value is None
                assert "12 m" in me.text("#sentence")
                await me.press("ctrl+q")
        assert app.return_code == 0
    assert sorted(open_draft(d.path).draft.get("car") for d in drafts(shop)) == ["Tern estate", "Wren"]


async def test_units_can_be_switched(shop):
    app = writes(shop, "tern-rear-corner", "tern-2")
    async with app.run_test(size=SMALL) as pilot:
        me = Writer(app, pilot)
        await me.opened()
        await me.to("placard.pressure.front")
        await me.press("f8")
        await me.type("33")
        assert me.draft.get("placard.pressure.front") == "33 psi"
        await me.press("f8")
        await me.type("230")
        assert me.draft.get("placard.pressure.rear") == "230 kPa"


async def test_help_plan_and_what_is_mirrored(shop):
    app = writes(shop, "tern-rear-corner", "tern-2")
    async with app.run_test(size=SMALL) as pilot:
        me = Writer(app, pilot)
        await me.opened()
        await me.to("sensors.0.at.y")
        assert "Left 0.66 m, so right -0.66 m." in me.text("#prompt")
        await me.press("f1")
        await me.dialog(Tell)
        await me.press("escape")
        await me.press("ctrl+l")
        await me.dialog(PlanPage)
        assert {"reflector", "reflector (right)"} <= {s.label for s in app.screen._picture}
        await me.press("escape")
        await me.type("x")
        await me.press("pagedown")
        assert "not kept yet" in me.text("#sentence"), "what is half typed is not lost by leaving the part"
        assert me.key == "sensors.0.at.y"


HOSTILE = ["[/b]", "{a: b}", "a: #b", "'", "漢字 ü", "$text-error", "[red]x[/]", "\\", "- a", "&x *y"]


@pytest.mark.slow
async def test_hostile_text_is_text(shop):
    keys = ("car", "title", "document.reference", "#found", "#pages.zones", "zones.0.#why", "load.carried.0.name", "note",
            "results.0.label", "results.0.message")  # fmt: skip
    app = writes(shop, "tern-rear-corner", "tern-2")
    async with app.run_test(size=SMALL) as pilot:
        me = Writer(app, pilot)
        await me.opened()
        for key, text in zip(keys, HOSTILE, strict=True):
            await me.to(key)
            await me.put(text)
            assert me.draft.get(key) == text
        await me.press("f10", "enter")
        await until(
            pilot, lambda: isinstance(app.screen, SheetScreen) and me.screen.session.written is not None
        )
    made = read_sheet(shop.path / "sheets" / "tern-2.yaml")
    assert (made.car, made.title, made.document.reference) == tuple(HOSTILE[:3])
    assert (made.load.carried[0].name, made.note) == tuple(HOSTILE[6:8])
    assert (made.results[0].label, made.results[0].message) == tuple(HOSTILE[8:])


async def test_a_shop_that_is_not_there_is_told_and_tried_again(tmp_path):
    app = SheetApp(tmp_path / "none", clock=Clock())
    async with app.run_test(size=SMALL) as pilot:
        await until(pilot, lambda: "There is no shop" in str(app.screen.query_one("#sentence").render()))
        demo_shop(tmp_path).path.rename(tmp_path / "none")
        await pilot.press("enter")
        await until(pilot, lambda: isinstance(app.screen, SheetScreen))


def test_the_first_paint_is_light():
    assert not brought("import readiness.wizard.sheet_start") & {"pint", "numpy", "yaml", "msgspec", "click"}

"""Where practice begins: how much of a car, which one, and how one stands so far."""

from __future__ import annotations

import random
import shutil
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

from textual import work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.screen import Screen
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from readiness.practice.model import LEVELS

if TYPE_CHECKING:
    from readiness.practice.model import Marked
    from readiness.records.shop import ShopFolder
    from readiness.wizard.practice_session import PracticeSession

KEYS = "Enter or 1 to 5 begins  c car by number  s sheet  p who  PgDn score  F1 help  Esc back"
KEYS_SHORT = "1 to 5 begins  c car by number  s sheet  p who  PgDn score  F1 help  Esc back"
PICK = "Pick how much of a car to practise on."
ANY = "any"
MOST_SEED = 9_999
"""Numbers of cars that are drawn: short enough to be called across a workshop."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """What practice to open with: as named on the command line."""

    seed: int | None = None
    level: int | None = None
    sheet: str | None = None


class PracticeStart(Screen[None]):
    """Levels to pick from, and beside them what the results so far say."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("c", "car", "car", tooltip="A car by its number: the same one for everybody"),
        Binding("s", "sheet", "sheet", tooltip="Which sheet to practise on"),
        Binding("p", "person", "who", tooltip="Whose results these are"),
        Binding("f1", "explain", "help"),
        Binding("pagedown", "scroll(1)", "score", priority=True),
        Binding("pageup", "scroll(-1)", "score", priority=True),
        *(Binding(str(k), f"level({k})", show=False) for k in LEVELS),
        Binding("escape", "back", "back"),
    ]

    def __init__(
        self,
        shop: Path | Callable[[], Path],
        person: str | None,
        clock: Callable[[], datetime],
        wanted: Wanted = Wanted(),
    ) -> None:
        super().__init__()
        self.shop_path, self.person, self.clock, self.wanted = shop, person or "", clock, wanted
        self.folder: ShopFolder | None = None
        self._at_once = wanted.level is not None
        self._made: Path | None = None

    def compose(self) -> ComposeResult:
        yield Static(Content(" PRACTICE: simulated cars, nothing goes into the shop's jobs"), id="head")
        levels = OptionList(
            *(Option(Content(f"{k}  {what}"), id=str(k)) for k, what in LEVELS.items()),
            id="levels",
        )
        levels.highlighted = (self.wanted.level or 1) - 1
        yield levels
        with VerticalScroll(id="scores", can_focus=False):
            yield Static(Content(""), id="score")
        yield Static(Content(PICK), id="sentence")
        yield Static(Content(KEYS), id="keys")

    def on_mount(self) -> None:
        self.query_one("#levels").focus()
        self.call_after_refresh(self.open_shop)

    def on_unmount(self) -> None:
        self._clear()

    def say(self, text: str) -> None:
        self.query_one("#sentence", Static).update(Content(text))

    @work(thread=True, exclusive=True, group="shop")
    def open_shop(self) -> None:
        """The shop, in which results are kept, and what they say so far."""
        from readiness.checklist.mistakes import FileMistakes
        from readiness.records.shop import ShopError, ShopFolder

        try:
            path = self.shop_path
            folder = ShopFolder(path if isinstance(path, Path) else path())
            people = folder.shop.people
        except (ShopError, FileMistakes, OSError) as fault:
            self.app.call_from_thread(self.say, str(fault))
            return
        self.app.call_from_thread(self._opened, folder, people)

    def _opened(self, folder: ShopFolder, people: tuple[str, ...]) -> None:
        self.folder = folder
        self.person = self.person or (people[0] if len(people) == 1 else "")
        self.show_score()
        if self._at_once:
            self._at_once = False
            self.begin(self.wanted.level or 1)

    def show_score(self) -> None:
        """How this person stands; nothing as long as nobody is named."""
        from readiness.wizard.practice_kept import score_page

        if self.folder is not None:
            width = max(30, self.size.width - 6)
            self.query_one("#score", Static).update(score_page(self.folder.path, self.person, width))

    def on_resize(self) -> None:
        self.query_one("#keys", Static).update(Content(KEYS if self.size.width > len(KEYS) else KEYS_SHORT))
        self.show_score()

    # --- keys ------------------------------------------------------------------------------------

    def on_option_list_option_selected(self, message: OptionList.OptionSelected) -> None:
        self.begin(int(message.option.id or 1))

    def action_level(self, level: int) -> None:
        self.query_one("#levels", OptionList).highlighted = level - 1
        self.begin(level)

    def action_scroll(self, by: int) -> None:
        scores = self.query_one("#scores", VerticalScroll)
        scores.scroll_relative(y=by * max(1, scores.size.height - 2), animate=False)

    @work(exclusive=True, group="ask")
    async def action_car(self) -> None:
        from readiness.wizard.dialogs import Ask

        hint = "With the same level and sheet it is the same car for everybody. Enter takes it · Esc back"
        typed = await self.app.push_screen_wait(Ask("Number of the car", hint=hint, refused=_no_number))
        if typed:
            self.wanted = Wanted(int(typed), self.wanted.level, self.wanted.sheet)
            self.say(self._what_is_wanted())

    @work(exclusive=True, group="ask")
    async def action_sheet(self) -> None:
        from readiness.practice.exercise import sheets
        from readiness.wizard.dialogs import Pick, numbered

        offers = numbered([(ANY, "any of them"), *sheets().items()])
        chosen = await self.app.push_screen_wait(Pick("Practise on which sheet", offers))
        if chosen:
            self.wanted = Wanted(self.wanted.seed, self.wanted.level, None if chosen == ANY else chosen)
            self.say(self._what_is_wanted())

    def _what_is_wanted(self) -> str:
        car = f"car {self.wanted.seed}" if self.wanted.seed is not None else "a car drawn by chance"
        return f"Next: {car}, {self.wanted.sheet or 'any sheet'}. Enter begins at the level shown."

    @work(exclusive=True, group="ask")
    async def action_person(self) -> None:
        await self._ask_person()
        self.show_score()

    async def _ask_person(self) -> None:
        from readiness.wizard.dialogs import ask_person

        if self.folder is not None:
            self.person = await ask_person(self.app, self.folder.shop.people) or self.person

    @work
    async def action_explain(self) -> None:
        from readiness.wizard.dialogs import Tell
        from readiness.wizard.practice_help import PRACTICE

        await self.app.push_screen_wait(Tell("Practice", Content(PRACTICE)))

    def action_back(self) -> None:
        """Back to the jobs, or out where practice was all that was asked for."""
        if self.app.screen_stack[0] is self:
            self.app.exit()
        else:
            self.dismiss(None)

    # --- one car ---------------------------------------------------------------------------------

    @work(exclusive=True, group="begin")
    async def begin(self, level: int) -> None:
        if self.folder is None:
            self.open_shop()
            return
        if not self.person:
            await self._ask_person()
        if self.person:
            seed = self.wanted.seed if self.wanted.seed is not None else random.randint(1, MOST_SEED)
            self.say("The car is being driven in …")
            self.draw_car(seed, level, self.wanted.sheet)

    @work(thread=True, exclusive=True, group="draw")
    def draw_car(self, seed: int, level: int, sheet: str | None) -> None:
        """In a thread: a new folder with a practice shop, and a job in it with what is given."""
        from readiness.records.journal import JournalError
        from readiness.records.shop import ShopError
        from readiness.wizard.practice_kept import session_for

        self._clear()
        try:
            self._made = Path(tempfile.mkdtemp(prefix="readiness-practice-"))
            session = session_for(self._made / "shop", seed, level, sheet, self.person, self.clock)
        except (ValueError, ShopError, JournalError, OSError) as fault:
            self.app.call_from_thread(self.say, str(fault))
            return
        self.app.call_from_thread(self._walk, session)

    def _walk(self, session: PracticeSession) -> None:
        from readiness.wizard.practice_walk import PracticeWalk

        walk = PracticeWalk(session, lambda marked: self._keep(session, marked))

        def back(_: None) -> None:
            self.show_score()
            self.wanted = Wanted(None, self.wanted.level, self.wanted.sheet)
            self.say(
                PICK if session.over else f"Left before the last call: nothing of that car is kept. {PICK}"
            )
            if walk.another:
                self.begin(session.exercise.level)

        self.app.push_screen(walk, back)

    def _keep(self, session: PracticeSession, marked: Marked) -> str:
        from readiness.wizard.practice_kept import keep

        assert self.folder is not None
        return keep(self.folder.path, session, marked, self.person)

    def _clear(self) -> None:
        """A car that was left is gone, its folder with it."""
        if self._made is not None:
            shutil.rmtree(self._made, ignore_errors=True)
            self._made = None


def _no_number(typed: str) -> str:
    good = typed.isascii() and typed.isdigit() and len(typed) <= 9
    return "" if good else f"A car is known by a number, such as 4711, not '{typed[:20]}'."

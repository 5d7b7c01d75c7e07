"""Which bay: all of them at once by name, each verdict filled in as the search finds it; nobody has to wait."""

from __future__ import annotations

import time
from typing import ClassVar

from textual import events, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.content import Content
from textual.geometry import Size
from textual.message import Message
from textual.screen import Screen
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from readiness.progress import FIRST_AFTER
from readiness.records.shop import ShopError
from readiness.report import bay_words
from readiness.wizard import bay_words as words
from readiness.wizard.bay_search import BaySearch, Looked, Taken
from readiness.wizard.canvas import lies_better, turned
from readiness.wizard.dialogs import Offer, Pick, Tell
from readiness.wizard.picture import PictureView
from readiness.wizard.plates import Plate

KEYS = "Enter takes the bay  F1 how it was worked out  Ctrl+L plan  c stops looking"
KEYS_DONE = "Enter takes the bay  F1 how it was worked out  Ctrl+L plan  Esc back"
ALL_THE_SAME = (Offer("l", "look", "look at the other bays"), Offer("t", "take", "take it all the same"))
LEAST = 4
"""Cells each way without which there is no picture."""
LOOK_AGAIN = 0.2
"""Seconds after which the progress line is drawn anew."""


class BayScreen(Screen[Taken | None]):
    """Returns the bay that was taken and the place in it, None for neither."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f1,ctrl+y", "explain", "how it was worked out"),
        Binding("ctrl+l", "plan", "plan"),
        Binding("c", "stop", "stops looking"),
        Binding("ctrl+t", "app.other_look", "look", show=False),
        Binding("escape", "back", "back"),
    ]

    class More(Message):
        """More is known of a bay; empty: the search has ended."""

        def __init__(self, bay: str) -> None:
            super().__init__()
            self.bay = bay

    class Failed(Message):
        def __init__(self, why: str) -> None:
            super().__init__()
            self.why = why

    def __init__(self, search: BaySearch, at: str = "", note: str = "") -> None:
        """`at`: the bay that the job is in, where the cursor stands first; `note`: what taking another one means."""
        super().__init__()
        self.search, self.note, self.problem = search, note, ""
        self.keys_of = words.keys_of(list(search.looked))
        self._order = list(search.looked)
        self._first = at if at in search.looked else self._order[0]
        search.wanted = self._first
        self._room: tuple[Size, ...] = ()
        """For which sizes of list and picture everything was drawn."""

    def compose(self) -> ComposeResult:
        yield Plate(Content(words.heading(self.search)), id="head")
        with Horizontal(id="bays"):
            with Vertical(id="bays-list"):
                yield OptionList()
                with VerticalScroll(id="told", can_focus=False):
                    yield Static(id="told-text")
            yield PictureView()
        yield Plate(id="progress")
        yield Plate(Content(KEYS), id="keys")

    def on_mount(self) -> None:
        options = self.query_one(OptionList)
        options.add_options([Option(Content(""), id=name) for name in self._order])
        options.highlighted = self._order.index(self._first)
        options.focus()
        self.set_interval(LOOK_AGAIN, self._time_passed)
        self.call_after_refresh(self._show_all)
        self.look()

    def on_unmount(self) -> None:
        self.search.stopped = True

    # --- the search ------------------------------------------------------------------------------

    @work(thread=True, exclusive=True, group="bays", exit_on_error=True)
    def look(self) -> None:
        try:
            self.search.run(lambda bay: self.post_message(self.More(bay)))
        except ShopError as fault:
            self.search.stopped = True
            self.post_message(self.Failed(str(fault)))
        self.post_message(self.More(""))

    def on_bay_screen_more(self, message: More) -> None:
        if message.bay:
            self._show_lines()
        else:
            self._in_order()
            self.query_one("#keys", Plate).show(Content(KEYS_DONE))
        self._show_progress()
        if message.bay in ("", self.here):
            self._show_here()

    def on_bay_screen_failed(self, message: Failed) -> None:
        self.problem = message.why

    # --- showing ---------------------------------------------------------------------------------

    @property
    def here(self) -> str:
        """The bay under the cursor."""
        at = self.query_one(OptionList).highlighted
        return self._order[at] if at is not None and at < len(self._order) else self._first

    @property
    def looked(self) -> Looked:
        return self.search.looked[self.here]

    def _line(self, name: str) -> Content:
        width = self.query_one(OptionList).scrollable_content_region.width - 2
        return words.line(self.keys_of[name], self.search.looked[name], self.search, width)

    def _show_lines(self) -> None:
        """All of them: how much room titles have depends on every verdict."""
        for name in self._order:
            self.query_one(OptionList).replace_option_prompt(name, self._line(name))

    def _show_all(self) -> None:
        self._show_lines()
        self._show_here()

    def _in_order(self) -> None:
        """The best first; the cursor stays on its bay, and every bay keeps its key."""
        here, options = self.here, self.query_one(OptionList)
        self._order = self.search.ranked
        options.clear_options()
        options.add_options([Option(self._line(name), id=name) for name in self._order])
        options.highlighted = self._order.index(here)

    def _show_here(self) -> None:
        first = [self.problem, self.note if self.here != self._first else ""]
        said = Content.assemble(
            *((f"{text}\n", "$text-warning") for text in first if text),
            words.sentence(self.looked, self.search),
        )
        self.query_one("#told-text", Static).update(said)
        self.call_after_refresh(self._show_picture)

    def _show_picture(self) -> None:
        view, picture = self.query_one(PictureView), self.looked.picture
        aside = min(view.size) >= LEAST and lies_better(picture, *view.size)
        view.show(turned(picture) if aside else picture, self.search.system)

    def _show_progress(self) -> None:
        search = self.search
        early = search.running and time.monotonic() - search.began < FIRST_AFTER
        self.query_one("#progress", Plate).show(Content("" if early else f" {words.progress(search)}"))

    def _time_passed(self) -> None:
        """How far the search is; and everything anew where the room for it is another one."""
        self._show_progress()
        room = (self.query_one(OptionList).size, self.query_one(PictureView).size)
        if room != self._room:
            self._room = room
            self._show_all()

    def on_option_list_option_highlighted(self) -> None:
        self.search.wanted = self.here
        self._show_here()

    # --- what the keys do ------------------------------------------------------------------------

    def on_option_list_option_selected(self, message: OptionList.OptionSelected) -> None:
        self._take(message.option.id or self.here)

    def on_key(self, event: events.Key) -> None:
        name = next((n for n, key in self.keys_of.items() if key and key == event.character), "")
        if name:
            event.stop()
            self._take(name)

    @work(exclusive=True, group="take")
    async def _take(self, name: str) -> None:
        """A bay without a place is taken on second thoughts only, so that a hasty Enter takes none.

        Where to park is asked only where the bay's own marks and the place worked out both serve.
        """
        looked = self.search.looked[name]
        choice, fit = looked.choice, looked.fit
        if fit is not None and not fit.fits:
            title = f"{looked.bay.title}: {bay_words.verdict(fit, self.search.system)}"
            if await self.app.push_screen_wait(Pick(title, ALL_THE_SAME)) != "take":
                return
        if choice == "ask" and fit is not None:
            answer = await self.app.push_screen_wait(
                Pick(f"{looked.bay.title}: where to park", _places(looked, self.search))
            )
            if answer is None:
                return
            choice = "worked out" if answer == "worked out" else "own"
        if fit is None or choice == "own":
            self.dismiss(Taken(name))
        else:
            self.dismiss(Taken(name, fit.standing, words.tapes(fit, self.search.system)))

    @work(group="explain")
    async def action_plan(self) -> None:
        from readiness.wizard.plan_page import PlanPage

        looked = self.looked
        if looked.picture:
            await self.app.push_screen_wait(PlanPage(looked.bay.title, looked.picture, self.search.system))

    @work(group="explain")
    async def action_explain(self) -> None:
        looked = self.looked
        await self.app.push_screen_wait(Tell(looked.bay.title, words.details(looked, self.search)))

    def action_stop(self) -> None:
        self.search.stopped = self.search.stopped or self.search.running

    def action_back(self) -> None:
        if self.search.running:
            self.action_stop()
        else:
            self.dismiss(None)


def _places(looked: Looked, search: BaySearch) -> list[Offer]:
    own, worked_out = words.places(looked, search.system)
    return [Offer("m", "own", own), Offer("w", "worked out", worked_out)]

"""A first screen that stays under what it opens: painted at once, then the shop is read. What cannot be opened is said."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.screen import Screen
from textual.widgets import Static

KEYS = "Enter begins  Esc leave"
AGAIN = "Enter tries again, Esc leaves."


class Beginning(Screen[None]):
    """Enter tries again; a second Enter while the shop is being read begins nothing."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "begin", "begin"),
        Binding("escape,q", "app.quit", "leave"),
    ]
    HEAD = ""

    _busy = False

    def compose(self) -> ComposeResult:
        yield Static(Content(self.HEAD), id="head")
        yield Static(Content(" Reading the shop …"), id="sentence")
        yield Static(Content(KEYS), id="keys")

    def on_mount(self) -> None:
        self.call_after_refresh(self.action_begin)

    def action_begin(self) -> None:
        if not self._busy:
            self._busy = True
            self.open_shop()

    def open_shop(self) -> object:
        """Read what is needed, in a thread, off the way to the first paint."""
        raise NotImplementedError

    def say(self, text: str) -> None:
        self.query_one("#sentence", Static).update(Content(text))

    def stop(self, text: str) -> None:
        """Say why nothing was begun."""
        self._busy = False
        self.say(text)

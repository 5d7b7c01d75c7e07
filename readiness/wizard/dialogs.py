"""Small questions on top of the screen: pick one, type a line, read a page."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, ClassVar

from textual import events
from textual.app import App, ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical, VerticalScroll
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Input, OptionList, Static
from textual.widgets.option_list import Option


@dataclass(frozen=True, slots=True)
class Offer:
    """One thing to pick: the key that picks it, the value returned, the words shown."""

    key: str
    value: str
    label: str


def numbered(values: Sequence[tuple[str, str]]) -> list[Offer]:
    """Offers picked by 1 to 9, then by a to z."""
    keys = "123456789abcdefghijklmnopqrstuvwxyz"
    return [Offer(keys[k] if k < len(keys) else "", v, label) for k, (v, label) in enumerate(values)]


class Pick(ModalScreen[str | None]):
    """A list to pick from by one key, or by arrows and Enter; Escape picks nothing.

    `at`: where the cursor stands; None where an Enter too many must not pick.
    """

    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape", "dismiss(None)", "back")]

    def __init__(self, title: str, offers: Sequence[Offer], at: int | None = 0) -> None:
        super().__init__()
        self._title, self._offers, self._at = title, offers, at

    def compose(self) -> ComposeResult:
        with Vertical(classes="dialog"):
            yield Static(Content(self._title), classes="title")
            options = OptionList(
                *(
                    Option(Content(f"{o.key or ' '}  {o.label}"), id=str(k))
                    for k, o in enumerate(self._offers)
                )
            )
            options.highlighted = self._at if self._offers else None
            yield options
            yield Static(Content("the key in front, or arrows and Enter · Esc back"), classes="keys")

    def on_option_list_option_selected(self, message: OptionList.OptionSelected) -> None:
        self.dismiss(self._offers[message.option_index].value)

    def on_key(self, event: events.Key) -> None:
        for offer in self._offers:
            if offer.key and event.character == offer.key:
                event.stop()
                self.dismiss(offer.value)
                return


class Ask(ModalScreen[str | None]):
    """One line of text; Enter keeps it, Escape gives None. An empty line is refused unless offered.

    `hint` stands under it instead of what the keys do. `refused` says why a text will not do, or nothing.
    """

    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape", "dismiss(None)", "back")]

    def __init__(
        self, title: str, offered: str = "", hint: str = "", refused: Callable[[str], str] | None = None
    ) -> None:
        super().__init__()
        self._title, self._offered, self._hint, self._refused = title, offered, hint, refused
        self._value = ""

    def again(self, value: str, hint: str) -> Ask:
        """The same question with what was typed, and why that could not be kept."""
        ask = type(self)(self._title, self._offered, hint, self._refused)
        ask._value = value
        return ask

    def compose(self) -> ComposeResult:
        with Vertical(classes="dialog"):
            yield Static(Content(self._title), classes="title")
            yield Input(self._value, placeholder=self._offered, compact=True, max_length=200)
            yield Static(Content(self._hint or "Enter keeps it · Esc back"), classes="keys")

    def on_input_submitted(self, message: Input.Submitted) -> None:
        shown = (c if c.isprintable() else " " for c in message.value)
        text = " ".join("".join(shown).split()) or self._offered
        why_not = self._refused(text) if self._refused is not None else ""
        if why_not:
            self.query_one(".keys", Static).update(Content(why_not))
        elif text:
            self.dismiss(text)


class Tell(ModalScreen[None]):
    """A page to read; Escape, Enter or a key that opens one closes it."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape,enter,f1,ctrl+r,q", "dismiss(None)", "back")]

    def __init__(self, title: str, page: Content) -> None:
        super().__init__()
        self._title, self._page = title, page

    def compose(self) -> ComposeResult:
        with Vertical(classes="dialog page"):
            yield Static(Content(self._title), classes="title")
            with VerticalScroll():
                yield Static(self._page)
            yield Static(Content("arrows scroll · Esc back"), classes="keys")

    def on_mount(self) -> None:
        self.query_one(VerticalScroll).focus()


async def ask_person(app: App[Any], people: Sequence[str]) -> str | None:
    """Whose name goes with what is entered; None if nobody was named."""
    offers = [*numbered([(p, p) for p in people]), Offer("o", "", "somebody else")]
    chosen = await app.push_screen_wait(Pick("Who is working", offers))
    return await app.push_screen_wait(Ask("Your name")) if chosen == "" else chosen

"""The picture alone over the whole screen: to walk about in it, to come nearer, to go through what stands there."""

from __future__ import annotations

from dataclasses import replace
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.screen import ModalScreen

from readiness.checks.picture import KEEPS_OUT, WORDS_FIRST, Circle, Outline, Picture, Role, Shape, middle_of
from readiness.job import System
from readiness.report.text import clean
from readiness.wizard.canvas import View, fitting, lies_better, turned
from readiness.wizard.picture import PictureView
from readiness.wizard.plates import Plate

KEYS = "Arrows move  + - nearer, farther  0 all  Tab next thing  T turn  Esc back"
STEP, NEARER, FARTHEST = 0.25, 1.5, 0.5
"""Share of what is seen that an arrow goes; factor of a step nearer; smallest scale against that of the whole."""
ROLES: dict[Role, str] = {
    "bay": "the bay", "car": "the car", "wheel": "wheel", "sensor": "sensor", "target": "target",
    "zone": "keep-clear zone", "obstacle": "stands in the bay", "mark": "mark to measure from",
    "clearance": "the smallest clearance", "height": "place on the floor", "here": "where you are",
}  # fmt: skip

NUMBERED: tuple[Role, ...] = ("wheel", "height", "clearance")
"""What is called by its number, not by a name."""


def things_of(picture: Picture) -> list[int]:
    """Numbers of the shapes that have a name: what stands out first, then by what they are."""
    named = [k for k, s in enumerate(picture) if s.label]
    return sorted(named, key=lambda k: (not picture[k].marked, WORDS_FIRST.index(picture[k].role)))


def sentence_of(shape: Shape) -> str:
    """Name, what it is, and what the picture knows of it."""
    reason = shape.reason if isinstance(shape, Outline | Circle) else ""
    keeps = f", {KEEPS_OUT[reason]}" if reason else ""
    if shape.role in NUMBERED:
        return clean(f"{ROLES[shape.role].capitalize()}: {shape.label}. {shape.note}")
    return clean(f"{shape.label}: {ROLES[shape.role]}{keeps}. {shape.note}")


class PlanPage(ModalScreen[None]):
    """Visited and left again; the screen under it, and what is half typed there, stays as it is."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,enter,ctrl+l,q", "dismiss(None)", "back"),
        Binding("left", f"move({-STEP}, 0.0)", "left"),
        Binding("right", f"move({STEP}, 0.0)", "right"),
        Binding("up", f"move(0.0, {-STEP})", "up"),
        Binding("down", f"move(0.0, {STEP})", "down"),
        Binding("plus,equals_sign", f"zoom({NEARER})", "nearer"),
        Binding("minus,underscore", f"zoom({1 / NEARER})", "farther"),
        Binding("0,home", "all", "all"),
        Binding("tab,n", "choose(1)", "next thing", priority=True),
        Binding("shift+tab,p", "choose(-1)", "thing before", priority=True),
        Binding("t", "turn", "turn"),
        Binding("ctrl+t", "app.other_look", "look"),
    ]

    def __init__(self, title: str, picture: Picture, system: System, *, named_axes: bool = False) -> None:
        """`named_axes`: lengths in it count from the bay's corner, so it is said which way they go."""
        super().__init__()
        self._title, self._picture, self._system, self._named_axes = title, picture, system, named_axes
        self._things = things_of(picture)
        self._at: int | None = None
        """Index of the thing that is lit up."""
        self._aside: bool | None = None
        """Whether the picture lies on its side; None until its size is known."""
        self._view: View | None = None
        """What is seen of it; None: all."""

    def compose(self) -> ComposeResult:
        yield Plate(id="plan-title")
        yield PictureView()
        yield Plate(id="plan-sentence")
        yield Plate(Content(KEYS), id="keys")

    def on_mount(self) -> None:
        self.call_after_refresh(self._show)

    def on_resize(self) -> None:
        self.call_after_refresh(self._show)

    # --- what is seen ----------------------------------------------------------------------------

    @property
    def _shown(self) -> Picture:
        return turned(self._picture) if self._aside else self._picture

    @property
    def _lit(self) -> Shape | None:
        return None if self._at is None else self._shown[self._things[self._at]]

    @property
    def _whole(self) -> View:
        width, height = self.query_one(PictureView).size
        return fitting(self._shown, width, height, scaled=True)

    def _show(self) -> None:
        plan = self.query_one(PictureView)
        width, height = plan.size
        if not width or not height:
            return
        if self._aside is None:
            self._aside = lies_better(self._picture, width, height)
        if self._view is not None:
            self._view = replace(self._view, width=width, height=height)
        chosen = None if self._at is None else self._things[self._at]
        plan.show(self._shown, self._system, self._view, chosen)
        self.query_one("#plan-title", Plate).show(Content(self._head()))
        self.query_one("#plan-sentence", Plate).show(Content(self._sentence()))

    def _head(self) -> str:
        axes = " · x to the right, y up" if self._aside else " · x up, y to the left"
        return f" {self._title}{axes if self._named_axes else ''}"

    def _sentence(self) -> str:
        if self._at is None:
            count = len(self._things)
            return f"Tab goes through the {count} things by name." if count > 1 else ""
        return f"{self._at + 1} of {len(self._things)}: {sentence_of(self._picture[self._things[self._at]])}"

    # --- keys ------------------------------------------------------------------------------------

    def action_move(self, right: float, down: float) -> None:
        view = (self._view or self._whole).moved(right, down)
        self._view = view.over(view.middle, self._shown)
        self._show()

    def action_zoom(self, by: float) -> None:
        """Towards what is lit up, as long as it is seen."""
        whole = self._whole
        view, lit = self._view or whole, self._lit
        about = middle_of(lit) if lit is not None and view.holds(middle_of(lit)) else None
        self._view = view.zoomed(by, FARTHEST * whole.dots_per_metre, about)
        self._show()

    def action_all(self) -> None:
        self._view = None
        self._show()

    def action_turn(self) -> None:
        self._aside, self._view = not self._aside, None
        self._show()

    def action_choose(self, by: int) -> None:
        """The next thing, brought into view where it is not."""
        if not self._things:
            return
        first = 0 if by > 0 else len(self._things) - 1
        self._at = first if self._at is None else (self._at + by) % len(self._things)
        assert self._lit is not None
        middle = middle_of(self._lit)
        if self._view is not None and not self._view.holds(middle):
            self._view = self._view.over(middle, self._shown)
        self._show()

    def on_mouse_scroll_up(self) -> None:
        self.action_zoom(NEARER)

    def on_mouse_scroll_down(self) -> None:
        self.action_zoom(1 / NEARER)

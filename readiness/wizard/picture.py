"""The picture beside the form, drawn from a finding's plain shapes."""

from __future__ import annotations

from itertools import groupby
from typing import ClassVar, NamedTuple, get_args

from rich.segment import Segment
from rich.style import Style
from textual.strip import Strip
from textual.widget import Widget

from readiness.checks.picture import Picture, Role
from readiness.job import System
from readiness.wizard.canvas import Cell, View, drawn


class Seen(NamedTuple):
    """What is shown of which picture; without a view all of it, without units no scale."""

    picture: Picture = ()
    system: System | None = None
    view: View | None = None
    chosen: int | None = None


class PictureView(Widget):
    """Shown at 110 columns and more; draws nothing while there is no picture."""

    COMPONENT_CLASSES: ClassVar[set[str]] = {
        f"picture--{look}" for look in (*get_args(Role), "marked", "wrong", "lit")
    }

    def __init__(self) -> None:
        super().__init__()
        self._seen = Seen()
        self._drawn: tuple[Seen, int, int, list[list[Cell]]] | None = None

    @property
    def picture(self) -> Picture:
        return self._seen.picture

    def show(
        self,
        picture: Picture,
        system: System | None = None,
        view: View | None = None,
        chosen: int | None = None,
    ) -> None:
        self.set_class(bool(picture), "-filled")
        seen = Seen(picture, system, view, chosen)
        if seen != self._seen:
            self._seen = seen
            self.refresh()

    def render_line(self, y: int) -> Strip:
        width, height = self.size
        rows, ground = self._rows(width, height), self.rich_style
        if y >= len(rows):
            return Strip.blank(width, ground)
        segments = [
            Segment("".join(text for text, _, _ in run), self._style(look, ground))
            for look, run in groupby(rows[y], key=_look)
        ]
        return Strip(segments).adjust_cell_length(width, ground)

    def _rows(self, width: int, height: int) -> list[list[Cell]]:
        kept = self._drawn
        if kept is None or kept[0] is not self._seen or kept[1:3] != (width, height):
            picture, system, view, chosen = self._seen
            rows = drawn(picture, width, height, view=view, system=system, chosen=chosen)
            kept = self._drawn = (self._seen, width, height, rows)
        return kept[3]

    def _style(self, look: str, ground: Style) -> Style:
        """How a role looks; blank cells have the ground's style, which is costly to ask for."""
        return self.get_component_rich_style(f"picture--{look}") if look else ground


def _look(cell: Cell) -> str:
    """Words that stand out are reversed, so that they do without colour; their lines are thick already."""
    text, role, marked = cell
    if not marked and role != "here":
        return role
    dotted = "\u2800" <= text <= "\u28ff"
    return ("wrong" if dotted else "marked") if marked else "lit" if dotted else "here"

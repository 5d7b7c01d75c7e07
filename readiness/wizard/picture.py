"""The picture beside the form, drawn from a finding's plain shapes."""

from __future__ import annotations

from itertools import groupby
from typing import ClassVar

from rich.segment import Segment
from rich.style import Style
from textual.strip import Strip
from textual.widget import Widget

from readiness.checks.picture import Picture
from readiness.wizard.canvas import Cell, drawn


class PictureView(Widget):
    """Shown at 110 columns and more; draws nothing while there is no picture."""

    COMPONENT_CLASSES: ClassVar[set[str]] = {
        f"picture--{role}"
        for role in (
            "bay",
            "car",
            "wheel",
            "sensor",
            "target",
            "zone",
            "obstacle",
            "clearance",
            "height",
            "here",
            "marked",
        )
    }

    def __init__(self) -> None:
        super().__init__()
        self._picture: Picture = ()
        self._drawn: tuple[Picture, int, int, list[list[Cell]]] | None = None

    def show(self, picture: Picture) -> None:
        self.set_class(bool(picture), "-filled")
        if picture != self._picture:
            self._picture = picture
            self.refresh()

    def render_line(self, y: int) -> Strip:
        width, height = self.size
        rows, ground = self._rows(width, height), self.rich_style
        if y >= len(rows):
            return Strip.blank(width, ground)
        segments = [
            Segment("".join(text for text, _, _ in run), self._style(look, ground))
            for look, run in groupby(rows[y], key=lambda cell: "marked" if cell[2] else cell[1])
        ]
        return Strip(segments).adjust_cell_length(width, ground)

    def _rows(self, width: int, height: int) -> list[list[Cell]]:
        kept = self._drawn
        if kept is None or kept[0] is not self._picture or kept[1:3] != (width, height):
            kept = (self._picture, width, height, drawn(self._picture, width, height))
            self._drawn = kept
        return kept[3]

    def _style(self, look: str, ground: Style) -> Style:
        """How a role looks; blank cells have the ground's style, which is costly to ask for."""
        return self.get_component_rich_style(f"picture--{look}") if look else ground

"""What part of a plan is seen, and how large."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

from readiness.checks.picture import XY, Picture, Role, Shape, bounds, extent, turned

Cell = tuple[str, Role | Literal[""], bool]
"""What stands there, role of what is drawn there, whether it is marked."""
BLANK: Cell = (" ", "", False)

CLOSEST = 4000.0
"""Dots per metre at most: a millimetre is four dots then."""


@dataclass(frozen=True, slots=True)
class View:
    """Metres to dots: x forward goes up, y left goes left. `width` and `height` in cells."""

    middle: XY
    dots_per_metre: float
    width: int
    height: int

    def dot(self, at: XY) -> tuple[float, float]:
        """Column and row, from the upper left corner."""
        column = self.width - (at[1] - self.middle[1]) * self.dots_per_metre
        row = 2 * self.height - (at[0] - self.middle[0]) * self.dots_per_metre
        return column, row

    def cells(self, shape: Shape) -> tuple[float, float, float, float]:
        """Left, top, right and bottom of a shape in cells."""
        corners = [self.dot(p) for p in extent(shape)]
        columns, rows = [c / 2 for c, _ in corners], [r / 4 for _, r in corners]
        return min(columns), min(rows), max(columns), max(rows)

    def holds(self, at: XY) -> bool:
        column, row = self.dot(at)
        return 0 <= column < 2 * self.width and 0 <= row < 4 * self.height

    def zoomed(self, by: float, least: float, about: XY | None = None) -> View:
        """Larger by that factor about a place, else about the middle; not under `least` dots per metre."""
        scale = min(CLOSEST, max(least, self.dots_per_metre * by))
        (x, y), (px, py), part = self.middle, about or self.middle, self.dots_per_metre / scale
        return replace(self, middle=(px + (x - px) * part, py + (y - py) * part), dots_per_metre=scale)

    def moved(self, right: float, down: float) -> View:
        """Seen from farther to the right and down, in shares of what is seen."""
        x, y = self.middle
        deep, broad = 4 * self.height / self.dots_per_metre, 2 * self.width / self.dots_per_metre
        return replace(self, middle=(x - down * deep, y - right * broad))

    def over(self, at: XY, picture: Picture) -> View:
        """With that place in the middle, or the nearest that the picture reaches, so that it is never lost."""
        x1, y1, x2, y2 = bounds(picture)
        return replace(self, middle=(min(x2, max(x1, at[0])), min(y2, max(y1, at[1]))))


def fitting(picture: Picture, width: int, height: int, *, scaled: bool = False) -> View:
    """The view that shows all of a picture in width x height cells, with room for words, and under it for a scale."""
    x1, y1, x2, y2 = bounds(picture)
    lines = 4 * (height - scaled)
    # with no room for the words there is still a dot each way
    deep, broad = max(lines - 4, 1), max(2 * width - 8, 1)
    scale = min(deep / max(x2 - x1, 0.1), broad / max(y2 - y1, 0.1), CLOSEST)
    below = 2 * scaled / scale
    return View(((x1 + x2) / 2 - below, (y1 + y2) / 2), scale, width, height)


def lies_better(picture: Picture, width: int, height: int) -> bool:
    """Whether a picture comes out larger on its side."""
    if not picture:
        return False
    upright, aside = (fitting(p, width, height).dots_per_metre for p in (picture, turned(picture)))
    return aside > upright

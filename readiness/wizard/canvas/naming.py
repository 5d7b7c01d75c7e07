"""Words on a picture: each at the first free place where it covers least; never one over another or over a dot."""

from __future__ import annotations

import math
import unicodedata
from collections.abc import Callable, Iterable
from functools import lru_cache

from rich.cells import cell_len

from readiness.checks.picture import (
    TYRE,
    WORDS_FIRST,
    Outline,
    Picture,
    Role,
    Shape,
    Spot,
    across_to_middle,
    car_of,
    front_of,
    scale_of,
)
from readiness.job import System
from readiness.report.text import clean
from readiness.wizard.canvas.view import BLANK, Cell, View

At = tuple[int, int]
"""Row and column of a cell."""
Letters = tuple[str, ...]
"""One entry a cell; a wide character is followed by an empty one."""

DOT = {"sensor": "◊", "target": "●", "obstacle": "▪", "mark": "+"}
LONGEST, SHORT = 26, 10
"""Cells of a name; the rest is cut off, and once more where there is no room."""
SHIFTS = (0, 1, -1, 2, -2)
"""Rows by which words may move to find a free place."""
FRONT = "front"
DEAR, SHORTER = 6, 8
"""What it costs words to cover a cell of a clearance or a wheel, where one of another line costs 1; and to be cut."""
Places = Callable[[int], list[At]]
"""Where words of so many cells may begin, best first."""


@lru_cache(maxsize=1024)  # names stay the same while one moves about
def lettered(text: str, longest: int) -> Letters:
    """Words cell by cell: accents with their letter, wide characters two cells wide, cut with … where too long.

    Text from people is plain text: what steers a terminal or turns the writing round is left out.
    """
    cells: list[str] = []
    for char in filter(str.isprintable, unicodedata.normalize("NFC", clean(text))):
        width = cell_len(char)
        if width == 0:
            accent = unicodedata.category(char) in ("Mn", "Mc", "Me") and not "\ufe00" <= char <= "\ufe0f"
            if accent and cells and cells[-1]:
                cells[-1] += char
            continue
        cells += [char, *[""] * (width - 1)]
    if len(cells) <= longest:
        return tuple(cells)
    kept = cells[: max(0, longest - 1)]
    if kept and len(cells) > len(kept) and cells[len(kept)] == "":
        kept[-1] = " "  # a wide character cut in half
    while kept and kept[-1] == " ":
        kept.pop()
    return (*kept, "…")


class Names:
    """Writes on rows of cells; knows what must not be covered, and what had better not be."""

    def __init__(self, rows: list[list[Cell]], view: View, lines: set[At]) -> None:
        self.rows, self.view, self.lines = rows, view, lines
        self.taken: set[At] = set()

    def scale(self, system: System) -> None:
        """A bar of a round length in the lower left corner."""
        view = self.view
        length, words = scale_of(2 * max(8, view.width // 4) / view.dots_per_metre, system)
        cells = max(1, round(length * view.dots_per_metre / 2))
        bar = f"├{'─' * (cells - 1)}┤ {words}"
        if len(bar) + 2 <= view.width:
            self._put(view.height - 1, 1, tuple(bar), "bay", False)

    def write(self, picture: Picture, lit: Shape | None) -> None:
        """Dots first, so that no place is missing; then words, what matters most first."""
        seen = [s for s in picture if self._seen(s)]
        spots = [s for s in seen if isinstance(s, Spot) and s.role != "wheel"]
        for spot in sorted(spots, key=lambda s: _urgency(s, lit), reverse=True):
            self._dot(spot, spot is lit)
        self.taken |= {self._at(s) for s in spots}
        car = car_of(picture)
        if car is not None:
            self._name((tuple(FRONT),), self._at_front(car), "car", False)
        for shape in sorted((s for s in seen if s.label and s.role != "bay"), key=lambda s: _urgency(s, lit)):
            role: Role = "here" if shape is lit else shape.role
            marked = shape.marked and shape is not lit
            own = self._at(shape) if isinstance(shape, Spot) else None
            self._name(_forms(shape), self._places(shape, car), role, marked, own)

    # --- where -----------------------------------------------------------------------------------

    def _box(self, shape: Shape) -> tuple[float, float, float, float]:
        """What is seen of a shape in cells: left, top, right, bottom."""
        left, top, right, bottom = self.view.cells(shape)
        return max(0.0, left), max(0.0, top), min(self.view.width, right), min(self.view.height, bottom)

    def _seen(self, shape: Shape) -> bool:
        left, top, right, bottom = self._box(shape)
        return left <= right and top <= bottom

    def _at(self, shape: Shape) -> At:
        """Row and column of the middle of what is seen of a shape."""
        left, top, right, bottom = self._box(shape)
        row, column = int((top + bottom) / 2), int((left + right) / 2)
        return min(self.view.height - 1, row), min(self.view.width - 1, column)

    def _dot(self, spot: Spot, lit: bool) -> None:
        row, column = self._at(spot)
        glyph = "◦" if spot.hollow else DOT.get(spot.role, "•")
        self.rows[row][column] = (glyph, "here" if lit else spot.role, spot.marked and not lit)

    # --- writing ---------------------------------------------------------------------------------

    def _name(
        self, forms: Iterable[Letters], places: Places, role: Role, marked: bool, own: At | None = None
    ) -> None:
        """The words in their longest form where they cover least; none where no place is free."""
        best: tuple[int, At, Letters] | None = None
        for k, words in enumerate(forms):
            for row, start in places(len(words)):
                if (best is None or best[0] > 0) and self._free(row, start, len(words), own):
                    cost = SHORTER * k + sum(self._covers(row, c) for c in range(start, start + len(words)))
                    if best is None or cost < best[0]:
                        best = cost, (row, start), words
        if best is not None:
            self._put(*best[1], best[2], role, marked)

    def _free(self, row: int, start: int, count: int, own: At | None) -> bool:
        if not (0 <= row < self.view.height and 0 <= start <= self.view.width - count):
            return False
        return all((row, c) not in self.taken or (row, c) == own for c in range(start - 1, start + count + 1))

    def _covers(self, row: int, column: int) -> int:
        if (row, column) not in self.lines:
            return 0
        return DEAR if self.rows[row][column][1] in ("clearance", "wheel") else 1

    def _put(self, row: int, start: int, words: Letters, role: Role, marked: bool) -> None:
        """Hatching stops a cell before and after the words."""
        stop = start + len(words)
        for column in (start - 1, stop):
            at = (row, column)
            if 0 <= column < self.view.width and at not in self.lines and at not in self.taken:
                self.rows[row][column] = BLANK
        self.rows[row][start:stop] = [(text, role, marked) for text in words]
        self.taken |= {(row, c) for c in range(start - 1, stop + 1)}

    # --- places, best first, for words of so many cells ------------------------------------------

    def _places(self, shape: Shape, car: Outline | None) -> Places:
        row, column = self._at(shape)
        if isinstance(shape, Spot) and shape.role == "wheel":
            return self._by_wheel(shape, car)
        if isinstance(shape, Spot):
            over = () if shape.role == "height" else (-1, 1)
            return lambda n: [
                (row, column + 1),
                (row, column - n),
                *((row + k, self._within(column - n // 2, n)) for k in over),
            ]
        left, top, right, bottom = self._box(shape)
        if shape.role == "clearance":
            return lambda n: [(row, column + 2), (row, column - n - 1), *self._over(row, column, n)]

        def places(n: int) -> list[At]:
            inside = [(row + k, self._within(column - n // 2, n)) for k in SHIFTS]
            outside = [(int(bottom) + 1, inside[0][1]), (int(top) - 1, inside[0][1])]
            return [*inside, *outside, (row, int(right) + 2), (row, int(left) - n - 1)]

        return places

    def _over(self, row: int, column: int, n: int) -> list[At]:
        start = self._within(column - n // 2, n)
        return [(row + k, start) for k in (-1, 1, -2, 2, 0)]

    def _within(self, start: int, n: int) -> int:
        return max(0, min(self.view.width - n, start))

    def _by_wheel(self, wheel: Spot, car: Outline | None) -> Places:
        """Beside a wheel inside the car, else outside, else on it."""
        row, column = self._at(wheel)
        dx, dy = across_to_middle(wheel, car) if car is not None else (0.0, -1.0)
        half = TYRE[1] / 2 * self.view.dots_per_metre

        def places(n: int) -> list[At]:
            if abs(dy) >= abs(dx):
                sides = [(row, column + int(half / 2) + 2), (row, column - int(half / 2) - n - 1)]
                return [*(sides if dy <= 0 else sides[::-1]), *self._over(row, column, n)]
            off = int(half / 4) + 1
            start = self._within(column - n // 2, n)
            beside = [(row + k * off, start) for k in (1, -1)]
            return [*(beside if dx <= 0 else beside[::-1]), *self._over(row, column, n)]

        return places

    def _at_front(self, car: Outline) -> Places:
        """Inside the car at its front, farther in, before it; nowhere where the front is not seen."""
        (x, y), (dx, dy) = front_of(car)
        c, r = self.view.dot((x, y))
        if not (0 <= c <= 2 * self.view.width and 0 <= r <= 4 * self.view.height):
            return lambda _: []
        back = (1.0, 1.7, 2.4, 3.2, 4.0, -1.0, -1.7)
        return lambda n: [
            (math.floor(r / 4 + k * dx), round(c / 2 + k * dy * (n / 2 + 1) - n / 2)) for k in back
        ]


def _forms(shape: Shape) -> list[Letters]:
    """The name as it is, what comes before its colon, and cut short."""
    whole = lettered(shape.label, LONGEST)
    first = lettered(shape.label.partition(":")[0], LONGEST)
    return list(dict.fromkeys(words for words in (whole, first, lettered(shape.label, SHORT)) if words))


def _urgency(shape: Shape, lit: Shape | None) -> tuple[bool, bool, int]:
    return shape is not lit, not shape.marked, WORDS_FIRST.index(shape.role)

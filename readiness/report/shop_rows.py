"""What a section of a shop's page is made of, whatever face shows it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

SIGNS = {"bad": "✗", "doubt": "!", "good": "✓", "quiet": "·"}
"""Before the word of a row; the colour, which is the class of the style sheet, only repeats it."""
NEEDS = ("bad", "doubt")


@dataclass(frozen=True, slots=True)
class Row:
    """A word that says how it stands, and a sentence."""

    word: str
    text: str
    colour: str = "bad"
    """A key of SIGNS."""
    due: bool = True
    """Whether it needs somebody, where its colour says so."""

    @property
    def needs(self) -> bool:
        return self.due and self.colour in NEEDS


@dataclass(frozen=True, slots=True)
class Bar:
    """A number as a bar; the first `sure` of it are drawn full, the others lighter."""

    label: str
    number: int
    sure: int
    of: int
    said: str
    """The number in words."""


@dataclass(frozen=True, slots=True)
class Section:
    title: str
    rows: tuple[Row, ...] = ()
    bars: tuple[Bar, ...] = ()
    quiet: tuple[str, ...] = ()
    """What needs nobody: the rest, counted; how it was counted."""

    @property
    def due(self) -> bool:
        """Whether anything of it needs somebody."""
        return any(row.needs for row in self.rows)


def count(number: int, noun: str) -> str:
    """'1 job', '3 jobs'."""
    return f"{number:,} {noun if number == 1 else f'{noun}s'}"


def listed(names: Sequence[str], most: int) -> str:
    """The first few, and how many more there are."""
    more = len(names) - most
    return ", ".join(names[:most]) + (f" and {more:,} more" if more > 0 else "")

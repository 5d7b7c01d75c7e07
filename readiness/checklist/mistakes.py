"""A mistake in a file as one line: where it is, what was found, what is expected, what to do."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path

MOST_MISTAKES = 200
"""Mistakes told of one file; a file with more is beyond repair line by line."""

UNPRINTABLE = re.compile("[\x00-\x1f\x7f-\x9f\u2028-\u202e\u2066-\u2069\ud800-\udfff\ufeff\ufffe\uffff]")
"""Control characters and marks that turn text round: never shown, and refused in files."""


@dataclass(frozen=True, slots=True)
class Mistake:
    """One mistake. `line` and `column` count from 1; line 0 means the file as a whole.

    `where` is a path by id, such as `checks[tyres].limits.pressure_below`; entries without an id
    are numbered from 1.
    """

    path: Path | str
    line: int
    column: int
    where: str
    found: str
    expected: str
    hint: str = ""

    def __str__(self) -> str:
        place = f"{self.path}:{self.line}:{self.column}" if self.line else f"{self.path}"
        text = f"{place}: {self.where}: found {self.found}, expected {self.expected}"
        return UNPRINTABLE.sub("?", f"{text}. {self.hint}" if self.hint else text)


class FileMistakes(Exception):
    """A file cannot be used; carries all its mistakes, and those of the files it includes."""

    def __init__(self, mistakes: Iterable[Mistake]) -> None:
        self.mistakes: tuple[Mistake, ...] = tuple(mistakes)
        super().__init__("\n".join(map(str, self.mistakes)))


def shown(text: str, most: int = 60) -> str:
    """Text from a file in quotes, shortened, safe to print on one line."""
    return f"'{shortened(text, most)}'"


def shortened(text: str, most: int = 60) -> str:
    """Text from a file, made short and safe to print on one line."""
    clean = UNPRINTABLE.sub("?", text)
    return clean if len(clean) <= most else clean[: most - 3] + "..."


def listed(names: Iterable[str]) -> str:
    """Names in a row, or a word for none."""
    return ", ".join(names) or "none"


def one_of(names: Iterable[str], what: str) -> str:
    """What is expected of a reference, in words also where there is nothing to refer to."""
    there = ", ".join(names)
    return f"one of {there}" if there else f"a {what}, but there is none yet"


def near(word: str, known: Iterable[str]) -> str:
    """A hint that names the nearest known word, or an empty string."""
    close = get_close_matches(word[:100], list(known), n=1)
    return f"Did you mean '{close[0]}'?" if close else ""

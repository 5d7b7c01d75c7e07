"""Small limits of invented kinds of check, and a way to lint as the tests need it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Literal

from msgspec import Struct

from readiness.checklist.files import Mistake, lint
from readiness.job import Kilopascal, Lux, Slope

FILES = Path(__file__).parent / "files"
GOOD = FILES / "good"
BAD = FILES / "bad"


class TyreLimits(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    pressure_below: Kilopascal
    pressure_above: Kilopascal
    steepest: Slope | None = None
    same_size: bool = True


class LightLimits(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    least: Lux
    most: Lux | None = None

    def __post_init__(self) -> None:
        if self.most is not None and self.most <= self.least:
            raise ValueError("The most light must be above the least.")


class ClosedLimits(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    doors: Literal["open", "shut"] = "shut"


class Item(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    key: str
    least: str


class ItemLimits(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    items: tuple[Item, ...]
    word: str = ""

    def problems(self) -> Iterator[tuple[str, str, str]]:
        for n, item in enumerate(self.items, 1):
            if not item.least.endswith("V"):
                yield f"items[{n}].least", f"'{item.least}'", "a voltage"
        if self.word == "bad":
            yield "word", "'bad'", "another word"


LIMITS = {"items": ItemLimits, "tyres": TyreLimits, "light": LightLimits, "closed": ClosedLimits}


def linted(*paths: Path) -> list[Mistake]:
    return lint(paths, LIMITS, [GOOD])


def told(mistake: Mistake) -> str:
    """'line:column where: found ...' without the path."""
    place = f":{mistake.line}:{mistake.column}" if mistake.line else ""
    return f"{mistake.line}:{mistake.column} " + str(mistake).removeprefix(f"{mistake.path}{place}: ")

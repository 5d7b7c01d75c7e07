"""From a path to one of the shop's structures, or all that is wrong with the file."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Generic, TypeVar

from readiness import job
from readiness.checklist.measured import in_bay_axes
from readiness.checklist.mistakes import FileMistakes, Mistake, listed, near, shown
from readiness.checklist.nodes import Entries, Node, read
from readiness.checklist.origin import in_car_axes
from readiness.checklist.rules import RULES, TEXTS
from readiness.checklist.spot import Spot
from readiness.checklist.walk import Walker

KINDS_OF_FILE = {
    "checklist": "a checklist",
    "part": "a common part of checklists",
    "shop": "a shop",
    "instruments": "the instruments of a shop",
    "bay": "a bay",
    "sheet": "a sheet",
    "survey": "a survey of a bay",
    "answers": "the answers of a job",
}
"""The first key of a file says what it is."""

MOST_FILES = 5_000
ENDINGS = (".yaml", ".yml")

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Loaded(Generic[T]):
    """What a file says, and the tree it was read from for later questions about places."""

    value: T
    spot: Spot


def kind_of(node: Node) -> str | None:
    """The kind of file a tree is of, None when its first key is none of KINDS_OF_FILE."""
    if isinstance(node, Entries) and node.entries and node.entries[0][0].text in KINDS_OF_FILE:
        return node.entries[0][0].text
    return None


def opened(path: Path, kind: str) -> Spot:
    """The tree of a file that must be of this kind. Raises FileMistakes."""
    spot = Spot(read(path), "", path, [])
    found = kind_of(spot.node)
    if found != kind:
        note_kind(spot, f"{KINDS_OF_FILE[kind]}, with '{kind}:' as the first key")
        raise FileMistakes(spot.mistakes)
    return spot


def note_kind(spot: Spot, expected: str = "") -> None:
    """Note that a file is not of the wanted kind, or of none."""
    kind = kind_of(spot.node)
    expected = expected or f"one of {listed(KINDS_OF_FILE)} as the first key"
    if not isinstance(spot.node, Entries) or not spot.node.entries:
        spot.wrong("no keys and values", expected)
        return
    first = spot.node.entries[0][0]
    found = KINDS_OF_FILE[kind] if kind else f"the first key {shown(first.text)}"
    spot.on(first).wrong(found, expected, "" if kind else near(first.text, KINDS_OF_FILE))


def load(path: Path, kind: str, type_: type[T]) -> Loaded[T]:
    """A file of one of the shop's own kinds. Raises FileMistakes with all its mistakes."""
    loaded = load_even_so(path, kind, type_)
    if loaded.spot.mistakes:
        raise FileMistakes(in_order(loaded.spot.mistakes))
    return loaded


def load_even_so(path: Path, kind: str, type_: type[T]) -> Loaded[T]:
    """The same with the mistakes left in `spot.mistakes`; then `value` may be INVALID.

    What a file says of others can be judged even where something else in it is wrong. The targets of a sheet
    come in car axes, the things of a bay in bay axes, whatever their lengths count from in the file.
    Raises FileMistakes only for a file that is no YAML of this kind.
    """
    return decoded(opened(path, kind), type_)


def decoded(spot: Spot, type_: type[T]) -> Loaded[T]:
    """What the tree of a file says, as `load_even_so` gives it."""
    value: Any = Walker(RULES, texts=TEXTS).decode(spot, type_)
    if isinstance(value, job.Sheet):
        value = in_car_axes(value)
    elif isinstance(value, job.Bay) and not spot.mistakes:
        value = in_bay_axes(value)
    return Loaded(value, spot)


def yaml_files(folder: Path, deep: bool = False) -> Iterator[Path]:
    """YAML files of a folder by name, hidden ones left out; none if there is no such folder.

    Raises OSError for a folder that cannot be read.
    """
    try:
        found = sorted(folder.rglob("*") if deep else folder.iterdir())
    except (FileNotFoundError, NotADirectoryError):
        return
    visible = (p for p in found if not any(part.startswith(".") for part in p.relative_to(folder).parts))
    for count, path in enumerate(p for p in visible if p.suffix in ENDINGS and p.is_file()):
        if count == MOST_FILES:
            return
        yield path


def in_order(mistakes: list[Mistake]) -> list[Mistake]:
    """By file in the order met, then by line and column."""
    files = list(dict.fromkeys(str(m.path) for m in mistakes))
    return sorted(mistakes, key=lambda m: (files.index(str(m.path)), m.line, m.column))


def read_bay(path: Path) -> job.Bay:
    """Raises FileMistakes."""
    return load(path, "bay", job.Bay).value


def read_shop(path: Path) -> job.Shop:
    """Raises FileMistakes."""
    return load(path, "shop", job.Shop).value


def read_instruments(path: Path) -> job.Instruments:
    """Raises FileMistakes."""
    return load(path, "instruments", job.Instruments).value


def read_survey(path: Path) -> job.Survey:
    """A survey in a file of its own. Raises FileMistakes."""
    return load(path, "survey", job.Survey).value


def read_sheet(path: Path) -> job.Sheet:
    """Its `limits` stay a node; `effective_limits` types them. Raises FileMistakes."""
    return load(path, "sheet", job.Sheet).value

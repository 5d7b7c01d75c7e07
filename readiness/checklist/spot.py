"""A place in a file with where it is, where its mistakes go, and what lies below it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from msgspec import Struct

from readiness.checklist.mistakes import MOST_MISTAKES, Mistake, shortened, shown
from readiness.checklist.nodes import Entries, Items, Node, Text, label


class Spot(Struct, frozen=True):
    """A node, what it is called, and where its mistakes go."""

    node: Node
    where: str
    file: Path | str
    mistakes: list[Mistake]

    def wrong(self, found: str, expected: str, hint: str = "") -> None:
        """Note a mistake here."""
        many = len(self.mistakes) - MOST_MISTAKES
        if many == 0:
            found, expected, hint = "still more mistakes", f"the first {MOST_MISTAKES} put right", ""
        if many <= 0:
            place = (self.file, self.node.line, self.node.column, self.where or "file")
            self.mistakes.append(Mistake(*place, found, expected, hint))

    def entries(self) -> Iterator[tuple[Text, Spot]]:
        """Keys and values of a mapping, nothing for other nodes."""
        if isinstance(self.node, Entries):
            for key, value in self.node.entries:
                yield key, self._inner(value, f".{shortened(key.text, 40)}")

    def items(self) -> Iterator[Spot]:
        """Entries of a list, by id where they have one, otherwise numbered from 1."""
        if isinstance(self.node, Items):
            for k, item in enumerate(self.node.items, start=1):
                yield self._inner(item, f"[{label(item) or k}]")

    def at(self, *path: str | int) -> Spot:
        """The value under these keys and list positions (from 0).

        What is not there is pointed at by the nearest thing that holds it, called by its own name.
        """
        spot = self
        for k, step in enumerate(path):
            inner = spot._step(step)
            if inner is None:
                return spot.named(".".join(map(str, path[k:])))
            spot = inner
        return spot

    def _step(self, step: str | int) -> Spot | None:
        if isinstance(step, int):
            return next((s for k, s in enumerate(self.items()) if k == step), None)
        value = self.node.get(step) if isinstance(self.node, Entries) else None
        return None if value is None else self._inner(value, f".{step}")

    def once(self) -> Iterator[tuple[Text, Spot]]:
        """Entries of a mapping; a key that comes again is a mistake and is left out."""
        first: dict[str, Text] = {}
        for key, value in self.entries():
            if key.text in first:
                again = f"the key {shown(key.text)} again, first in line {first[key.text].line}"
                self.on(key).wrong(again, "each key once")
            else:
                first[key.text] = key
                yield key, value

    def has(self, key: str) -> bool:
        return isinstance(self.node, Entries) and self.node.get(key) is not None

    def named(self, key: str) -> Spot:
        """A key that is not there: at this place, called by its name."""
        return Spot(self.node, self._called(f".{key}"), self.file, self.mistakes)

    def called(self, other: Spot) -> Spot:
        """This place under the name of another."""
        return Spot(self.node, other.where, self.file, self.mistakes)

    def on(self, key: Text) -> Spot:
        """The key itself."""
        return self._inner(key, f".{shortened(key.text, 40)}")

    @property
    def text(self) -> str:
        """The text of a scalar, empty for other nodes."""
        return self.node.text if isinstance(self.node, Text) else ""

    def _inner(self, node: Node, suffix: str) -> Spot:
        return Spot(node, self._called(suffix), self.file, self.mistakes)

    def _called(self, suffix: str) -> str:
        return (self.where + suffix).removeprefix(".")

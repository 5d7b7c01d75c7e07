"""What was answered so far: the tree of the sheet's file, its leaves the texts that will stand there.

An answer has a key, its path in the tree: 'placard.pressure.front', 'targets.0.feet.2.x'. Keys with '#' are
never part of the file's data: '#why' and '#page' become comments, '#shape' and '#way' say which of several
forms is being filled in.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from copy import deepcopy
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from readiness.checklist.nodes import Entries, Items, Node
from readiness.checklist.shapes import ZONE_SHAPES
from readiness.checklist.walk import nothing

Tree = dict[str, Any]
FOREIGN = "#"
"""What a key begins with that is not of the file's data."""
PAGES = "#pages"


class Draft(Struct, frozen=True, kw_only=True):
    """A sheet as far as it is answered. Changing it gives another one, so that undoing is going back to the one before."""

    tree: dict[str, Any] = {}
    started_from: str = ""
    """Id of the sheet that it was copied from."""
    accepted: tuple[str, ...] = ()
    """Doubts that the person has looked at and let stand, in their words."""

    def get(self, key: str) -> str:
        """The answer under a key, empty if there is none; a list of words as one text."""
        found = at(self.tree, key)
        if isinstance(found, list) and all(isinstance(f, str) for f in found):
            return ", ".join(found)
        return found if isinstance(found, str) else ""

    def count(self, key: str) -> int:
        """Entries of the list under a key."""
        found = at(self.tree, key)
        return len(found) if isinstance(found, list) else 0

    def put(self, key: str, text: str) -> Draft:
        """With this answer. The next number of a list begins an entry; a chosen form drops the other forms' answers."""
        tree = deepcopy(self.tree)
        holder, last = _holder(tree, key)
        holder[last] = _words(text) if last == "sees" else text
        if last == "#shape":
            for shape in ZONE_SHAPES:
                holder.pop(shape, None)
        elif last == "#way":
            for way in ("low", "high", "within", "message"):
                holder.pop(way, None)
        return replace(self, tree=tree)

    def put_tree(self, key: str, value: Any) -> Draft:
        """With a whole branch."""
        tree = deepcopy(self.tree)
        holder, last = _holder(tree, key)
        holder[last] = deepcopy(value)
        return replace(self, tree=tree)

    def drop(self, key: str) -> Draft:
        """Without this answer or entry; what holds nothing any more goes with it."""
        tree = deepcopy(self.tree)
        _drop(tree, _steps(key))
        return replace(self, tree=tree)

    def accept(self, words: str) -> Draft:
        return replace(self, accepted=(*self.accepted, words))


def at(tree: Any, key: str) -> Any:
    """What stands under a key, None if nothing does."""
    for step in _steps(key):
        if isinstance(step, int):
            tree = tree[step] if isinstance(tree, list) and step < len(tree) else None
        else:
            tree = tree.get(step) if isinstance(tree, dict) else None
    return tree


def leaves(tree: Any, before: str = "") -> Iterator[tuple[str, str]]:
    """Keys and texts of all answers, in the order of the tree."""
    if isinstance(tree, str):
        yield before, tree
        return
    entries = tree.items() if isinstance(tree, dict) else enumerate(tree)
    for step, below in entries:
        yield from leaves(below, f"{before}.{step}" if before else str(step))


def _steps(key: str) -> list[str | int]:
    return [int(part) if part.isdecimal() else part for part in key.split(".")]


def _words(text: str) -> list[str]:
    return [word.strip() for word in text.split(",") if word.strip()]


def _holder(tree: Any, key: str) -> tuple[Any, Any]:
    """The mapping or list that holds the last step of a key, made where it is not there yet, and that step."""
    steps = _steps(key)
    for step, following in itertools.pairwise(steps):
        new: Any = [] if isinstance(following, int) else {}
        if isinstance(step, int):
            if step == len(tree):
                tree.append(new)
            tree = tree[step]
        else:
            tree = tree.setdefault(step, new)
    return tree, steps[-1]


def _drop(tree: Any, steps: list[str | int]) -> None:
    step, rest = steps[0], steps[1:]
    there = step < len(tree) if isinstance(step, int) else step in tree
    if not there:
        return
    if rest:
        _drop(tree[step], rest)
    if not rest or not tree[step]:
        del tree[step]


# --- from a sheet that there is ------------------------------------------------------------------


def tree_of(node: Node) -> Any:
    """The tree of a sheet's file; what was left empty is not there."""
    if isinstance(node, Entries):
        found = {key.text: tree_of(value) for key, value in node.entries if not nothing(value)}
        return {key: value for key, value in found.items() if value not in ({}, [])}
    if isinstance(node, Items):
        return [tree_of(item) for item in node.items]
    return node.text


def started_from(node: Node, id_: str = "") -> Draft:
    """A draft filled in from a sheet's file. The day on which it was compared with the document is not taken over."""
    tree: Tree = tree_of(node)
    known = tree.get("sheet", "")
    tree["sheet"] = id_ or known
    if isinstance(tree.get("document"), dict):
        tree["document"].pop("checked", None)
    for zone in tree.get("zones", ()):
        zone["#shape"] = next((shape for shape in ZONE_SHAPES if shape in zone), "")
    for result in tree.get("results", ()):
        result["#way"] = way_of(result)
    return Draft(tree=tree, started_from=known)


def way_of(result: Tree) -> str:
    """How a result says what is good."""
    return next((way for way in ("message", "within") if way in result), "range")

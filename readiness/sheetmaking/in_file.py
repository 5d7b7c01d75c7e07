"""From the draft to the tree that is written: what is not finished left out or stood in for, lengths from the sensor turned into car axes."""

from __future__ import annotations

import re
from copy import deepcopy
from typing import Any

from readiness.checklist.nodes import Entries, Items, Node
from readiness.checklist.shapes import FEWEST_CORNERS
from readiness.sheetmaking.asking import Known
from readiness.sheetmaking.draft import Draft, Tree, at
from readiness.sheetmaking.from_sensor import OPEN, in_car_axes
from readiness.sheetmaking.questions import open_of, sections

OWN = "#key"
"""Under it an entry of a list says which of the draft's it is, since others before it may be left out."""
STAND_INS: Tree = {
    "sheet": "unnamed", "title": "not named yet", "car": "not named yet", "powertrain": "petrol",
    "checklist": "not chosen yet", "document": {"reference": "not named yet"},
    "placard": {"size": {"front": "205/55 R16", "rear": "205/55 R16"}, "pressure": {"front": "230 kPa", "rear": "230 kPa"}},
    "dimensions": {"wheelbase": "2.6 m", "track_front": "1.5 m", "track_rear": "1.5 m", "length": "4.2 m", "width": "1.8 m",
                   "front_overhang": "0.8 m"},
    "fuel": {"kind": "none", "tank": "50 L", "tank_at": "0 m", "level": "1/1"},
    "marks": {"front": "3.4 m", "rear": "-0.8 m"},
    "ride_heights": {"front": "650 mm", "rear": "650 mm"}, "axle_loads": {"rear": "700 kg"}, "springs": {"rear": "25 N/mm"},
}  # fmt: skip
"""What stands where nothing is answered yet, so that the rest can be looked at; never shown, never written."""
_ENTRY = re.compile(r"(.*\.\d+)\.[^.]+(?:\..*)?")


def in_file(draft: Draft) -> Tree:
    """The tree as it is written once everything is answered."""
    tree = _numbered(draft.tree)
    for n, target in enumerate(tree.get("targets", ())):
        tree["targets"][n] = in_car_axes(target, tree.get("sensors", ()))
    return tree


def meanwhile(draft: Draft, known: Known) -> tuple[Tree, frozenset[str]]:
    """The tree with all that is answered; and the keys under which something stands in for an answer.

    Entries of lists that are not whole yet are left out.
    """
    stood_in: set[str] = set()
    for section in sections(draft, known):
        for asked in open_of(draft, section):
            entry = _entry(draft, asked.key)
            if entry:
                draft = draft.put_tree(f"{entry}.{OPEN}", "yes")
            elif (text := at(STAND_INS, asked.key)) is not None:
                draft = draft.put(asked.key, text)
                stood_in.add(asked.key)
    tree = in_file(draft)
    _without_open(tree)
    return tree, frozenset(stood_in)


def _entry(draft: Draft, key: str) -> str:
    """The innermost entry of a list that holds this key and is there; empty if none does."""
    while found := _ENTRY.fullmatch(key):
        key = found[1]
        if isinstance(at(draft.tree, key), dict):
            return key
        key = key.rpartition(".")[0]
    return ""


def _without_open(tree: Any) -> None:
    if isinstance(tree, dict):
        for value in list(tree.values()):
            _without_open(value)
        for key in [k for k, v in tree.items() if isinstance(v, list) and not v]:
            del tree[key]
    elif isinstance(tree, list):
        for value in tree:
            _without_open(value)
        tree[:] = [v for v in tree if not (isinstance(v, dict) and (OPEN in v or _too_few(v)))]


def _too_few(zone: Tree) -> bool:
    """Whether a zone has fewer corners so far than make a shape."""
    return zone.get("#shape") == "polygon" and len(zone.get("polygon", ())) < FEWEST_CORNERS


def _numbered(tree: Tree) -> Tree:
    """A copy whose entries know which they are."""
    tree = deepcopy(tree)

    def number(value: Any, key: str) -> None:
        below = value.items() if isinstance(value, dict) else enumerate(value)
        for step, inner in list(below):
            here = f"{key}.{step}".removeprefix(".")
            if isinstance(inner, dict | list):
                number(inner, here)
            if isinstance(inner, dict) and isinstance(value, list):
                inner[OWN] = here

    number(tree, "")
    return tree


# --- from places in the text back to keys --------------------------------------------------------


def keys_of(node: Node, tree: Tree) -> dict[tuple[int, int], str]:
    """Line and column of every value in the text that was written of a tree -> its key in the draft."""
    found: dict[tuple[int, int], str] = {}

    def walk(node: Node, tree: Any, key: str) -> None:
        found.setdefault((node.line, node.column), key)
        if isinstance(node, Entries) and isinstance(tree, dict):
            for name, value in node.entries:
                walk(value, tree.get(name.text), f"{key}.{name.text}".removeprefix("."))
        elif isinstance(node, Items) and isinstance(tree, list):
            for n, (value, inner) in enumerate(zip(node.items, tree, strict=False)):
                own = inner.get(OWN, "") if isinstance(inner, dict) else ""
                walk(value, inner, own or f"{key}.{n}")

    walk(node, tree, "")
    return found

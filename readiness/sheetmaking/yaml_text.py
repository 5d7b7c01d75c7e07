"""The tree of a sheet as the YAML that a person would write: in the usual order, each block under a line that says what it is."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from readiness.sheetmaking.draft import FOREIGN, PAGES, Tree

ORDER = (
    "sheet", "title", "car", "powertrain", "checklist", "document", "placard", "dimensions", "fuel", "load",
    "ride_heights", "axle_loads", "springs", "self_levelling", "marks", "refers_to", "sensors", "targets", "zones",
    "results", "limits", "note",
)  # fmt: skip
"""Of the blocks of a sheet; what is not in it comes last."""
INNER = (
    "id", "key", "label", "name", "reference", "issued", "checked", "kind", "size", "pressure", "wheelbase",
    "track_front", "track_rear", "length", "width", "front_overhang", "mass", "tank", "tank_at", "level",
    "carried", "stations", "front", "rear", "reason", "along", "across", "at", "from", "tolerance", "sees",
    "azimuth", "elevation", "front_mark", "rear_mark", "x", "y", "z", "corner", "opposite", "start", "end",
    "radius", "half_width", "feet", "tape", "stand", "disc", "sector", "rectangle", "corridor", "polygon",
    "to", "low", "high", "height", "within", "message", "side",
)  # fmt: skip
HEAD = "Lengths along the car count from the middle of the rear axle, forward positive; across, left is positive."
ABOUT = {
    "document": "The vehicle maker's procedure from which every number below comes.",
    "placard": "Tyre sizes and cold pressures, for the load that the procedure asks for.",
    "dimensions": "The car; front_overhang is from the front axle to the foremost point.",
    "fuel": "tank_at is the middle of the tank, level what the procedure asks for.",
    "load": "What belongs in the car, and where ballast can go; x from the rear axle, forward positive.",
    "ride_heights": "At the wheels, in the procedure's load state.",
    "axle_loads": "What each axle carries in that load state.",
    "springs": "Rate of the suspension at one wheel.",
    "self_levelling": "Suspension that sets its own height: none, rear or all.",
    "marks": "x of the front and rear centre marks.",
    "refers_to": "What the directions of the procedure count from: marks or thrust_line.",
    "sensors": "Where the sensors are, and how far off they may see their target, either way.",
    "targets": "The middle of each target, and where its stand touches the floor.",
    "zones": "What must be clear, and of what.",
    "results": "What the procedure calls a good result.",
    "limits": "Limits of the procedure that replace the checklist's.",
}
"""What each block is, in one line."""
PART_OF = {
    "document": "document", "placard": "car", "dimensions": "car", "fuel": "load", "load": "load",
    "ride_heights": "stance", "axle_loads": "stance", "springs": "stance", "self_levelling": "stance",
    "marks": "stance", "refers_to": "stance", "sensors": "sensors", "targets": "targets", "zones": "zones",
    "results": "results", "limits": "limits",
}  # fmt: skip
"""Block of the file -> the part of the questions in which its page of the document is asked for."""
FLAT = ("marks", "axle_loads", "springs")
"""Blocks that stand in one line."""
WIDEST = 100
_PLAIN = re.compile(r"(?:\w|[+-](?=[\w.]))(?:[^#:]|:(?! |$)|(?<! )#)*")
_OF_FLOW = re.compile(r"[,\[\]{}]|:\S")
"""What would end a plain text inside brackets, or may be read as more than text there."""
_NOT_TEXT = {"", "~", "null"}


def yaml_text(tree: Tree) -> str:
    """The file. Only leaves that are texts, and holders of such, are written."""
    lines: list[str] = [f"# {HEAD}"]
    pages = tree.get(PAGES, {})
    for key in _in_order(tree, ORDER):
        value = tree[key]
        about = [f"# {_one_line(words)}" for words in _about(key, pages.get(PART_OF.get(key, ""), ""), tree)]
        lines += ["", *about] if about and lines else about
        if key in FLAT or not isinstance(value, dict):
            lines += _entry(key, value, "")
        else:
            lines.append(f"{scalar(key)}:")
            lines += _block(value, "  ")
    return "".join(f"{line}\n" for line in lines)


def _about(key: str, page: str, tree: Tree) -> Iterator[str]:
    if key not in ABOUT:
        return
    found = tree.get("#found", "") if key == "document" else ""
    words = [
        ABOUT[key],
        f"Where it is found: {found}." if found else "",
        f"Document: {page}." if page else "",
    ]
    yield " ".join(filter(None, words))


def _one_line(words: str) -> str:
    return " ".join("".join(c if c.isprintable() else " " for c in words).split())


def _in_order(tree: Tree, order: tuple[str, ...]) -> list[str]:
    there = [key for key in tree if not key.startswith(FOREIGN)]
    return sorted(there, key=lambda key: order.index(key) if key in order else len(order))


def _block(tree: Tree, indent: str) -> list[str]:
    return [line for key in _in_order(tree, INNER) for line in _entry(key, tree[key], indent)]


def _entry(key: str, value: Any, indent: str) -> list[str]:
    """A key with its value: in one line where it fits and holds no lists of mappings."""
    front = f"{indent}{scalar(key)}:"
    if isinstance(value, str):
        return [f"{front} {scalar(value)}"]
    flat = f"{front} {_flow(value)}"
    if _shallow(value) and len(flat) <= WIDEST:
        return [flat]
    if isinstance(value, dict):
        return [front, *_block(value, f"{indent}  ")]
    return [front, *(line for item in value for line in _item(item, f"{indent}  "))]


def _item(item: Any, indent: str) -> list[str]:
    """An entry of a list, its reason on a line above it."""
    why = item.get("#why", "") if isinstance(item, dict) else ""
    lines = [f"{indent}# {_one_line(why)}"] if why.strip() else []
    flat = f"{indent}- {_flow(item)}"
    if not isinstance(item, dict) or ("id" not in item and _shallow(item) and len(flat) <= WIDEST):
        return [*lines, flat]
    block = _block(item, f"{indent}  ")
    return [*lines, f"{indent}- {block[0].lstrip()}", *block[1:]] if block else [*lines, f"{indent}- {{}}"]


def _shallow(value: Any) -> bool:
    """Whether it holds texts only; such a mapping or list reads well in one line."""
    below = value.values() if isinstance(value, dict) else value
    return all(isinstance(v, str) for v in below)


def _flow(value: Any) -> str:
    if isinstance(value, str):
        return scalar(value, in_flow=True)
    if isinstance(value, dict):
        return (
            "{"
            + ", ".join(f"{scalar(k, in_flow=True)}: {_flow(value[k])}" for k in _in_order(value, INNER))
            + "}"
        )
    return "[" + ", ".join(map(_flow, value)) + "]"


def scalar(text: str, *, in_flow: bool = False) -> str:
    """A text as it stands in YAML: in quotes where it could be read as anything else."""
    plain = _PLAIN.fullmatch(text) and text == text.strip() and text.lower() not in _NOT_TEXT
    if plain and not text.startswith("---") and not (in_flow and _OF_FLOW.search(text)):
        return text
    return "'" + text.replace("'", "''") + "'"

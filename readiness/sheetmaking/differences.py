"""What differs between two sheets, in words, grouped as a sheet is. Real differences only: 230 kPa is 2.3 bar."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any, get_type_hints

from msgspec import Struct
from msgspec.structs import fields

from readiness import units
from readiness.checklist.describe import unit_of_field
from readiness.checklist.nodes import Node
from readiness.job import Place, Point, Sheet, System, Target, Zone
from readiness.sheetmaking.draft import tree_of
from readiness.sheetmaking.telling import (
    KINDS,
    NOTHING,
    Told,
    apart,
    changed,
    moved,
    name_of,
    place_words,
    same_number,
    vector,
)
from readiness.sheetmaking.telling_zones import same_vector, zone_differs

GROUPS: dict[str, tuple[str, ...]] = {
    "Sheet": ("sheet", "title", "checklist", "note"),
    "Document": ("document",),
    "Car": ("car", "powertrain", "dimensions"),
    "Placard": ("placard",),
    "Fuel and load": ("fuel", "load", "axle_loads"),
    "Stance and marks": ("ride_heights", "springs", "self_levelling", "marks", "refers_to"),
    "Sensors": ("sensors",),
    "Targets": ("targets",),
    "Keep clear": ("zones",),
    "Results": ("results",),
    "Limits": ("limits",),
}
"""Every field of a sheet under its heading."""


@dataclass(frozen=True, slots=True)
class Group:
    title: str
    told: tuple[Told, ...]


def differences(was: Sheet, now: Sheet, system: System = "metric") -> tuple[Group, ...]:
    """Only groups in which something differs; none where both say the same."""
    hints = get_type_hints(Sheet, include_extras=True)
    found = []
    for title, names in GROUPS.items():
        told = [t for n in names for t in _differs(n, getattr(was, n), getattr(now, n), hints[n], system)]
        if told:
            found.append(Group(title, tuple(told)))
    return tuple(found)


def in_words(groups: tuple[Group, ...]) -> list[str]:
    """Lines for a person to read."""
    if not groups:
        return ["Both say the same."]
    lines = [line for g in groups for line in (g.title, *(f"  {t.words}" for t in g.told), "")]
    return [*lines, "Same otherwise."]


def as_dict(groups: tuple[Group, ...]) -> dict[str, Any]:
    """The same for programs."""
    told = [
        {"group": g.title, "field": t.key, "words": t.words, "was": t.was, "now": t.now}
        for g in groups
        for t in g.told
    ]
    return {"same": not told, "differences": told}


# --- by what a value is --------------------------------------------------------------------------


def _differs(key: str, a: Any, b: Any, hint: Any, system: System) -> Iterator[Told]:
    if key == "limits":
        yield from _trees(key, _tree(a), _tree(b), system)
    elif isinstance(a, tuple) and isinstance(b, tuple):
        yield from _lists(key, a, b, system)
    elif isinstance(a, Struct) and isinstance(b, Struct):
        yield from _structures(key, a, b, system)
    elif a is None or b is None:
        if a is not b:
            yield changed(key, _shown(a, hint, system), _shown(b, hint, system))
    else:
        yield from _leaves(key, a, b, hint, system)


def _leaves(key: str, a: Any, b: Any, hint: Any, system: System) -> Iterator[Told]:
    unit = unit_of_field(hint)
    if unit and isinstance(a, float | int) and isinstance(b, float | int):
        if not same_number(a, b):
            yield changed(key, *apart(a, b, unit, system))
    elif isinstance(a, str) and isinstance(b, str) and key.startswith("results."):
        yield from _texts(key, a, b, system)
    elif a != b:
        yield changed(key, _shown(a, hint, system), _shown(b, hint, system))


def _structures(key: str, a: Struct, b: Struct, system: System) -> Iterator[Told]:
    if isinstance(a, Zone) and isinstance(b, Zone):
        yield from zone_differs(key, a, b, system)
    elif isinstance(a, Target) and isinstance(b, Target):
        yield from _targets(key, a, b, system)
    elif isinstance(a, Point | Place) and isinstance(b, Point | Place):
        yield from moved(key.removesuffix(".at"), a, b, system)
    else:
        yield from _fields(key, a, b, system)


def _fields(key: str, a: Struct, b: Struct, system: System, but: tuple[str, ...] = ()) -> Iterator[Told]:
    hints = get_type_hints(type(a), include_extras=True)
    for f in fields(a):
        if f.name not in but:
            inner = (getattr(a, f.name), getattr(b, f.name))
            yield from _differs(f"{key}.{f.encode_name}", *inner, hints[f.name], system)


def _targets(key: str, a: Target, b: Target, system: System) -> Iterator[Told]:
    """A stand that moved as its target did is told with it."""
    by = vector(Point(x=a.at.x, y=a.at.y), Point(x=b.at.x, y=b.at.y))
    feet = [vector(p, q) for p, q in zip(a.feet, b.feet, strict=False)]
    along = len(a.feet) == len(b.feet) and any(by) and all(same_vector(v, by) for v in feet)
    yield from moved(key, a.at, b.at, system, " with its stand" if along and feet else "")
    if not along:
        if len(a.feet) != len(b.feet):
            yield changed(f"{key}.feet", str(len(a.feet)), str(len(b.feet)))
        for n, (p, q) in enumerate(zip(a.feet, b.feet, strict=False), 1):
            yield from moved(f"{key}.foot {n}", p, q, system)
    yield from _fields(key, a, b, system, but=("at", "feet"))


# --- lists ---------------------------------------------------------------------------------------


def _lists(key: str, a: tuple[Any, ...], b: tuple[Any, ...], system: System) -> Iterator[Told]:
    """Entries with a name are matched by it; lists of words are one answer."""
    if not any(isinstance(item, Struct) for item in (*a, *b)):
        if a != b:
            yield changed(key, *(", ".join(map(str, v)) or NOTHING for v in (a, b)))
        return
    one, other = _named(a), _named(b)
    for name in (*one, *(n for n in other if n not in one)):
        inner = f"{key}.{name}"
        if name in one and name in other:
            yield from _differs(inner, one[name], other[name], None, system)
        else:
            words = "new" if name in other else "not there any more"
            was, now = (NOTHING, name) if name in other else (name, NOTHING)
            yield Told(inner, f"{name_of(inner)}: {words}", was, now)
    if list(one) != list(other) and set(one) == set(other):
        was, now = (", ".join(names) for names in (one, other))
        yield Told(key, f"{KINDS.get(key, key)}s: in another order, {now}, was {was}", was, now)


def _named(items: tuple[Any, ...]) -> dict[str, Any]:
    """By id, name or key; two of one name, such as a result of each side, by what tells them apart too."""
    found: dict[str, Any] = {}
    for item in items:
        name = str(getattr(item, "id", "") or getattr(item, "name", "") or getattr(item, "key", ""))
        side = getattr(item, "side", None)
        name = f"{name} ({side})" if side else name
        while name in found:
            name += "'"
        found[name] = item
    return found


# --- texts with a unit, and limits, whose types the checklist knows ------------------------------


def _texts(key: str, a: str, b: str, system: System) -> Iterator[Told]:
    if a == b:
        return
    found = _quantities(a, b)
    if found is None:
        yield changed(key, a, b)
    elif not same_number(found[1], found[2]):
        yield changed(key, *apart(found[1], found[2], found[0], system))


def _quantities(a: str, b: str) -> tuple[str, float, float] | None:
    """Both as quantities of one unit; None where they are of two kinds, or words."""
    for first in (a, b):  # '15 cm' is kept in mm, '0.15 m' in m
        try:
            unit = units.unit_of(first)
            return unit, units.parse_written(a, unit), units.parse_written(b, unit)
        except units.UnitsError:
            continue
    return None


def _tree(limits: Any) -> Any:
    node: Node | None = limits
    return {} if node is None else tree_of(node)


def _trees(key: str, a: Any, b: Any, system: System) -> Iterator[Told]:
    if isinstance(a, str) and isinstance(b, str):
        yield from _texts(key, a, b, system)
    elif isinstance(a, dict | list) and isinstance(b, dict | list):
        one, other = _below(a), _below(b)
        for name in (*one, *(n for n in other if n not in one)):
            inner = f"{key}.{name}"
            if name in one and name in other:
                yield from _trees(inner, one[name], other[name], system)
            else:
                for told in _only(inner, one.get(name, other.get(name)), name in other):
                    yield changed(told[0], *told[1])
    else:
        yield changed(key, _flat(a), _flat(b))


def _below(tree: Any) -> Mapping[str, Any]:
    if isinstance(tree, dict):
        return tree
    found: dict[str, Any] = {}
    for n, item in enumerate(tree, 1):
        name = item.get("key") or item.get("name") if isinstance(item, dict) else None
        found[f"{name if isinstance(name, str) and name not in found else n}"] = item
    return found


def _only(key: str, tree: Any, is_new: bool) -> Iterator[tuple[str, tuple[str, str]]]:
    """Limits of one of the sheets; in the other the checklist's hold."""
    if isinstance(tree, dict):
        for name, below in tree.items():
            yield from _only(f"{key}.{name}", below, is_new)
    else:
        there = _flat(tree)
        yield key, ("the checklist's", there) if is_new else (there, "the checklist's")


def _flat(tree: Any) -> str:
    if isinstance(tree, dict):
        return ", ".join(f"{k}: {_flat(v)}" for k, v in tree.items()) or NOTHING
    return ", ".join(map(_flat, tree)) or NOTHING if isinstance(tree, list) else str(tree)


def _shown(value: Any, hint: Any, system: System) -> str:
    """A value that the other sheet does not have, or a word."""
    if value is None or value == "":
        return NOTHING
    unit = unit_of_field(hint)
    if unit and isinstance(value, float | int):
        return units.show(value, unit, system)
    if isinstance(value, Point | Place):
        return place_words(value, system)
    if isinstance(value, Struct):
        hints = get_type_hints(type(value), include_extras=True)
        inner = ((f.encode_name, getattr(value, f.name), hints[f.name]) for f in fields(value))
        return ", ".join(
            f"{n.replace('_', ' ')} {_shown(v, h, system)}" for n, v, h in inner if v is not None
        )
    return value.isoformat() if isinstance(value, date) else str(value).replace("_", " ")

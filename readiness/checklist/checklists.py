"""Reading a checklist: common parts taken in, limits typed by kind, steps and checks agreeing."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from functools import lru_cache
from pathlib import Path
from typing import Any

from msgspec import Struct
from msgspec.structs import fields, replace

from readiness.checklist.agreement import ALL_STEPS, Part, agree
from readiness.checklist.load import Loaded, in_order, opened
from readiness.checklist.mistakes import FileMistakes, listed, near, shown
from readiness.checklist.model import Check, Checklist, CommonPart, Step
from readiness.checklist.nodes import Entries, Text, bytes_of
from readiness.checklist.rules import good_id, not_blank, unique
from readiness.checklist.spot import Spot
from readiness.checklist.walk import INVALID, Rules, Texts, Walker
from readiness.job import VOID_EVENTS, Sheet

MOST_PARTS = 32
"""Common parts that one checklist may include."""

_STEP = re.compile(r"\[(\d+)\]|(\w+)")
"""A step of a field path such as `items[2].low`, entries numbered from 1."""

ALL = "all"
"""The name in `sources` that stands for every limit not named."""


def read_checklist(path: Path, limit_types: Mapping[str, Any], folders: Sequence[Path] = ()) -> Checklist:
    """The checklist with its includes taken in and each check's limits typed by its kind.

    `limit_types` maps a kind of check to the structure of its limits. Includes are relative to the
    file and must lie below one of `folders` (without any: the folder of the checklist).
    Raises FileMistakes with the mistakes of the checklist and of its parts.
    """
    return load_checklist(path, limit_types, folders).value


def load_checklist(
    path: Path, limit_types: Mapping[str, Any], folders: Sequence[Path] = ()
) -> Loaded[Checklist]:
    """As read_checklist, with the tree."""
    spot = opened(path, "checklist")
    listing = _walker(limit_types).decode(spot, Checklist)
    parts = _parts(spot, limit_types, folders or (path.parent,))
    agree(spot, parts)
    if spot.mistakes:
        raise FileMistakes(in_order(spot.mistakes))
    included = tuple(check for part in parts for check in part.checks)
    return Loaded(replace(listing, checks=included + listing.checks), spot)


def load_part(path: Path, limit_types: Mapping[str, Any]) -> Loaded[CommonPart]:
    """A common part by itself. Raises FileMistakes."""
    spot = opened(path, "part")
    part = _walker(limit_types).decode(spot, CommonPart)
    if spot.mistakes:
        raise FileMistakes(in_order(spot.mistakes))
    return Loaded(part, spot)


def effective_limits(
    checklist: Checklist, sheet: Sheet, limit_types: Mapping[str, Any], file: Path | str = "sheet"
) -> Checklist:
    """The checklist with the sheet's limits in place of its own, their source being the sheet.

    `file` is the sheet's path, for messages. Raises FileMistakes.
    """
    if sheet.limits is None:
        return checklist
    spot = Spot(sheet.limits, "limits", file, [])
    result = with_limits(checklist, spot, limit_types, f"sheet {sheet.sheet}: {sheet.document.reference}")
    if spot.mistakes:
        raise FileMistakes(in_order(spot.mistakes))
    return result


def with_limits(
    checklist: Checklist, spot: Spot, limit_types: Mapping[str, Any], source: str = ""
) -> Checklist:
    """The checklist with the limits at a sheet's spot in place; notes the mistakes there."""
    known = {check.id: check for check in checklist.checks}
    if not isinstance(spot.node, Entries):
        spot.wrong("no keys and values", "check id: limit name: value")
    for name, here in spot.once():
        if name.text in known:
            known[name.text] = _overridden(known[name.text], here, limit_types, source)
        else:
            hint = near(name.text, known)
            spot.on(name).wrong(f"no such check, {shown(name.text)}", f"one of {listed(known)}", hint)
    return replace(checklist, checks=tuple(known[check.id] for check in checklist.checks))


def _overridden(check: Check, spot: Spot, limit_types: Mapping[str, Any], source: str) -> Check:
    """The check with some limits replaced; as it was when there are mistakes."""
    before = len(spot.mistakes)
    given = Walker().some_fields(spot, limit_types[check.kind])
    if len(spot.mistakes) > before:
        return check
    try:
        limits = replace(check.limits, **given)
    except ValueError as error:
        spot.wrong("limits that do not agree", "limits that do", str(error))
        return check
    _judge(limits, spot)
    return replace(check, limits=limits, sources=check.sources | dict.fromkeys(given, source))


# --- rules ----------------------------------------------------------------------------------------


def _walker(limit_types: Mapping[str, Any]) -> Walker:
    """Decodes checklists and parts; the limits of a check get their type from its kind."""

    def limits_of(check: Spot, limits: Spot) -> Any:
        kind = check.at("kind")
        if not check.has("kind"):
            return INVALID
        if kind.text not in limit_types:
            kind.wrong(shown(kind.text), f"one of {listed(limit_types)}", near(kind.text, limit_types))
            return INVALID
        if not check.has("limits"):
            empty = Entries((), check.node.line, check.node.column)
            limits = Spot(empty, limits.where, limits.file, limits.mistakes)
        value = plain.decode(limits, limit_types[kind.text])
        if value is not INVALID:
            _judge(value, limits)
        return value

    plain = Walker()
    return Walker(_RULES, limits_of, _TEXTS)


def _judge(limits: Any, spot: Spot) -> None:
    """What the kind itself has to say: its limits' `problems()`, as (field path, found, expected)."""
    problems = getattr(limits, "problems", tuple)
    for path, found, expected in problems():
        steps = (int(n) - 1 if n else word for n, word in _STEP.findall(path))
        spot.at(*steps).wrong(found, expected)


def _check_texts(spot: Spot) -> None:
    good_id(spot.at("id"))
    not_blank(spot, "title", "why", "how", "remedy")
    for key in ("voided_by", "a_fix_is"):
        unique(spot.at(key).items())
        for event in spot.at(key).items():
            if event.text and event.text not in VOID_EVENTS:
                hint = near(event.text, VOID_EVENTS)
                event.wrong(shown(event.text), f"one of {listed(VOID_EVENTS)}", hint)


def _sources(value: Check, spot: Spot) -> None:
    """Each number among the limits has a source, and each source a limit."""
    names = [f.encode_name for f in fields(value.limits)]
    for name, here in spot.at("sources").entries() if value.sources else ():
        if name.text != ALL and name.text not in names:
            hint = near(name.text, names)
            spot.at("sources").on(name).wrong(
                f"no such limit, {shown(name.text)}", f"one of {listed([ALL, *names])}", hint
            )
        elif not here.text.strip():
            here.wrong("nothing", "where the limit comes from")
    if ALL in value.sources:
        return
    for field in fields(value.limits):
        if field.encode_name not in value.sources and _has_number(getattr(value.limits, field.name)):
            place = spot.at("limits", field.encode_name)
            expected = f"where the limit {field.encode_name} comes from, or a source for '{ALL}'"
            place.called(spot.at("sources").named(field.encode_name)).wrong("nothing", expected)


def _has_number(limit: Any) -> bool:
    """Whether a limit sets a number, by itself or in a list of items with written quantities."""
    if isinstance(limit, str):
        return limit.lstrip("+-± ")[:1].isdecimal()
    if isinstance(limit, (int, float)):
        return not isinstance(limit, bool)
    if isinstance(limit, (tuple, list)):
        return any(map(_has_number, limit))
    return isinstance(limit, Struct) and any(_has_number(getattr(limit, f.name)) for f in fields(limit))


def _step(value: Step, spot: Spot) -> None:
    if not value.checks:
        spot.at("checks").wrong("a step without checks", "at least one")


def _part_texts(spot: Spot) -> None:
    good_id(spot.at("part"))
    unique(spot.at("checks").items(), "id")


def _checklist_texts(spot: Spot) -> None:
    good_id(spot.at("checklist"))
    not_blank(spot, "title")
    unique(spot.at("sides").items())
    unique((step for steps in ALL_STEPS for step in spot.at(steps).items()), "id")


def _step_texts(spot: Spot) -> None:
    good_id(spot.at("id"))
    not_blank(spot, "title")


def _sides(value: Checklist, spot: Spot) -> None:
    sides = spot.at("sides")
    if not value.sides:
        sides.wrong("none", "left, right, both, or single")
    elif "single" in value.sides and len(value.sides) > 1:
        sides.wrong("single beside another side", "single alone, or left and right")


_RULES: Rules = {Check: _sources, Step: _step, Checklist: _sides}
_TEXTS: Texts = {
    Check: _check_texts,
    Step: _step_texts,
    CommonPart: _part_texts,
    Checklist: _checklist_texts,
}


# --- includes -------------------------------------------------------------------------------------


def _parts(spot: Spot, limit_types: Mapping[str, Any], folders: Sequence[Path]) -> list[Part]:
    """The parts that the checklist includes; their mistakes go where its own go."""
    asked = list(spot.at("include").items())
    if len(asked) > MOST_PARTS:
        spot.at("include").wrong(f"{len(asked)} common parts", f"at most {MOST_PARTS}")
    parts = []
    taken: set[Path] = set()
    for here in asked[:MOST_PARTS]:
        path = _included(here, folders)
        if path is None:
            parts.append(Part(here))
        elif path.resolve() in taken:
            here.wrong(f"{shown(here.text)} again", "each common part once")
        else:
            taken.add(path.resolve())
            parts.append(_taken_in(here, path, limit_types))
    return parts


def _taken_in(asked: Spot, path: Path, limit_types: Mapping[str, Any]) -> Part:
    try:
        checks = _checks_of(path, bytes_of(path), tuple(limit_types.items()))
    except FileMistakes as error:
        asked.mistakes.extend(error.mistakes)
        return Part(asked)
    return Part(asked, checks)


@lru_cache(maxsize=128)  # most checklists take in the same parts
def _checks_of(path: Path, said: bytes, limit_types: tuple[tuple[str, Any], ...]) -> tuple[Check, ...]:
    """The checks of a part that says just that. Raises FileMistakes."""
    return load_part(path, dict(limit_types)).value.checks


def _included(spot: Spot, folders: Sequence[Path]) -> Path | None:
    """The file that an include means, or None with the mistake noted."""
    if not isinstance(spot.node, Text) or (spot.node.plain and not spot.text):
        return None  # a mistake already
    path = Path(spot.file).parent / spot.text
    try:
        below = "\\" not in spot.text and any(path.resolve().is_relative_to(f.resolve()) for f in folders)
        there = path.is_file()
    except (OSError, ValueError, RuntimeError):
        below = there = False
    if not below:
        spot.wrong(shown(spot.text), "a file below the checklist folder, written with '/'")
        return None
    if not there:
        spot.wrong(f"{shown(spot.text)}, which is not there", "a common part")
        return None
    return path

"""What is asked of the aim's tolerance, of limits that replace the checklist's, and of what a good result is."""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from typing import Any, Literal, get_args, get_origin, get_type_hints

from msgspec import Struct
from msgspec.structs import fields

from readiness import units
from readiness.checklist.describe import unit_of_field
from readiness.checklist.model import Check, Checklist
from readiness.checks.kind import Question
from readiness.checks.words import capital
from readiness.sheetmaking.asked_car import NO_MORE
from readiness.sheetmaking.asked_places import two_sided
from readiness.sheetmaking.asking import (
    Asked,
    Known,
    Section,
    headed,
    id_of,
    name,
    number,
    one_of,
    page,
    plain,
    words,
    yes_no,
)
from readiness.sheetmaking.draft import Draft

SELDOM = ("standing",)
"""Kinds of check about which no procedure says anything; asked last."""
OF_CHECKLIST = "Enter keeps the checklist's"


def aim(draft: Draft, known: Known) -> Section:
    asked: list[Asked] = []
    for n in range(draft.count("sensors")):
        key = f"sensors.{n}.tolerance"
        hint = "either way, from the procedure; Enter if it gives none"
        asked += headed(f"Sensor {draft.get(f'sensors.{n}.id')}", (
            number(f"{key}.azimuth", "Sideways", "deg", hint, optional=True),
            number(f"{key}.elevation", "Up and down", "deg", hint, optional=True),
        ))  # fmt: skip
    asked += plain() if asked else ()
    return Section("aim", "Aim", (*asked, page("aim")) if asked else (), (
        "How far off a sensor may see its target, either way. There is no default: without it the aim is shown and not judged."
    ))  # fmt: skip


def limits(draft: Draft, known: Known) -> Section:
    asked = _of_checklist(known, draft.get("checklist"))
    return Section("limits", "Limits", (*asked, page("limits")) if asked else (), (
        "Beside each stands what the checklist says, which is common practice and no maker's figure. Where the document "
        "gives another, type that; Enter keeps the checklist's. PgDn goes past all that are left."
    ))  # fmt: skip


@lru_cache(maxsize=16)
def _of_checklist(known: Known, name: str) -> tuple[Asked, ...]:
    """They do not depend on any answer, and are many."""
    checklist = known.checklists.get(name)
    checks = sorted(checklist.checks if checklist else (), key=lambda c: c.kind in SELDOM)
    return tuple(a for check in checks for a in headed(check.title, _of_check(known, check)))


def _of_check(known: Known, check: Check) -> Iterator[Asked]:
    if not isinstance(check.limits, Struct):
        return
    key = f"limits.{check.id}"
    hints = get_type_hints(type(check.limits), include_extras=True)
    for f in fields(check.limits):
        value = getattr(check.limits, f.name)
        if isinstance(value, tuple):
            yield from _of_items(known, f"{key}.{f.encode_name}", value)
        else:
            yield from _of_field(known, check, f"{key}.{f.encode_name}", f.name, hints[f.name])


def _of_field(known: Known, check: Check, key: str, field: str, hint: Any) -> Iterator[Asked]:
    """A number, a yes or no, or a word of the limits."""
    value, unit = getattr(check.limits, field), unit_of_field(hint)
    label = capital(field.replace("_", " "))
    said = getattr(check.limits, "WORDS", {}).get(field, "{}")
    if unit:
        stands = "" if value is None else units.show(value, unit, known.system)
        told = said.format(stands or "…")
        yield Asked(number(key, label, unit, f"{told}; {OF_CHECKLIST}", optional=True), stands=stands)
    elif isinstance(value, bool):
        yield Asked(yes_no(key, label, OF_CHECKLIST, optional=True), stands="yes" if value else "no")
    elif isinstance(value, int):
        yield Asked(
            number(key, label, "count", f"{said.format(value)}; {OF_CHECKLIST}", optional=True),
            stands=str(value),
        )
    elif choices := _literals(hint):
        offers = [(c[0], c, c) for c in choices]
        yield Asked(one_of(key, label, offers, OF_CHECKLIST, optional=True), stands=str(value))


def _literals(hint: Any) -> tuple[str, ...]:
    for part in (hint, *get_args(hint)):
        if get_origin(part) is Literal:
            return get_args(part)
    return ()


def _of_items(known: Known, key: str, items: tuple[Any, ...]) -> Iterator[Asked]:
    """Ends of the readings in a list; one that is changed puts the whole list into the sheet."""
    for n, item in enumerate(items):
        measures = getattr(item, "measures", "")
        for end, word in (("low", "at least"), ("high", "at most")):
            text = getattr(item, end, None)
            if text and measures in units.MEASURES:
                unit = units.MEASURES[measures]
                stands = units.show(units.parse_written(text, unit), unit, known.system)
                hint = f"{item.label} {word} {stands}; {OF_CHECKLIST}"
                yield Asked(
                    number(f"{key}.{n}.{end}", f"{item.label}, {word}", unit, hint, optional=True),
                    stands=stands,
                )


def items_of(checklist: Checklist | None, key: str) -> list[dict[str, str]] | None:
    """Of a key below a list of limits: the checklist's list, as it stands in a file; else None."""
    steps = key.split(".")
    if checklist is None or len(steps) < 5 or steps[0] != "limits" or not steps[3].isdecimal():
        return None
    check = next((c for c in checklist.checks if c.id == steps[1]), None)
    items = getattr(check.limits, steps[2], ()) if check else ()
    return [_written(item) for item in items]


def _written(item: Struct) -> dict[str, str]:
    """An item of a list of limits, what is left at its default left out."""
    found = {}
    for f in fields(item):
        value = getattr(item, f.name)
        if value is not None and value != f.default:
            found[f.encode_name] = ("yes" if value else "no") if isinstance(value, bool) else str(value)
    return found


# --- results -------------------------------------------------------------------------------------

WAYS = (
    ("r", "range", "from … to …"), ("w", "within", "the same either way of nought"),
    ("m", "message", "a message that the tester shows"),
)  # fmt: skip
QUANTITY = "with its unit, such as 2.5 °; a count is a plain number"


def results(draft: Draft, known: Known) -> Section:
    asked: list[Asked] = []
    count = draft.count("results")
    for n in range(count):
        asked += headed(f"Result {n + 1}", _result(draft, known, f"results.{n}"))
    label = "Another result" if count else "Result"
    hint = f"what the tester shows at the end, such as Azimuth found; {NO_MORE}"
    asked += headed(label if count else "", [words(f"results.{count}.label", label, hint, optional=True)])
    return Section("results", "Results", (*asked, page("results")), (
        "What the procedure calls a good result: a range of a number that the tester shows, both ends good, or a message. "
        "Without one, the close of a job asks only whether the tester was content."
    ))  # fmt: skip


def _result(draft: Draft, known: Known, key: str) -> list[Question]:
    way = draft.get(f"{key}.#way")
    asked = [
        words(f"{key}.label", "Called"),
        name(
            f"{key}.key",
            "Its name in files",
            "Enter takes the one offered",
            default=id_of(draft.get(f"{key}.label")),
        ),
        one_of(f"{key}.#way", "It is good", WAYS),
    ]
    if way == "range":
        asked += [
            words(
                f"{key}.low",
                "The least",
                f"{QUANTITY}; Enter: no least",
                optional=bool(draft.get(f"{key}.high")),
            ),
            words(
                f"{key}.high",
                "The most",
                f"{QUANTITY}; Enter: no most",
                optional=bool(draft.get(f"{key}.low")),
            ),
        ]
    elif way:
        hint = QUANTITY if way == "within" else "word by word as it is shown"
        asked.append(words(f"{key}.{way}", "Within, either way" if way == "within" else "The message", hint))
    if way and two_sided(draft, known):
        asked.append(one_of(f"{key}.side", "Of one side only", (("l", "left", "left"), ("r", "right", "right")),
                            "Enter: it holds for either side", optional=True))  # fmt: skip
    return asked

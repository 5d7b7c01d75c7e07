"""Single readings against fixed limits: battery voltage, bracket angle, paint thickness, air temperature.

What is read, with which kind of instrument and within which limits is all in the checklist.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import lru_cache

from msgspec import Struct

from readiness import units
from readiness.checks.common import AIR, item_problems
from readiness.checks.kind import Judgement, Part, Question, Scene
from readiness.checks.parts import missing_part, number_part

KIND = "readings"


class Item(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One reading. Limits and bounds of the plausible are texts with a unit: '12.4 V'."""

    key: str
    label: str
    measures: str
    """What kind of instrument reads it, a key of units.MEASURES."""
    low: str | None = None
    high: str | None = None
    plausible_low: str
    plausible_high: str
    hint: str = ""
    remedy: str = ""
    shared: bool = False
    """True: kept for every check; the key 'air' is the air in the bay, asked once a visit."""

    @property
    def unit(self) -> str:
        """Canonical unit of what is measured."""
        return units.MEASURES[self.measures]


class Limits(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What may stand under `limits:` of a check of kind `readings`."""

    items: tuple[Item, ...]

    def problems(self) -> Iterator[tuple[str, str, str]]:
        """What is wrong, as (field path, found, expected)."""
        yield from item_problems(self.items)
        for n, item in enumerate(self.items, 1):
            for field, found, expected in _item_problems(item):
                yield f"items[{n}].{field}", found, expected


def ask(scene: Scene, limits: Limits) -> list[Question]:
    return [_question(i) for i in limits.items]


def judge(scene: Scene, limits: Limits) -> Judgement:
    return Judgement(tuple(_part(scene, i) for i in limits.items))


def _question(item: Item) -> Question:
    if _is_air(item):
        return replace(AIR, part=item.key)
    return Question(
        item.key, item.label, unit=item.unit, measures=item.measures, hint=item.hint, shared=item.shared,
        low=_value(item.plausible_low, item.unit), high=_value(item.plausible_high, item.unit), part=item.key,
    )  # fmt: skip


def _part(scene: Scene, item: Item) -> Part:
    answer = scene.answer(item.key, shared=item.shared)
    if not answer.ready or answer.estimate is None:
        return missing_part(item.key, item.label, answer)
    return number_part(
        scene, item.key, item.label, answer.estimate, item.unit,
        low=_value(item.low, item.unit), high=_value(item.high, item.unit),
        remedy=item.remedy or scene.check.remedy, readings=answer.readings,
    )  # fmt: skip


def _is_air(item: Item) -> bool:
    return item.shared and item.key == AIR.key


@lru_cache(maxsize=512)
def _value(text: str | None, unit: str) -> float | None:
    return None if text is None else units.parse_written(text, unit)


# --- what a checklist may say --------------------------------------------------------------------


def _item_problems(item: Item) -> Iterator[tuple[str, str, str]]:
    if item.measures not in units.MEASURES:
        yield "measures", f"'{item.measures}'", f"one of {', '.join(units.MEASURES)}"
        return
    if item.key == AIR.key and not (item.shared and item.unit == AIR.unit):
        yield "key", "'air'", "another key, since 'air' is the shared air temperature of the bay"
    if item.low is None and item.high is None:
        yield "low", "neither low nor high", "a limit, since a reading without one decides nothing"
    unreadable = list(_unreadable(item))
    yield from unreadable
    if not unreadable:
        yield from _wrong_order(item)


def _unreadable(item: Item) -> Iterator[tuple[str, str, str]]:
    for field in ("low", "high", "plausible_low", "plausible_high"):
        text = getattr(item, field)
        try:
            _value(text, item.unit)
        except units.UnitsError:
            yield field, f"'{text}'", f"a {item.measures} such as '1 {item.unit}'"


def _wrong_order(item: Item) -> Iterator[tuple[str, str, str]]:
    least, most = _value(item.plausible_low, item.unit), _value(item.plausible_high, item.unit)
    low, high = _value(item.low, item.unit), _value(item.high, item.unit)
    assert least is not None
    assert most is not None
    if least >= most:
        yield (
            "plausible_high",
            f"'{item.plausible_high}'",
            f"more than plausible_low ('{item.plausible_low}')",
        )
    if low is not None and high is not None and low > high:
        yield "high", f"'{item.high}'", f"not less than low ('{item.low}')"
    for field, limit in (("low", low), ("high", high)):
        if limit is not None and not least <= limit <= most:
            yield field, f"'{getattr(item, field)}'", "a limit within the bounds of the plausible"

"""Whether numbers of a structure make sense; each that does not is a mistake at its place."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from readiness.checklist.mistakes import shown
from readiness.checklist.spot import Spot


def holds(
    value: Any, spot: Spot, keys: tuple[str, ...], good: Callable[[float], bool], expected: str
) -> bool:
    bad = [key for key in keys if not good(getattr(value, key))]
    for key in bad:
        here = spot.at(key)
        here.wrong(shown(here.text), expected)
    return not bad


def more_than_zero(value: Any, spot: Spot, *keys: str) -> bool:
    return holds(value, spot, keys, lambda v: v > 0, "more than zero")


def not_negative(value: Any, spot: Spot, *keys: str) -> bool:
    return holds(value, spot, keys, lambda v: v >= 0, "zero or more")

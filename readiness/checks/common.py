"""Questions and answers that more than one kind of check uses."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Protocol

from msgspec import Struct

from readiness.checks.kind import Question, Scene
from readiness.measure.uncertain import Estimate

AIR = Question(
    "air",
    "Air in the bay",
    unit="degC",
    measures="temperature",
    low=-30.0,
    high=50.0,
    hint="thermometer in the shade, where the car stands",
    shared=True,
)
"""Asked once a visit; tyres, fuel and the air check all use it."""

AIR_ABROAD = 1.0
"""Half width in °C by which the air at a tyre may differ from the air at the thermometer;
common practice, no published source."""


def altitude_pressure(scene: Scene) -> Estimate:
    """Atmospheric pressure in kPa from the shop's altitude.

    Weather moves it by about 2 kPa either way (one standard deviation about 1 kPa; from memory).
    """
    from readiness.measure.atmosphere import standard_pressure

    return Estimate(standard_pressure(scene.shop.altitude), 1.2)


def signed_height(scene: Scene, mm: float) -> str:
    """A height for a picture, with its sign and to a tenth of a mm; no sign where it rounds to nothing."""
    rounded = round(mm, 1)
    sign = "" if not rounded else "-" if rounded < 0 else "+"
    return f"{sign}{scene.show(abs(rounded), 'mm')}"


# --- what a checklist may say --------------------------------------------------------------------

Problem = tuple[str, str, str]
"""Field path, what was found, what is expected."""


class Keyed(Protocol):
    """An item of a list that is asked under its key."""

    @property
    def key(self) -> str: ...

    @property
    def label(self) -> str: ...


def item_problems(items: Sequence[Keyed]) -> Iterator[Problem]:
    """Items without a key or label, or with a key used before."""
    if not items:
        yield "items", "no item", "at least one item"
    yield from _each_once([(f"items[{n}].key", i.key) for n, i in enumerate(items, 1)])
    for n, i in enumerate(items, 1):
        if not i.label.strip():
            yield f"items[{n}].label", "nothing", "the words to show"


def name_problems(field: str, names: Sequence[str]) -> Iterator[Problem]:
    """Names that are empty or stand twice in a list."""
    yield from _each_once([(f"{field}[{n}]", name) for n, name in enumerate(names, 1)])


def positive_problems(limits: Struct) -> Iterator[Problem]:
    """Numbers that are zero or less: no reading could keep such a limit."""
    for name in limits.__struct_fields__:
        value = getattr(limits, name)
        if isinstance(value, float) and not value > 0:
            yield name, f"{value:g}", "more than zero: how far it may be off, either way"


def _each_once(entries: Sequence[tuple[str, str]]) -> Iterator[Problem]:
    seen: set[str] = set()
    for path, text in entries:
        if not text.strip():
            yield path, "nothing", "a word"
        elif text in seen:
            yield path, f"'{text}' again", "each one once"
        seen.add(text)

"""How far two people agree on the same cars, beyond what chance alone would have them agree: Cohen's kappa."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final, Generic, TypeVar

from readiness.measure.proportion import Kappa, kappa
from readiness.practice.finished import Car, Finished, first_time
from readiness.practice.model import Said

T = TypeVar("T", bound=str)
CALLS: Final[tuple[Said, ...]] = ("pass", "too_close", "fail")
SIDES: Final = ("go", "no-go")
VERBAL: Final = ((0.2, "slight"), (0.4, "fair"), (0.6, "moderate"), (0.8, "substantial"))
"""Words for kappa up to so much, each end included; "poor" below 0, "almost perfect" above 0.8. Landis and Koch 1977, from memory."""


@dataclass(frozen=True, slots=True)
class Compared(Generic[T]):
    """The calls of two people of the same things."""

    categories: tuple[T, ...]
    table: tuple[tuple[int, ...], ...]
    """Row: what the first said, column: what the second did, in the order of the categories."""
    kappa: Kappa

    @property
    def word(self) -> str:
        """Landis and Koch's word, from memory; empty without a kappa."""
        if self.kappa.value is None:
            return ""
        value = self.kappa.value
        if value < 0:
            return "poor"
        return next((word for upto, word in VERBAL if value <= upto), "almost perfect")


@dataclass(frozen=True, slots=True)
class Agreement:
    """Of two people on the cars that both met, each for the first time."""

    one: str
    other: str
    cars: tuple[Car, ...]
    calls: Compared[Said]
    """Of the checks that both called."""
    sides: Compared[str]
    """Go or no-go."""


def agreement(one: str, results: Iterable[Finished], other: str, others: Iterable[Finished]) -> Agreement:
    """Compare two people by what is kept of them."""
    mine = {result.car: result for result in first_time(results)}
    theirs = {result.car: result for result in first_time(others)}
    both = [car for car in mine if car in theirs]
    calls: list[tuple[Said, Said]] = []
    sides: list[tuple[str, str]] = []
    for car in both:
        calls += _paired(_calls(mine[car]), _calls(theirs[car]))
        sides += _paired(_sides(mine[car]), _sides(theirs[car]))
    return Agreement(one, other, tuple(both), compared(CALLS, calls), compared(SIDES, sides))


def compared(categories: tuple[T, ...], pairs: Sequence[tuple[T, T]]) -> Compared[T]:
    """Count and compare pairs of calls. The pairs hold nothing but these categories."""
    table = tuple(tuple(pairs.count((a, b)) for b in categories) for a in categories)
    return Compared(categories, table, kappa(table))


def _paired(mine: dict[tuple[str, ...], T], theirs: dict[tuple[str, ...], T]) -> list[tuple[T, T]]:
    return [(said, theirs[what]) for what, said in mine.items() if what in theirs]


def _calls(result: Finished) -> dict[tuple[str, ...], Said]:
    return {(call.check, call.side): call.said for call in result.calls}


def _sides(result: Finished) -> dict[tuple[str, ...], str]:
    return {(go.side,): SIDES[0] if go.said else SIDES[1] for go in result.goes}

"""What a sheet gives as the range of a result: from texts with their unit to numbers, and to words."""

from __future__ import annotations

from functools import lru_cache
from typing import NamedTuple

from readiness import units
from readiness.job import Result, Sheet, System


class Span(NamedTuple):
    """The range in which a result has to lie, both ends included, in a canonical unit ('' for a plain number)."""

    unit: str
    low: float | None
    high: float | None

    def words(self, system: System) -> str:
        """'-2.5° to 2.5°', 'at most 3'."""
        low, high = (None if end is None else units.show(end, self.unit, system) for end in self[1:])
        if low is None or high is None:
            return f"at most {high}" if low is None else f"at least {low}"
        return f"exactly {low}" if low == high else f"{low} to {high}"


@lru_cache(maxsize=256)
def span(result: Result) -> Span:
    """The range of a result that is a number; its unit is that of the first limit. Raises UnitsError."""
    if result.within is not None:
        unit = units.unit_of(result.within)
        half = units.parse_written(result.within, unit)
        return Span(unit, -half, half)
    given = result.low if result.low is not None else result.high
    unit = units.unit_of(given or "")
    low, high = (None if t is None else units.parse_written(t, unit) for t in (result.low, result.high))
    return Span(unit, low, high)


def results_of(sheet: Sheet, side: str) -> tuple[Result, ...]:
    """What the sheet gives for one side."""
    return tuple(r for r in sheet.results if r.side in (None, side))


def results_in_words(sheet: Sheet, system: System) -> list[tuple[str, str]]:
    """One row for every result that the sheet asks for, and its source, as `limits_in_words` gives limits."""
    source = f"sheet {sheet.sheet}: {sheet.document.reference}"
    return [(_words(r, system), source) for r in sheet.results]


def _words(result: Result, system: System) -> str:
    name = f"{result.label}, {result.side}" if result.side else result.label
    wanted = f"the message '{result.message}'" if result.message else span(result).words(system)
    return f"{name}: {wanted}"

"""How sure a share is that was counted, and how far two people agree beyond what chance alone would have them agree."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

NORMAL_975 = 1.959963984540054
"""What a normal deviate stays within 95 times in 100, either way."""


@dataclass(frozen=True, slots=True)
class Share:
    """So many of so many. Nothing is known of a share of none: its interval is everything."""

    hits: int
    of: int

    def __post_init__(self) -> None:
        """Raises ValueError for counts that cannot be."""
        if not 0 <= self.hits <= self.of:
            raise ValueError(f"{self.hits} of {self.of} is no share")

    @property
    def value(self) -> float | None:
        """The share that was seen; None of none."""
        return self.hits / self.of if self.of else None

    @property
    def interval(self) -> tuple[float, float]:
        """Wilson's 95 % interval."""
        return wilson(self.hits, self.of)

    @property
    def middle(self) -> float:
        """The middle of that interval: the share seen, drawn towards one half the less is known of it."""
        return sum(self.interval) / 2


@dataclass(frozen=True, slots=True)
class Kappa:
    """What two people's calls of the same things come to."""

    calls: int
    same: int
    by_chance: float
    """Share of calls that would agree by chance, each calling as often as they did."""
    value: float | None
    """Cohen's kappa: 1 full agreement, 0 no more than chance; None where both used one and the same category only."""
    u: float | None
    """Its standard error for many calls; None where there is no kappa, and where all calls agree, which says nothing of it."""

    @property
    def agreed(self) -> Share:
        return Share(self.same, self.calls)

    @property
    def interval(self) -> tuple[float, float] | None:
        """About 95 %, within -1 and 1; only for `MANY` calls or more, since the standard error is one for many."""
        if self.value is None or self.u is None or self.calls < MANY:
            return None
        half = NORMAL_975 * self.u
        return max(-1.0, self.value - half), min(1.0, self.value + half)


MANY = 30
"""Calls from which on a standard error for many is used. Common practice, no published source."""


def wilson(hits: int, of: int, z: float = NORMAL_975) -> tuple[float, float]:
    """Score interval of a share (E. B. Wilson 1927; as in R. G. Newcombe 1998, method 3, from memory).

    The shares p with |hits/of - p| <= z sqrt(p (1 - p) / of). Without continuity correction. 0 to 1 of none.
    Raises ValueError for counts that cannot be.
    """
    if not 0 <= hits <= of:
        raise ValueError(f"{hits} of {of} is no share")
    if not of:
        return 0.0, 1.0
    seen, z2 = hits / of, z * z
    middle = hits + z2 / 2
    half = z * math.sqrt(of * seen * (1 - seen) + z2 / 4)
    low, high = (middle - half) / (of + z2), (middle + half) / (of + z2)
    return (0.0 if hits == 0 else low), (1.0 if hits == of else high)  # there, rounding would leave a trace


def kappa(table: Sequence[Sequence[int]]) -> Kappa:
    """Agreement from a square table of counts: row what one person called, column what the other did.

    kappa = (p_o - p_e) / (1 - p_e) (J. Cohen 1960); standard error for many calls by J. L. Fleiss, J. Cohen and
    B. S. Everitt 1969 (both from memory). Raises ValueError for a table that is not square or has negative counts.
    """
    size = len(table)
    if any(len(row) != size for row in table) or any(count < 0 for row in table for count in row):
        raise ValueError("agreement needs a square table of counts")
    rows = [sum(row) for row in table]
    columns = [sum(column) for column in zip(*table, strict=True)]
    calls, same = sum(rows), sum(table[n][n] for n in range(size))
    if not calls:
        return Kappa(0, 0, 0.0, None, None)
    chance = sum(r * c for r, c in zip(rows, columns, strict=True))
    if chance == calls * calls:  # in whole numbers, so that nothing is left to rounding
        return Kappa(calls, same, 1.0, None, None)
    value = (calls * same - chance) / (calls * calls - chance)
    u = None if same == calls else _standard_error(table, rows, columns, value)
    return Kappa(calls, same, chance / calls**2, value, u)


def _standard_error(
    table: Sequence[Sequence[int]], rows: Sequence[int], columns: Sequence[int], value: float
) -> float:
    calls, size = sum(rows), len(rows)
    by_chance = sum(r * c for r, c in zip(rows, columns, strict=True)) / calls**2
    off = 1 - value
    agreed = sum(table[n][n] / calls * (1 - (rows[n] + columns[n]) / calls * off) ** 2 for n in range(size))
    apart = sum(
        table[i][j] / calls * ((columns[i] + rows[j]) / calls) ** 2
        for i in range(size)
        for j in range(size)
        if i != j
    )
    spread = agreed + off**2 * apart - (value - by_chance * off) ** 2
    return math.sqrt(max(spread, 0.0) / calls) / (1 - by_chance)

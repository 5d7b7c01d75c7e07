"""Numbers with a standard uncertainty, and how uncertainty is put together.

Sources: JCGM 100:2008 (GUM) 4.3.7 (rectangular), F.2.2.1 (resolution), 4.2 (repeat readings),
5.1.2 (first-order propagation). Clause numbers from memory.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

ROOT_3 = math.sqrt(3.0)


@dataclass(frozen=True, slots=True)
class Estimate:
    """A value and its standard uncertainty, both in the same unit."""

    value: float
    u: float = 0.0

    def shifted(self, by: float) -> Estimate:
        return Estimate(self.value + by, self.u)

    def scaled(self, by: float) -> Estimate:
        return Estimate(self.value * by, self.u * abs(by))


@dataclass(frozen=True)
class Traced:
    """A value whose uncertainty is traced to independent errors, each with a name.

    `effects`: error -> what one standard uncertainty of it does to the value, with its sign. Values that
    share an error are correlated, and their sums and differences come out right (JCGM 100 5.2.2, from memory).
    """

    value: float
    effects: Mapping[str, float] = field(default_factory=dict)

    def __hash__(self) -> int:
        """Of the value alone, so that what follows from equal values can be kept and found again."""
        return hash(self.value)

    @classmethod
    def of(cls, error: str, estimate: Estimate) -> Traced:
        """An estimate whose whole uncertainty is one error."""
        return cls(estimate.value, {error: estimate.u} if estimate.u else {})

    @cached_property
    def u(self) -> float:
        return math.hypot(*self.effects.values())

    @property
    def estimate(self) -> Estimate:
        return Estimate(self.value, self.u)

    def scaled(self, by: float) -> Traced:
        return Traced(self.value * by, {e: size * by for e, size in self.effects.items()})

    def plus(self, *others: Traced) -> Traced:
        """The sum; errors of equal name add with their signs."""
        effects = dict(self.effects)
        for other in others:
            for error, size in other.effects.items():
                effects[error] = effects.get(error, 0.0) + size
        return Traced(math.fsum((self.value, *(o.value for o in others))), effects)

    def minus(self, other: Traced) -> Traced:
        return self.plus(other.scaled(-1.0))


def from_half_width(a: float) -> float:
    """Standard uncertainty of a rectangular distribution of half width a: a / sqrt 3."""
    return abs(a) / ROOT_3


def from_resolution(d: float) -> float:
    """Standard uncertainty of rounding to steps of d: d / (2 sqrt 3)."""
    return abs(d) / (2.0 * ROOT_3)


def combined(*parts: float) -> float:
    """Root sum of squares of independent standard uncertainties."""
    return math.hypot(*parts)


def mean_of(values: Sequence[float]) -> Estimate:
    """The mean of repeat readings and s / sqrt n; one reading has no spread of its own."""
    n = len(values)
    mean = math.fsum(values) / n
    if n < 2:
        return Estimate(mean)
    variance = math.fsum((v - mean) ** 2 for v in values) / (n - 1)
    return Estimate(mean, math.sqrt(variance / n))


CRITICAL_RANGE = {2: 2.8, 3: 3.3, 4: 3.6, 5: 3.9, 6: 4.0, 7: 4.2, 8: 4.3, 9: 4.4, 10: 4.5}
"""Range of n readings over their standard deviation that is exceeded in 5 % of cases (ISO 5725-6 table 1,
from memory; the studentised range says the same, and the tests compare)."""


def series_of(values: Sequence[float], u_each: float) -> Estimate:
    """The mean of repeat readings, each with standard uncertainty `u_each` from its instrument.

    Spread enters as s / sqrt n. Readings that lie farther apart than the instrument can explain did not
    measure the same thing: repeating does not make them better, so s itself enters.
    """
    mean = mean_of(values)
    n = len(values)
    if n < 2:
        return Estimate(mean.value, u_each)
    explained = CRITICAL_RANGE[min(n, 10)] * u_each
    spread = mean.u if max(values) - min(values) <= explained else mean.u * math.sqrt(n)
    return Estimate(mean.value, combined(spread, u_each))


def propagated(model: Callable[..., float], *inputs: Estimate) -> Estimate:
    """First-order propagation of independent inputs through a smooth model.

    Sensitivities are central differences over one u of each input (JCGM 100 5.1.3 note 2).
    """
    values = [i.value for i in inputs]
    effects = []
    for k, given in enumerate(inputs):
        if given.u == 0.0:
            continue
        above, below = list(values), list(values)
        above[k] += given.u
        below[k] -= given.u
        effects.append((model(*above) - model(*below)) / 2.0)
    return Estimate(model(*values), math.hypot(*effects) if effects else 0.0)

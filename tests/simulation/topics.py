"""What a simulated truth is made of: numbers with the limits that they are held against, and answers to questions."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from tests.simulation.tools import Said

Where = tuple[str, str, str]
"""Check, side, and the key of a part or of a question."""

ON_STEP = ", limit on a step"
"""Ends the kind of a number whose truth and limit are both what the display can show."""

ESTIMATED = ", estimated"
"""Ends the kind of a number that nobody reads: a limit is then put beside the estimate, not at the truth.

Whatever the truth, the estimate is the same; so of cars at a given truth nothing can be claimed, but of those whose
estimate just passes, 5 % at most may be bad.
"""


@dataclass(frozen=True)
class Size:
    """How much of a limit a part really takes up: it is bad where this is more than the bound."""

    much: float
    kind: str
    """The row of the table that it counts in."""


@dataclass(frozen=True)
class Bound:
    """One limit of a checklist or sheet, and the parts of findings that it decides."""

    check: str
    name: str
    parts: Mapping[Where, Size]
    least: float = 0.0
    """A bound below this makes no sense."""
    most: float = 1e9
    """Nor does one above this."""
    limit: Callable[[float], float] = float
    """From a bound to the limit as a checklist has it: the number itself, or its negative for a lower limit."""

    @property
    def estimated(self) -> bool:
        return any(size.kind.endswith(ESTIMATED) for size in self.parts.values())


@dataclass
class Topic:
    """What is true of some checks, and what a person finds who answers them."""

    bounds: list[Bound] = field(default_factory=list)
    says: dict[Where, Said] = field(default_factory=dict)
    wide: dict[tuple[str, str], float | None] = field(default_factory=dict)
    """Limits so wide that nothing comes near them."""

    def take(self, other: Topic) -> None:
        self.bounds += other.bounds
        self.says |= other.says
        self.wide |= other.wide


def sizes(check: str, kind: str, much: Mapping[str, float], side: str = "") -> dict[Where, Size]:
    return {(check, side, part): Size(value, kind) for part, value in much.items()}


def under(bound: float) -> float:
    """The limit of a number that must not be less."""
    return -bound

"""What there is to see at one question: a number as it really is, or a state in words."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from readiness.checks.kind import Place
from readiness.practice.world import World

Said = Mapping[Place, str]
"""What was answered so far, where that decides what a question asks: which mark a tape is held to."""


@dataclass(frozen=True, slots=True)
class Quantity:
    """A number as it really is."""

    true: float
    unit: str
    """Canonical."""
    measures: str = ""
    """What kind of instrument reads it; empty: none is needed."""
    eye: float = 0.0
    """How far off one may be who judges it by eye or by hand, in `unit`; 0: nobody can."""
    step: float = 0.0
    """To what one reads it without an instrument."""
    words: str = ""
    """What shows it where no instrument is named: 'The fuel gauge shows {}.'"""


@dataclass(frozen=True, slots=True)
class State:
    """What one sees, in plain words, and what a careful person answers to it."""

    words: str
    answer: str
    typed: str = ""
    """What there is to copy, such as the size on a tyre."""


Found = Quantity | State


@dataclass(frozen=True)
class Spot:
    """One question of a practice car."""

    world: World
    check: str
    side: str
    key: str
    said: Said = field(default_factory=dict)

    @property
    def place(self) -> Place:
        return self.check, self.side, self.key

    @property
    def parts(self) -> list[str]:
        return self.key.split(".")

    def word(self, key: str, otherwise: str) -> str:
        """What was answered to another question of this check, or what would be."""
        return self.said.get((self.check, self.side, key)) or otherwise

    def state(self, good: str, answer: str = "yes", bad: str = "no") -> State:
        """As it has to be, unless this car has something wrong here."""
        wrong = self.world.wrong.get(self.place)
        return State(good, answer) if wrong is None else State(wrong, bad)

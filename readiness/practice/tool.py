"""An instrument as it really is: its true error today, the noise of a hand, the steps of its display.

What it states is kept: true error and noise together have at most the variance that a rectangular accuracy a has, a^2 / 3
(JCGM 100:2008 4.3.7, from memory). So what the engine takes for its uncertainty holds for it, and no more.
"""

from __future__ import annotations

import random
from dataclasses import dataclass

from readiness import units
from readiness.job import Instrument

SYSTEMATIC = 0.9
"""How much of its accuracy an instrument may be off, the same for each reading of a day."""
NOISE = 0.1
"""Standard deviation of single readings, as a share of the accuracy. 0.9^2 / 3 + 0.1^2 < 1 / 3."""


@dataclass(frozen=True, slots=True)
class Tool:
    """One instrument on one day."""

    instrument: Instrument
    off: float = 0.0
    """Its true error as a share of its accuracy, between -1 and 1; beyond that it is out of order."""
    seed: str = ""
    """Of its noise: the same reading of the same thing gives the same number to everybody."""
    shows_in: str = ""
    """The unit that its display is set to, where that is not the usual one: 'psi'."""

    @classmethod
    def drawn(cls, instrument: Instrument, seed: str) -> Tool:
        """As bought: within what it states."""
        chance = random.Random(f"tool {instrument.id} {seed}")
        return cls(instrument, SYSTEMATIC * chance.uniform(-1, 1), seed)

    def reads(self, true: float, unit: str, of: str, nth: int = 0) -> float:
        """What it shows for a true value in `unit`, at the `nth` reading of the thing named `of`."""
        accuracy = units.accuracy(self.instrument.accuracy, unit, true)
        step = units.accuracy(self.instrument.resolution, unit, true)
        chance = random.Random(f"reading {self.instrument.id} {self.seed} {of} {nth}")
        shown = true + accuracy * (self.off + NOISE * chance.gauss(0, 1))
        return round(shown / step) * step if step > 0 else shown

"""The hidden truth of one car in one bay: every number and state that somebody could look at, as it really is.

Nothing here is a reading. What an instrument shows of it, `sights` and `looking` say.
"""

from __future__ import annotations

import math
import random
from collections.abc import Mapping
from dataclasses import dataclass, field

from readiness.checklist.model import Check, Checklist
from readiness.checks.kind import Place
from readiness.job import WHEELS, Bay, Instrument, Sheet, Shop, Standing
from readiness.measure.gas import gauge_at
from readiness.practice.tool import Tool

XY = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Tyre:
    """One tyre. What a gauge shows follows from its cold pressure and its temperature."""

    cold: float
    """kPa gauge at the temperature of the bay's air."""
    temperature: float
    """°C, of the air in it and of its skin."""
    tread: float
    """mm."""
    size: str


@dataclass(frozen=True, slots=True)
class Extra:
    """A thing in the car that the procedure does not count as carried."""

    name: str
    mass: float
    """kg."""
    station: str
    x: float
    """m ahead of the rear axle."""


@dataclass(frozen=True, slots=True)
class Thing:
    """A thing that stands about the car: own kit, or anything else."""

    name: str
    at: XY
    """Its middle in car axes, m."""
    radius: float
    height: float
    metal: str = "yes"
    way: str = "car"
    """How one measures best where it stands: from the car, by two tapes, or from the bay."""


@dataclass(frozen=True)
class World:
    """One car in one bay."""

    seed: str
    sheet: Sheet
    checklist: Checklist
    bay: Bay
    """As the practice shop's file has it."""
    shop: Shop
    instruments: Mapping[str, Instrument]
    """As the practice shop's file has them."""
    tools: Mapping[str, Tool]
    sides: tuple[str, ...]

    air: float
    """°C in the bay, where the car stands."""
    atmosphere: float
    """kPa."""
    parked: str
    """'stood' for hours, or 'road': just driven."""
    tyres: Mapping[str, Tyre]

    fuel: float
    """Share of the tank."""
    carried: tuple[bool, ...]
    """Whether each thing that the sheet counts as carried is in the car."""
    extras: tuple[Extra, ...]
    springs: Mapping[str, float]
    """mm by which the springs alone hold each corner of the body over where the sheet has it."""
    marks: tuple[float, float]
    """mm by which the front and the rear centre mark lie left of the middle between the wheels."""
    rims: tuple[float, float]
    """mm between the outer edges of the front and of the rear rims."""

    standing: Standing
    """Where the car really stands."""
    on_marks: bool
    floor: Mapping[str, float]
    """mm, up positive, under each wheel and each foot of the targets."""

    light: Mapping[Place, float]
    """lx at each place where light is read."""
    numbers: Mapping[Place, float]
    """What single readings read, in their canonical units."""
    kit: Mapping[int, Thing]
    """Own kit that stands near, by its number in the checklist."""
    others: tuple[Thing, ...]
    document: str
    """The reference on the document in hand."""
    wrong: Mapping[Place, str] = field(default_factory=dict)
    """States that are not as they have to be: what one sees there, as a sentence."""

    def check(self, id: str) -> Check:
        return self.checklist.check(id)

    def has(self, id: str) -> bool:
        """Whether the checklist asks for such a check before the calibration."""
        return any(c.id == id for c in self.checklist.walk())

    def chance(self, of: str) -> random.Random:
        """The chance of one thing of this car, the same on every machine."""
        return random.Random(f"world {self.seed} {of}")

    def gauge(self, wheel: str) -> float:
        """Gauge pressure in kPa of a tyre as it is now (gas law, see `measure.gas`)."""
        tyre = self.tyres[wheel]
        return gauge_at(tyre.cold, self.atmosphere, self.air, self.atmosphere, tyre.temperature)

    def tape(self, end: str, side: str) -> float:
        """mm from a centre mark to the outer edge of the rim on one side of that end, by Pythagoras."""
        k = ("front", "rear").index(end)
        mark = self.sheet.marks.front if end == "front" else self.sheet.marks.rear
        axle = self.sheet.dimensions.wheelbase if end == "front" else 0.0
        rim = self.rims[k] / 2.0 if side == "left" else -self.rims[k] / 2.0
        return math.hypot((mark - axle) * 1000.0, rim - self.marks[k])


def on_wheels(value: float) -> dict[str, float]:
    """The same at all wheels."""
    return dict.fromkeys(WHEELS, value)

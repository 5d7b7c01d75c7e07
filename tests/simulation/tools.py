"""The instruments of one simulated day: each wrong in its own way, within what it states."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import date
from typing import Literal

import numpy as np

from readiness.job import Instrument
from readiness.practice.tool import SYSTEMATIC, Tool

Temper = Literal["alike", "growing", "anew"]
"""Wrong by the same amount at each reading of the day, in proportion to what is read, or anew each time."""

STATED = {
    "pressure": (("1 kPa", "1 kPa"), ("2 kPa", "1 kPa"), ("5 kPa", "2 kPa")),
    "temperature": (("0.5 degC", "0.1 degC"), ("1 degC", "0.5 degC")),
    "depth": (("0.1 mm", "0.1 mm"), ("0.2 mm", "0.1 mm")),
    "length": (("1 mm", "1 mm"), ("0.5 mm", "0.5 mm")),
    "distance": (("2 mm", "1 mm"), ("10 mm", "5 mm")),
    "height": (("1 mm", "1 mm"), ("1 mm", "0.5 mm")),
    "slope": (("0.2 mm/m", "0.05 mm/m"), ("0.5 mm/m", "0.1 mm/m")),
    "mass": (("0.2 kg", "0.05 kg"), ("0.5 kg", "0.1 kg")),
    "illuminance": (("5 %", "1 lx"), ("3 %", "1 lx")),
    "voltage": (("0.08 V", "0.01 V"), ("0.05 V", "0.01 V")),
    "angle": (("0.1 deg", "0.05 deg"), ("0.2 deg", "0.1 deg")),
    "thickness": (("6 um", "1 um"), ("10 um", "1 um")),
}
"""What is measured -> accuracy and resolution of the tools of a shop, of which a car gets one."""
SPAN = {
    "pressure": 400.0, "temperature": 60.0, "depth": 9.0, "length": 1500.0, "distance": 8.0, "height": 1500.0,
    "slope": 12.0, "mass": 25.0, "illuminance": 1500.0, "voltage": 15.0, "angle": 3.0, "thickness": 400.0,
}  # fmt: skip
"""The largest that is read, at which a tool that grows worse is as wrong as it may be."""
ABROAD = {
    "kPa": ("psi", 6.894757293168, 0.0), "degC": ("degF", 5 / 9, 32.0), "mm": ("in", 25.4, 0.0), "m": ("ft", 0.3048, 0.0),
    "kg": ("lb", 0.45359237, 0.0), "mm/m": ("%", 10.0, 0.0),
}  # fmt: skip
"""Unit -> another one, its size (NIST SP 811, from memory), and where it begins."""
DUE = date(2027, 12, 31)


@dataclass(frozen=True)
class Shows:
    """What an instrument is held to: the true value, in the question's unit."""

    measures: str
    true: float


Said = str | Shows
"""What answers a question: words as they are typed, or something to be read."""


@dataclass
class Toolbox:
    """One tool for each thing that is measured, each in its own mood."""

    chance: np.random.Generator
    seed: str
    temper: Temper | None = None
    """Of all of them, where one was chosen."""
    instruments: dict[str, Instrument] = field(default_factory=dict)
    _tools: dict[str, tuple[Tool, Temper]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.abroad = bool(self.chance.random() < 0.2)
        for measures, stated in STATED.items():
            accuracy, resolution = stated[int(self.chance.integers(len(stated)))]
            tool = Instrument(
                id=measures, title=f"invented {measures}", measures=measures, accuracy=accuracy,
                resolution=resolution, due=DUE,
            )  # fmt: skip
            self.instruments[measures] = tool
            self._tools[measures] = (Tool.drawn(tool, self.seed), self._temper(measures))

    def typed(self, shown: float, unit: str) -> str:
        """As a person types it, on some days in other units than the program keeps."""
        if not self.abroad or unit not in ABROAD:
            return f"{shown:.6f} {unit}"
        other, size, begins = ABROAD[unit]
        return f"{shown / size + begins:.8f} {other}"

    def _temper(self, measures: str) -> Temper:
        """A level's error is its zero: what is anew each time is in its feet and its display."""
        if measures == "slope":
            return "alike"
        if self.temper is not None:
            return self.temper
        tempers: tuple[Temper, ...] = ("alike", "alike", "growing", "anew")
        return tempers[int(self.chance.integers(len(tempers)))]

    def reads(self, shows: Shows, unit: str, of: str, nth: int = 0) -> float:
        tool, temper = self._tools[shows.measures]
        if temper == "growing":
            tool = replace(tool, off=tool.off * min(1.0, abs(shows.true) / SPAN[shows.measures]))
        elif temper == "anew":
            tool = replace(tool, off=SYSTEMATIC * self.chance.uniform(-1, 1))
        return tool.reads(shows.true, unit, of, nth)

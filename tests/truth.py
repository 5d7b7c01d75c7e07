"""Invented cars whose truth is known, and what their instruments show of it.

Half of the cars are read by instruments that are wrong anew at each reading, half by instruments that are
wrong by the same amount all day. Errors are rectangular and readings round to the resolution, as JCGM 100
4.3.7 and F.2.2.1 model them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cache
from typing import Any

import numpy as np
from msgspec.structs import replace as changed

from readiness.checks import kinds
from tests.scenes import NOW, visit

HAIR = 1e-6
ACCURACY = {
    "gauge": (1, 1), "thermometer": (1, 0.1), "depth-gauge": (0.1, 0.1), "tape": (1, 1), "laser": (1, 0.5),
    "laser-meter": (0.01, 0.001), "level": (0.2, 0.05), "scales": (0.5, 0.1), "voltmeter": (0.05, 0.01),
    "angle-gauge": (0.2, 0.1),
}  # fmt: skip
"""Accuracy and resolution of the instruments of tests/scenes.py; the light meter is 5 % and 1 lx."""


class Car:
    """Instruments of one day: wrong anew at each reading, or wrong alike all day."""

    def __init__(self, rng: np.random.Generator) -> None:
        self.rng = rng
        self.alike: dict[str, float] | None = {} if rng.random() < 0.5 else None

    def within(self, a: float) -> float:
        return self.rng.uniform(-a, a)

    def _error(self, tool: str) -> float:
        if self.alike is None:
            return self.within(1)
        return self.alike.setdefault(tool, self.within(1))

    def read(self, tool: str, true: float) -> float:
        a, d = ACCURACY[tool]
        return round((true + a * self._error(tool)) / d) * d

    def read_light(self, true: float) -> float:
        return float(round(true * (1 + 0.05 * self._error("light-meter"))))

    def sign(self) -> int:
        return int(self.rng.choice((-1, 1)))


Read = Mapping[str, Any]
"""What the car's instruments showed, by question; a list is a series of repeat readings."""


@dataclass(frozen=True)
class Scenario:
    """`drawn(car, beyond)` reads a car whose number lies `beyond` its limit (negative: inside), in its unit.

    `far` is a distance that any of these instruments tells apart. `near` is how far from the limit the cars
    lie at most.
    """

    one: Any
    answers: Mapping[str, Any]
    part: str
    far: float
    drawn: Callable[[Car, float], Read]
    around: Mapping[str, Any]
    near: float = HAIR
    side: str = ""
    beside: tuple[tuple[Any, Mapping[str, Any]], ...] = ()
    """Other checks of the visit, with their answers."""
    two_kinds: bool = False
    """Cars inside and outside are of two kinds, however near to the limit they lie."""

    @property
    def told_apart(self) -> bool:
        """Whether any instrument shows a car inside the limit and one outside differently."""
        return self.two_kinds or self.near > HAIR


SCENARIOS: dict[str, Scenario] = {}


def scenario(
    one: Any, answers: Mapping[str, Any], part: str, far: float, near: float = HAIR, **around: Any
) -> Callable[[Callable[[Car, float], Read]], Callable[[Car, float], Read]]:
    def add(drawn: Callable[[Car, float], Read]) -> Callable[[Car, float], Read]:
        SCENARIOS[drawn.__name__.replace("_", " ")] = Scenario(one, answers, part, far, drawn, around, near)
        return drawn

    return add


@cache
def template(name: str) -> Any:
    """The visit of a scenario with its answers as typed; cars replace the numbers."""
    s = SCENARIOS[name]
    answers: dict[Any, Any] = {one.id: given for one, given in s.beside}
    answers |= {(s.one.id, s.side): s.answers}
    return visit(*(one for one, _ in s.beside), s.one, readings=answers, **s.around)


def outcome(name: str, car: Car, beyond: float) -> str:
    s, made = SCENARIOS[name], template(name)
    read = dict(s.drawn(car, beyond))
    made = replace(made, bay=read.pop("bay", made.bay))
    series: dict[str, Iterator[float]] = {k: iter(v if isinstance(v, list) else [v]) for k, v in read.items()}
    readings = tuple(
        changed(r, value=float(next(series[r.question]))) if r.question in series else r
        for r in made.job.readings
    )
    made = replace(made, job=changed(made.job, readings=readings))
    judgement = kinds()[s.one.kind].judge(made.scene(s.one, s.side, NOW), s.one.limits)
    return next(p.outcome for p in judgement.parts if p.key == s.part)


def outcomes(name: str, cars: int, least: float, most: float) -> list[str]:
    """Outcomes of cars whose truth lies `least` to `most` beyond the limit."""
    rng = np.random.default_rng([*name.encode(), cars, int(least < 0)])
    return [outcome(name, Car(rng), rng.uniform(least, most)) for _ in range(cars)]

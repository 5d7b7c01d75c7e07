"""How the car sits, and the line that is laid out from it."""

from __future__ import annotations

import random
from dataclasses import replace

from readiness.job import WHEEL_NAMES
from readiness.practice.faults.fault import Fault, Planted, seen_wrong
from readiness.practice.world import World, on_wheels

LIFTED = 30.0
"""mm by which a raised mode lifts the car."""


def _sagged(world: World, chance: random.Random, side: str) -> Planted:
    wheel = chance.choice(("rr", "rf"))
    springs = {**world.springs, wheel: -chance.uniform(24.0, 30.0)}
    return Planted(replace(world, springs=springs), (f"height.{wheel}",), {"wheel": WHEEL_NAMES[wheel]})


def _mark(world: World, chance: random.Random, side: str) -> Planted:
    """At the end where the targets stand: there it shifts the line most."""
    end = "front" if max(t.at.x for t in world.sheet.targets) > 0 else "rear"
    off = chance.choice((-1.0, 1.0)) * chance.uniform(15.0, 19.0)
    front, rear = world.marks
    marks = (off, rear) if end == "front" else (front, off)
    return Planted(replace(world, marks=marks), (f"{end}.left", f"{end}.right"), {"end": end})


def _raised(world: World, chance: random.Random, side: str) -> Planted:
    springs = {w: world.springs[w] + lift for w, lift in on_wheels(LIFTED).items()}
    sees = "The display shows the suspension in its raised mode, for rough roads; the wheel arches look high."
    return Planted(
        seen_wrong(replace(world, springs=springs), ("closed", "", "suspension"), sees), ("suspension",)
    )


FAULTS = (
    Fault(
        "sagged-spring", "Spring sagged", "stance",
        "The spring at the {wheel} wheel had sagged, and that corner sat low.",
        "A corner that hangs tips the body, and the sensor looks aside or up with it.",
        _sagged, "left_for_both", 1, also=("aim",),
    ),
    Fault(
        "mark-on-new-cover", "Centre mark off on a new cover", "centre_marks",
        "The {end} mark on the new cover sat well beside the middle of the car.",
        "The line laid out through it is crooked, and every target stands crooked with it.",
        _mark, "left_for_both", 2, also=("aim",),
    ),
    Fault(
        "raised-mode", "Suspension in a raised mode", "closed",
        "The suspension stood in its raised mode, and the body some thirty millimetres too high all round.",
        "Where the target has to stand holds for one height of the sensor only.",
        _raised, "not_looked", 2, also=("stance", "aim"),
    ),
)  # fmt: skip

"""At the tyres."""

from __future__ import annotations

import random
from collections.abc import Mapping
from dataclasses import replace

from readiness.job import WHEEL_NAMES, WHEELS
from readiness.measure.gas import gauge_at
from readiness.measure.tyre import parse_size
from readiness.practice.faults.fault import Fault, Planted
from readiness.practice.world import Tyre, World

RIGHT = ("rr", "rf")
BY_THUMB = 14.3
"""kPa over the placard: 15 psi to the bar makes it look right, and it is too much by a third of what is allowed."""


def placard(world: World, wheel: str) -> float:
    pressure = world.sheet.placard.pressure
    return pressure.front if wheel.endswith("f") else pressure.rear


def _with(world: World, tyres: Mapping[str, Tyre]) -> World:
    return replace(world, tyres={**world.tyres, **tyres})


def stood(world: World) -> World:
    """The car as it is after a night here: who takes one tyre for all then errs in that one only."""
    tyres = {w: replace(t, temperature=world.air) for w, t in world.tyres.items()}
    return replace(world, parked="stood", tyres=tyres)


def _soft(world: World, chance: random.Random, side: str) -> Planted:
    world, wheel = stood(world), chance.choice(RIGHT)
    tyre = replace(world.tyres[wheel], cold=placard(world, wheel) - chance.uniform(13.0, 19.0))
    return _named(_with(world, {wheel: tyre}), wheel, "pressure")


def _named(world: World, wheel: str, *asked: str) -> Planted:
    return Planted(world, tuple(f"{key}.{wheel}" for key in asked), {"wheel": WHEEL_NAMES[wheel]})


def cold_of(world: World, gauge: float, temperature: float) -> float:
    """The cold pressure of a tyre that shows so much at that temperature."""
    return gauge_at(gauge, world.atmosphere, temperature, world.atmosphere, world.air)


def _one_hot(world: World, chance: random.Random, side: str) -> Planted:
    """It reads right as hot as it is; the others are hardly warm."""
    hot, tyres = "lr", {}
    for w in WHEELS:
        by = chance.uniform(30.0, 36.0) if w == hot else chance.uniform(1.5, 2.5)
        over = chance.uniform(1.5, 2.5) if w == hot else chance.uniform(3.0, 3.6)
        cold = cold_of(world, placard(world, w) + over, world.air + by)
        tyres[w] = replace(world.tyres[w], cold=cold, temperature=world.air + by)
    world = replace(_with(world, tyres), parked="road")
    return Planted(world, ("parked", f"temperature.{hot}"), {"wheel": WHEEL_NAMES[hot]})


def _set_warm(world: World, chance: random.Random, side: str) -> Planted:
    """Air was let out until the warm tyres read right."""
    tyres = {}
    for w in WHEELS:
        temperature = world.air + chance.uniform(17.0, 20.0)
        cold = cold_of(world, placard(world, w) + chance.uniform(1.0, 2.5), temperature)
        tyres[w] = replace(world.tyres[w], cold=cold, temperature=temperature)
    return Planted(
        replace(_with(world, tyres), parked="road"), ("parked", *(f"temperature.{w}" for w in WHEELS))
    )


def _in_psi(world: World, chance: random.Random, side: str) -> Planted:
    """Filled by the same rule of thumb by which the next one reads it."""
    tyres = {
        w: replace(t, cold=placard(world, w) + BY_THUMB + chance.uniform(-0.2, 0.2), temperature=world.air)
        for w, t in world.tyres.items()
    }
    tools = {
        id: replace(t, shows_in="psi", off=0.1 * t.off) if t.instrument.measures == "pressure" else t
        for id, t in world.tools.items()
    }
    return Planted(
        replace(_with(world, tyres), parked="stood", tools=tools), tuple(f"pressure.{w}" for w in WHEELS)
    )


def _worn(world: World, chance: random.Random, side: str) -> Planted:
    world, wheel = stood(world), chance.choice(RIGHT)
    return _named(_tread(world, wheel, chance.uniform(1.0, 1.5)), wheel, "tread")


def _tread(world: World, wheel: str, mm: float) -> World:
    return _with(world, {wheel: replace(world.tyres[wheel], tread=mm)})


def _uneven(world: World, chance: random.Random, side: str) -> Planted:
    world, wheel = stood(world), chance.choice(RIGHT)
    left = f"l{wheel[1]}"
    world = _tread(_tread(world, left, chance.uniform(6.6, 7.2)), wheel, chance.uniform(3.2, 3.8))
    return Planted(world, (f"tread.{left}", f"tread.{wheel}"), {"wheel": WHEEL_NAMES[wheel]})


def _mixed(world: World, chance: random.Random, side: str) -> Planted:
    world, wheel = stood(world), chance.choice(RIGHT)
    size = parse_size(world.tyres[wheel].size)
    return _sized(world, wheel, str(replace(size, aspect=size.aspect - 5)))


def _index(world: World, chance: random.Random, side: str) -> Planted:
    world, wheel = stood(world), chance.choice(RIGHT)
    size = parse_size(world.tyres[wheel].size)
    return _sized(world, wheel, str(replace(size, load_index=(size.load_index or 80) - 7)))


def _sized(world: World, wheel: str, size: str) -> Planted:
    return _named(_with(world, {wheel: replace(world.tyres[wheel], size=size)}), wheel, "size")._replace(
        shown_by=("sizes",)
    )


FAULTS = (
    Fault(
        "soft-tyre", "One soft tyre", "tyres",
        "The {wheel} tyre was well under the placard.",
        "A soft tyre lowers its corner, and the sensor tips with the body.",
        _soft, "left_for_both", 1,
    ),
    Fault(
        "one-hot", "One tyre hot from the road", "tyres",
        "The {wheel} tyre was hot from a dragging brake, and only its heat made it read right.",
        "Once it has cooled, that corner sits lower than it was when you calibrated.",
        _one_hot, "told", 3,
    ),
    Fault(
        "set-warm", "Tyres set while warm", "tyres",
        "Somebody had let air out of the warm tyres until they read right, so cold they are all too low.",
        "Pressure falls by about a hundredth for every three degrees, and the car settles with it.",
        _set_warm, "told", 2,
    ),
    Fault(
        "gauge-in-psi", "Gauge in another unit", "tyres",
        "The gauge showed psi, and at 15 psi to the bar the tyres looked right; they were too hard.",
        "A number without its unit is no measurement, and tyres that are too hard lift the car.",
        _in_psi, "rule_of_thumb", 2,
    ),
    Fault(
        "worn-tyre", "One tyre worn out", "tyres",
        "The {wheel} tyre had less tread than allowed.",
        "A worn tyre stands lower and is no safer for a good calibration.",
        _worn, "left_for_both", 1,
    ),
    Fault(
        "uneven-tread", "Tread uneven on an axle", "tyres",
        "The {wheel} tyre was worn far more than its neighbour across the axle.",
        "The car leans by half of the difference, and so does what is bolted to it.",
        _uneven, "left_for_both", 1,
    ),
    Fault(
        "mixed-sizes", "Mixed tyre sizes", "tyres",
        "The {wheel} tyre was of another size than the placard says.",
        "Another size has another radius, so that corner stands higher or lower.",
        _mixed, "one_for_all", 1, also=("stance", "aim"),
    ),
    Fault(
        "low-load-index", "Load index too low", "tyres",
        "The {wheel} tyre had the right size and a load index under the placard's.",
        "A tyre for a lighter car gives more under this one, and is not allowed on it.",
        _index, "one_for_all", 2,
    ),
)  # fmt: skip

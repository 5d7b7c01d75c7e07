"""How a practice car sits: springs pressed together by what it carries, on tyres that give.

The same mechanics as the engine's estimate (`measure.springs`, `measure.tyre`, `measure.axle`, `measure.fuel`), worked
forwards: from what is in the car to what a tape reads.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from readiness.measure.axle import axle_change
from readiness.measure.fuel import default_density15, density
from readiness.measure.springs import compression
from readiness.measure.tyre import diameter_mm, parse_size, vertical_stiffness

if TYPE_CHECKING:
    from readiness.practice.world import World

RATES = (28.0, 30.0)
"""N/mm at a front and a rear wheel where the sheet gives none; usual for a passenger car, common practice, no published
source."""


def load_changes(world: World) -> tuple[float, float]:
    """kg on the front and the rear axle over what the procedure asks."""
    by = [axle_change(mass, x, world.sheet.dimensions.wheelbase) for mass, x in _masses(world)]
    return sum(front for front, _ in by), sum(rear for _, rear in by)


def _masses(world: World) -> Iterator[tuple[float, float]]:
    """kg over what the procedure asks, and where they lie, m ahead of the rear axle."""
    fuel = world.sheet.fuel
    if fuel.kind != "none":
        litres = (world.fuel - fuel.level) * fuel.tank
        yield (
            litres * density(default_density15(fuel.kind).value, world.air, fuel.kind) / 1000.0,
            fuel.tank_at,
        )
    for thing, there in zip(world.sheet.load.carried, world.carried, strict=True):
        if not there:
            yield -thing.mass, thing.x
    for extra in world.extras:
        yield extra.mass, extra.x


def height(world: World, wheel: str) -> float:
    """mm at a wheel, by the sheet's kind: from the hub springs and load; from the floor the tyre as well."""
    heights = world.sheet.ride_heights
    assert heights is not None
    axle, k = ("front", 0) if wheel.endswith("f") else ("rear", 1)
    springs = world.sheet.springs
    rate = RATES[k] if springs is None else getattr(springs, axle)
    more = load_changes(world)[k] / 2.0
    found: float = getattr(heights, axle) + world.springs[wheel] - compression(1.0, rate) * more
    return found if heights.kind == "hub_to_arch" else found + _tyre(world, wheel, axle, more)


def _tyre(world: World, wheel: str, axle: str, more: float) -> float:
    """mm by which the hub is over where the placard's tyre at its pressure would hold it."""
    from readiness.checks.tyres.radius import wheel_load

    fitted, asked = parse_size(world.tyres[wheel].size), parse_size(getattr(world.sheet.placard.size, axle))
    usual = wheel_load(world.sheet, axle).value
    as_asked = compression(usual, vertical_stiffness(asked, getattr(world.sheet.placard.pressure, axle)))
    now = compression(usual + more, vertical_stiffness(fitted, world.gauge(wheel)))
    return (diameter_mm(fitted) - diameter_mm(asked)) / 2.0 + as_asked - now

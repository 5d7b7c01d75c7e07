"""How far tyres hold the wheel centres over where the placard's pressure would, from the pressures read.

A tyre is a spring that stiffens with its pressure: the soft one gives more under the same load. Serves
the checks that ask how the body sits; it asks and judges nothing itself.
"""

from __future__ import annotations

from collections.abc import Mapping

from readiness.checks.kind import Scene
from readiness.checks.tyres.check import KIND
from readiness.checks.tyres.cold import cold_pressures
from readiness.job import WHEELS, Sheet
from readiness.measure.springs import compression
from readiness.measure.tyre import load_capacity_kg, parse_size, vertical_stiffness
from readiness.measure.uncertain import Estimate, Traced, from_half_width, propagated

STIFFNESS_U = 0.1
"""Standard uncertainty of the stiffness formula, as a share; one error for all four tyres, which are of one kind."""
AXLE_LOAD_A = 0.05
"""Half width, as a share, of what a car as built carries against its sheet; common practice, no published source."""
SHARE_OF_CAPACITY = Estimate(0.65, from_half_width(0.25))
"""What a tyre carries as a share of its load index, where the sheet gives no axle loads; common practice,
no published source."""
NO_INDEX = Estimate(450.0, from_half_width(200.0))
"""kg on one wheel, where the placard gives no load index either; common practice, no published source."""


def deviations(scene: Scene) -> Mapping[str, Traced] | None:
    """How far in mm, up positive, each wheel centre is over where it is at the placard's cold pressure.

    From the cold pressures of the tyres check beside this one; None where there is none, or answers are
    missing. Errors: 'pressure <wheel>', 'tyre stiffness' shared by all four, 'load on the front axle' and rear.
    """
    beside = scene.beside(KIND)
    colds = cold_pressures(beside) if beside is not None else None
    if colds is None:
        return None
    return {w: _deviation(scene.sheet, w, colds[w]) for w in WHEELS}


def _deviation(sheet: Sheet, wheel: str, cold: Estimate) -> Traced:
    axle = "front" if wheel.endswith("f") else "rear"
    size, placard = parse_size(getattr(sheet.placard.size, axle)), getattr(sheet.placard.pressure, axle)
    on_wheel = wheel_load(sheet, axle)
    normal = vertical_stiffness(size, placard)

    def over(pressure: float, mass: float) -> float:
        return compression(mass, normal) - compression(mass, vertical_stiffness(size, pressure))

    found = Traced.of(f"pressure {wheel}", propagated(lambda p: over(p, on_wheel.value), cold))
    by_load = over(cold.value, 1.0) * on_wheel.u
    # a formula that is out by a share e gives radii out by -e of what they are, all four alike
    return Traced(
        found.value,
        {**found.effects, f"load on the {axle} axle": by_load, "tyre stiffness": -found.value * STIFFNESS_U},
    )


def pressed(sheet: Sheet, axle: str, mass: Traced) -> Traced:
    """How far in mm a tyre at the placard's pressure gives under a mass in kg on it; errors as above."""
    size, placard = parse_size(getattr(sheet.placard.size, axle)), getattr(sheet.placard.pressure, axle)
    given = mass.scaled(compression(1.0, vertical_stiffness(size, placard)))
    return given.plus(Traced(0.0, {"tyre stiffness": -given.value * STIFFNESS_U}))


def wheel_load(sheet: Sheet, axle: str) -> Estimate:
    """What one wheel of an axle carries in kg: half of the sheet's axle load, else a share of the load index."""
    if sheet.axle_loads is not None:
        half = getattr(sheet.axle_loads, axle) / 2.0
        return Estimate(half, from_half_width(AXLE_LOAD_A * half))
    size = parse_size(getattr(sheet.placard.size, axle))
    return (
        NO_INDEX if size.load_index is None else SHARE_OF_CAPACITY.scaled(load_capacity_kg(size.load_index))
    )

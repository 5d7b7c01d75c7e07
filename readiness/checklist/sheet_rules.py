"""What must make sense in a sheet, beyond being of the right type."""

from __future__ import annotations

from typing import Any

from readiness import job, units
from readiness.checklist import car
from readiness.checklist.mistakes import listed, near, shown
from readiness.checklist.numbers import holds, more_than_zero, not_negative
from readiness.checklist.result_rules import RESULT_RULES, results_agree
from readiness.checklist.spot import Spot
from readiness.checklist.walk import Rules
from readiness.measure import tyre

PLAUSIBLE_COLD = (100.0, 600.0)
"""Cold gauge pressures of road tyres, kPa; common practice, no published source."""
USUAL_COLD = (170.0, 500.0)
"""Cold pressures of placards of cars and vans, kPa; common practice, no published source."""
PLAUSIBLE_RATE = (5.0, 300.0)
"""Spring rates at one wheel, cars to vans, N/mm; common practice, no published source."""
ARCHES = {"hub_to_arch": 1, "floor_to_arch": 2}
"""Tyre radii below the arch, where the height begins."""
GAP = (-80.0, 260.0)
"""Gap in mm between tyre and arch, from a tyre tucked in to a tall off-roader; common practice, no published source."""
PLAUSIBLE_AXLE = (150.0, 4000.0)
"""Axle loads of cars and vans, kg; common practice, no published source."""


def _axles(value: job.Axles, spot: Spot) -> None:
    for axle in ("front", "rear"):
        try:
            tyre.parse_size(getattr(value, axle))
        except ValueError as error:
            here = spot.at(axle)
            here.wrong(shown(here.text), "a tyre size such as '215/60 R17 96H'", str(error))


def _pressures(value: job.Pressures, spot: Spot) -> None:
    low, high = PLAUSIBLE_COLD
    for axle in ("front", "rear"):
        here = spot.at(axle)
        if not low <= getattr(value, axle) <= high:
            expected = f"a cold tyre pressure from {low:g} to {high:g} kPa"
            here.wrong(shown(here.text), expected, _other_unit(here.text))


def _other_unit(text: str) -> str:
    """A pressure that is none of a tyre's in its unit may be one in another: '33 bar' is meant as 33 psi."""
    digits = text.strip().partition(" ")[0]
    for unit in ("kPa", "bar", "psi"):
        try:
            value = units.parse_written(f"{digits} {unit}", "kPa")
        except units.UnitsError:
            return ""
        if USUAL_COLD[0] <= value <= USUAL_COLD[1]:
            return f"It would fit as {digits} {unit}."
    return ""


def _dimensions(value: job.Dimensions, spot: Spot) -> None:
    sizes = ("wheelbase", "track_front", "track_rear", "length", "width", "front_overhang")
    if not more_than_zero(value, spot, *sizes):
        return
    for track in ("track_front", "track_rear"):
        if getattr(value, track) >= value.width:
            here = spot.at(track)
            here.wrong(shown(here.text), f"less than the width ({value.width:g} m)")
    if value.wheelbase >= value.length:
        here = spot.at("wheelbase")
        here.wrong(shown(here.text), f"less than the length ({value.length:g} m)")
    elif value.front_overhang + value.wheelbase >= value.length:
        here = spot.at("front_overhang")
        found = f"{shown(here.text)}, with the wheelbase {value.front_overhang + value.wheelbase:g} m"
        here.wrong(found, f"together less than the length ({value.length:g} m)")


def _fuel(value: job.Fuel, spot: Spot) -> None:
    if not 0 <= value.level <= 1:
        spot.at("level").wrong(shown(spot.at("level").text), "a part of the tank from 0 to 1")
    not_negative(value, spot, "tank")
    if value.kind != "none" and value.tank == 0:
        spot.at("tank").wrong("no tank", f"the size of the {value.kind} tank", "Or set kind: none.")


def _carried(value: job.Carried, spot: Spot) -> None:
    more_than_zero(value, spot, "mass")


def _ride_heights(value: job.RideHeights, spot: Spot) -> None:
    more_than_zero(value, spot, "front", "rear")


def _springs(value: job.Springs, spot: Spot) -> None:
    _plausible(value, spot, PLAUSIBLE_RATE, "N/mm", "a spring rate at one wheel")


def _axle_loads(value: job.AxleLoads, spot: Spot) -> None:
    _plausible(value, spot, PLAUSIBLE_AXLE, "kg", "an axle load")


def _plausible(value: Any, spot: Spot, bounds: tuple[float, float], unit: str, what: str) -> None:
    low, high = bounds
    holds(
        value, spot, ("front", "rear"), lambda v: low <= v <= high, f"{what} from {low:g} to {high:g} {unit}"
    )


def _tolerance(value: job.AimTolerance, spot: Spot) -> None:
    given = [axis for axis in ("azimuth", "elevation") if getattr(value, axis) is not None]
    if not given:
        spot.wrong("no tolerance", "azimuth, elevation or both")
    more_than_zero(value, spot, *given)


def _tape(value: job.Tape, spot: Spot) -> None:
    given = [mark for mark in ("front_mark", "rear_mark") if getattr(value, mark) is not None]
    if not given:
        spot.wrong("no distance", "front_mark, rear_mark or both")
    more_than_zero(value, spot, *given)


def _target(value: job.Target, spot: Spot) -> None:
    """Outwards from the wheels, a length of zero has no side."""
    if value.origin is None or value.origin.across != "wheel_line":
        return
    places: list[tuple[job.Place | job.Point, Spot]]
    places = [(value.at, spot.at("at")), *zip(value.feet, spot.at("feet").items(), strict=True)]
    for place, here in places:
        if place.y == 0:
            here.at("y").wrong(
                shown(here.at("y").text), "more than zero on the left of the car, less on the right"
            )


def _marks(value: job.Marks, spot: Spot) -> None:
    if value.front <= value.rear:
        here = spot.at("front")
        here.wrong(f"{shown(here.text)}, not ahead of the rear mark", "more than rear (x points forward)")


def _sheet(value: job.Sheet, spot: Spot) -> None:
    car.places(value, spot)
    _seen(value, spot)
    _arches(value, spot)
    _carried_by_tyres(value, spot)
    results_agree(value, spot)
    if value.powertrain == "electric" and value.fuel.kind != "none":
        spot.at("fuel", "kind").wrong(f"{shown(value.fuel.kind)} in an electric car", "none")


def _seen(sheet: job.Sheet, spot: Spot) -> None:
    """What a sensor sees is a target of this sheet."""
    targets = [t.id for t in sheet.targets]
    for sensor in spot.at("sensors").items():
        for seen in sensor.at("sees").items():
            if seen.text not in targets:
                found = f"no such target, {shown(seen.text)}"
                seen.wrong(found, f"one of {listed(targets)}", near(seen.text, targets))


def _arches(sheet: job.Sheet, spot: Spot) -> None:
    """An arch is over its tyre: from the hub a radius and a little, from the floor a diameter and a little."""
    heights = sheet.ride_heights
    if heights is None or any(m.where.startswith("placard") for m in spot.mistakes):
        return
    for axle in ("front", "rear"):
        radius = tyre.diameter_mm(tyre.parse_size(getattr(sheet.placard.size, axle))) / 2
        spans = {kind: (n * radius + GAP[0], n * radius + GAP[1]) for kind, n in ARCHES.items()}
        height, here = getattr(heights, axle), spot.at("ride_heights", axle)
        fitting = [kind for kind, (low, high) in spans.items() if low <= height <= high]
        if heights.kind not in fitting:
            low, high = spans[heights.kind]
            expected = f"{heights.kind} from {low:.0f} to {high:.0f} mm with this tyre size"
            here.wrong(shown(here.text), expected, f"It reads like {fitting[0]}." if fitting else "")


def _carried_by_tyres(sheet: job.Sheet, spot: Spot) -> None:
    """Two tyres of the placard's load index carry their axle."""
    if sheet.axle_loads is None or any(m.where.startswith("placard") for m in spot.mistakes):
        return
    for axle in ("front", "rear"):
        index = tyre.parse_size(getattr(sheet.placard.size, axle)).load_index
        most = 2 * tyre.load_capacity_kg(index) if index is not None else float("inf")
        here = spot.at("axle_loads", axle)
        if getattr(sheet.axle_loads, axle) > most:
            here.wrong(shown(here.text), f"at most {most:.0f} kg, what two tyres of load index {index} carry")


SHEET_RULES: Rules = {
    **RESULT_RULES,
    job.Axles: _axles,
    job.Pressures: _pressures,
    job.Dimensions: _dimensions,
    job.Fuel: _fuel,
    job.Carried: _carried,
    job.RideHeights: _ride_heights,
    job.Springs: _springs,
    job.AxleLoads: _axle_loads,
    job.AimTolerance: _tolerance,
    job.Tape: _tape,
    job.Target: _target,
    job.Marks: _marks,
    job.Sheet: _sheet,
}

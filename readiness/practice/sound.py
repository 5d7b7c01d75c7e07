"""A sound car in a sound bay: everything within its limits, with ordinary scatter, and clearly so."""

from __future__ import annotations

import random
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from readiness import units
from readiness.checklist.model import Check
from readiness.checks.car import foot_places, wheel_places
from readiness.checks.clear_area.zones import zones_of
from readiness.checks.floor.from_survey import under_car
from readiness.checks.floor.surveyed import tools_of
from readiness.checks.kind import Place
from readiness.checks.place import in_bay
from readiness.job import WHEELS, Bay, Sheet, Standing
from readiness.measure.atmosphere import standard_pressure
from readiness.measure.plan import Area, BoxAt, DiscAt, PointAt, signed_clearance
from readiness.practice.ground import Ground, ground
from readiness.practice.sights.standing import moved
from readiness.practice.tool import Tool
from readiness.practice.world import XY, Extra, Thing, Tyre, World

OVER_PLACARD = 2.5
"""kPa; the middle between the limits of cold pressure, where no gauge need decide."""
FROM_ROAD = 0.2
"""Share of cars that were driven in just now: each tyre then has a temperature of its own."""
CLEAR_BY = 0.45
"""m; clear of every zone by so much, nobody need measure finely."""
LITTLE = ("an umbrella", "a first-aid bag", "a folded blanket", "a box of road maps")
BINS = ("a plastic bucket", "a plastic bin", "a stack of plastic crates")


def sound(seed: str, sheet: str, sides: tuple[str, ...]) -> World:
    """One sound car. The same seed gives the same one to everybody."""
    on, chance = ground(sheet), random.Random(f"sound {seed} {sheet}")
    air = chance.uniform(15.0, 23.0)
    parked = "road" if chance.random() < FROM_ROAD else "stood"
    standing = moved(on.bay.standing, chance.uniform(-0.008, 0.008), chance.uniform(-0.008, 0.008))
    world = World(
        seed=seed, sheet=on.sheet, checklist=on.checklist, bay=on.bay, shop=on.shop, instruments=on.instruments,
        tools={i.id: Tool.drawn(i, seed) for i in on.instruments.values()}, sides=sides, air=air,
        atmosphere=standard_pressure(on.shop.altitude) + chance.uniform(-1.2, 1.2), parked=parked,
        tyres=_tyres(on.sheet, chance, air, parked), fuel=_fuel(on.sheet, chance),
        carried=tuple(True for _ in on.sheet.load.carried), extras=_extras(on.sheet, chance),
        springs=_springs(chance), marks=(chance.uniform(-1.0, 1.0), chance.uniform(-1.0, 1.0)),
        rims=_rims(on.sheet, chance), standing=standing, on_marks=True,
        floor=floor_under(on, on.bay, sides, standing, chance), light=_light(on, sides, chance),
        numbers=_numbers(on, sides, chance, air), kit={}, others=(), document=on.sheet.document.reference,
    )  # fmt: skip
    return _furnished(world, chance)


# --- the car -------------------------------------------------------------------------------------


def _tyres(sheet: Sheet, chance: random.Random, air: float, parked: str) -> dict[str, Tyre]:
    tyres = {}
    for axle, wheels in (("front", ("lf", "rf")), ("rear", ("lr", "rr"))):
        cold = getattr(sheet.placard.pressure, axle) + OVER_PLACARD + chance.uniform(-0.9, 0.9)
        tread, warmer = chance.uniform(4.5, 7.0), chance.uniform(8.0, 16.0)
        for wheel in wheels:
            by = warmer + chance.uniform(-1.5, 1.5) if parked == "road" else chance.uniform(-0.3, 0.3)
            tyres[wheel] = Tyre(
                cold + chance.uniform(-0.5, 0.5), air + by, tread + chance.uniform(-0.3, 0.3),
                getattr(sheet.placard.size, axle),
            )  # fmt: skip
    return {w: tyres[w] for w in WHEELS}


def _fuel(sheet: Sheet, chance: random.Random) -> float:
    off = chance.uniform(-0.03, 0.03)
    return min(sheet.fuel.level + off, 1.0) if sheet.fuel.kind != "none" else 0.0


def _extras(sheet: Sheet, chance: random.Random) -> tuple[Extra, ...]:
    """Now and then something that weighs nothing to speak of."""
    station = chance.choice(sheet.load.stations)
    thing = Extra(chance.choice(LITTLE), round(chance.uniform(0.5, 2.0), 1), station.name, station.x)
    return (thing,) if chance.random() < 0.25 else ()


def _springs(chance: random.Random) -> dict[str, float]:
    """Four corners of one plane, nearly: a sound body is not warped."""
    up, roll, pitch = chance.uniform(-2.0, 2.0), chance.uniform(-1.0, 1.0), chance.uniform(-1.5, 1.5)
    return {
        w: up
        + (roll if w[0] == "l" else -roll)
        + (pitch if w[1] == "f" else -pitch)
        + chance.uniform(-0.2, 0.2)
        for w in WHEELS
    }


def _rims(sheet: Sheet, chance: random.Random) -> tuple[float, float]:
    """mm between the outer edges of the rims: the track, and a rim's width."""
    width = chance.uniform(180.0, 240.0)
    d = sheet.dimensions
    return d.track_front * 1000.0 + width, d.track_rear * 1000.0 + width


# --- the bay -------------------------------------------------------------------------------------


def floor_under(
    on: Ground, bay: Bay, sides: tuple[str, ...], standing: Standing, chance: random.Random
) -> dict[str, float]:
    """mm under wheels and feet where the car stands: as surveyed, and a little of the floor's own."""
    assert bay.survey is not None
    where = {**wheel_places(on.sheet), **foot_places(on.sheet, sides)}
    tools = tuple(on.instruments[name] for name in tools_of(bay.survey))
    surface = under_car(bay.survey, standing, tools, tuple(where.items()), on.shop.units).surface
    return {place: surface.heights[place] + chance.uniform(-0.4, 0.4) for place in where}


def _light(on: Ground, sides: tuple[str, ...], chance: random.Random) -> dict[Place, float]:
    lit: dict[Place, float] = {}
    for place, check in _places_of(on, "light", sides):
        limits = check.limits
        bright = limits.least * chance.uniform(1.3, 1.6)
        for n, _ in enumerate(limits.places, 1):
            lit[(*place, f"light.{n}")] = bright * chance.uniform(0.92, 1.08)
    return lit


def _numbers(on: Ground, sides: tuple[str, ...], chance: random.Random, air: float) -> dict[Place, float]:
    read: dict[Place, float] = {}
    for place, check in _places_of(on, "readings", sides):
        for item in check.limits.items:
            read[(*place, item.key)] = air if item.shared else within(item, chance)
    return read


def within(item: object, chance: random.Random) -> float:
    """Well within the limits of a single reading."""
    low, high = (_limit(item, end) for end in ("low", "high"))
    if low is None or high is None:
        return (high or 0.0) * chance.uniform(0.35, 0.6) if low is None else low * chance.uniform(1.2, 1.6)
    return (low + high) / 2.0 + chance.uniform(-0.3, 0.3) * (high - low) / 2.0


def _limit(item: object, end: str) -> float | None:
    text = getattr(item, end)
    return None if text is None else units.parse_written(text, units.MEASURES[item.measures])  # type: ignore[attr-defined]


def _places_of(on: Ground, kind: str, sides: tuple[str, ...]) -> Iterator[tuple[tuple[str, str], Check]]:
    for check in on.checklist.walk():
        if check.kind == kind:
            yield from (((check.id, side), check) for side in (sides if check.per_side else ("",)))


# --- things about the car ------------------------------------------------------------------------


def _furnished(world: World, chance: random.Random) -> World:
    """Now and then a piece of own kit stands near and harmless, or something of plastic does."""
    limits = next(c for c in world.checklist.walk() if c.kind == "clear_area").limits
    n = chance.randrange(len(limits.kit)) + 1
    piece = limits.kit[n - 1]
    kit: dict[int, Thing] = {}
    others: tuple[Thing, ...] = ()
    way = chance.choice(("car", "tapes", "bay"))
    if chance.random() < 0.35 and (at := clear_place(world, piece.radius, chance)):
        kit = {n: Thing(piece.name, at, piece.radius, piece.height, piece.metal, way)}
    if chance.random() < 0.25 and (at := clear_place(world, 0.25, chance)):
        others = (Thing(chance.choice(BINS), at, 0.25, 0.4, "no"),)
    return replace(world, kit=kit, others=others)


def clear_place(world: World, radius: float, chance: random.Random) -> XY | None:
    """A place in the bay where a thing disturbs no zone of any side; None where none was found."""
    for _ in range(60):
        at = _somewhere(world, chance)
        if _free(world, at, radius):
            return at
    return None


def _somewhere(world: World, chance: random.Random) -> XY:
    return round(chance.uniform(-4.0, 8.0), 2), round(chance.uniform(-3.5, 3.5), 2)


def _free(world: World, at: XY, radius: float) -> bool:
    """In the bay, beside the car, clear of every zone, and not in line with the wheels, where tapes tell nothing."""
    thing, d = DiscAt(*at, radius), world.sheet.dimensions
    front = d.wheelbase + d.front_overhang
    body = BoxAt(front - d.length, -d.width / 2, front, d.width / 2)
    bay = Area(tuple((p.x, p.y) for p in world.bay.outline))
    return (
        signed_clearance(bay, PointAt(*in_bay(world.standing, at))) < -radius
        and signed_clearance(body, thing) > 0.4
        and all(c > CLEAR_BY for c in clearances(world, thing))
    )


def clearances(world: World, thing: DiscAt) -> Sequence[float]:
    """m to every zone of the sheet, on all sides of the job."""
    sides: Mapping[str, None] = dict.fromkeys(world.sides)
    return [
        signed_clearance(shape, thing) for side in sides for _, shape in zones_of(world.sheet.zones, side)
    ]

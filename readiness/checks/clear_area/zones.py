"""Keep-clear zones of the sheet as shapes in car axes, and what each of them keeps out."""

from __future__ import annotations

from functools import lru_cache

from readiness.job import HeightBand, Zone
from readiness.measure.plan import Area, BoxAt, Capsule, DiscAt, SectorAt, Shape, mirrored

METAL_FREE, PEOPLE_FREE, WALKING = "metal-free", "people-free", "walking room"
PERSON = HeightBand(low=0.0, high=2.0)
"""What a person bumps into where a zone of walking room gives no heights; common practice, no published source."""

Zones = list[tuple[Zone, Shape]]


def zones_of(zones: tuple[Zone, ...], side: str) -> Zones:
    """Zones with their shapes on one side ('right': mirrored, any other: as drawn)."""
    return [(zone, zone_shape(zone, side)) for zone in zones]


@lru_cache(maxsize=256)  # sheets stay the same from answer to answer
def zone_shape(zone: Zone, side: str) -> Shape:
    """A zone of the sheet in car axes: as drawn, or its mirror image for the right side."""
    shape = _as_drawn(zone)
    return mirrored(shape) if side == "right" else shape


@lru_cache(maxsize=256)
def same_on_both(zone: Zone) -> bool:
    """Whether a zone is its own mirror image, so that what is seen of it counts for both sides."""
    left, right = zone_shape(zone, "left"), zone_shape(zone, "right")
    return _rounded(left) == _rounded(right)


def band_of(zone: Zone) -> HeightBand | None:
    """The heights in which a zone counts; None: all of them."""
    return PERSON if zone.height is None and zone.reason == WALKING else zone.height


def keeps_out(zone: Zone, metal: str, people: bool) -> bool:
    """Whether a zone is there for such a thing, whatever its height.

    Metal-free: what is metal or may be. People-free: what somebody works at or walks through. Walking room and
    nothing between: everything.
    """
    if zone.reason == METAL_FREE:
        return metal != "no"
    return people if zone.reason == PEOPLE_FREE else True


def zone_name(zone: Zone) -> str:
    """A zone in a sentence."""
    what = {METAL_FREE: "metal-free zone", PEOPLE_FREE: "people-free zone", WALKING: "walking room"}
    return f"the {what.get(zone.reason, 'zone')} '{zone.id}'"


def _as_drawn(zone: Zone) -> Shape:
    if zone.disc is not None:
        return DiscAt(zone.disc.at.x, zone.disc.at.y, zone.disc.radius)
    if zone.sector is not None:
        s = zone.sector
        return SectorAt(s.at.x, s.at.y, s.radius, s.start, s.end)
    if zone.rectangle is not None:
        a, b = zone.rectangle.corner, zone.rectangle.opposite
        return BoxAt(a.x, a.y, b.x, b.y)
    if zone.corridor is not None:
        a, b = zone.corridor.start, zone.corridor.end
        return Capsule(a.x, a.y, b.x, b.y, zone.corridor.half_width)
    if zone.polygon is not None:
        return Area(tuple((p.x, p.y) for p in zone.polygon))
    raise ValueError(f"zone {zone.id} has no shape")


def _rounded(shape: Shape) -> tuple[object, ...]:
    """A shape's corners to a tenth of a mm and in no order, with its radius; a slice with its directions."""
    if isinstance(shape, SectorAt):
        turns = (round(shape.start % 360.0, 4), round(shape.angle, 4))
        return ("slice", round(shape.x, 4), round(shape.y, 4), shape.radius, *turns)
    return frozenset((round(x, 4) + 0.0, round(y, 4) + 0.0) for x, y in shape.core), shape.round_by

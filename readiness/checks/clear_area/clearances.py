"""One thing against one zone: how far clear or how far in, in a sentence, and which way out."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

from readiness.checks.clear_area.things import METAL_FREE, Thing, matters, may_lie_below
from readiness.checks.kind import Part, Scene
from readiness.checks.parts import number_part
from readiness.job import Zone
from readiness.measure.decide import Call, decide
from readiness.measure.plan import Shape, nearest, signed_clearance
from readiness.measure.uncertain import Estimate

Gap = tuple[tuple[float, float], tuple[float, float]]
Zones = list[tuple[Zone, Shape]]


@dataclass(frozen=True, slots=True)
class Pair:
    """One thing against one zone."""

    zone: Zone
    shape: Shape
    thing: Thing
    clear: float
    """m; negative is how far in."""
    call: Call

    @property
    def gap(self) -> Gap:
        """The places on zone and thing between which the clearance lies."""
        return nearest(self.shape, self.thing.shape)


def pairs_of(scene: Scene, margin: float, zones: Zones, things: list[Thing]) -> Iterator[Pair]:
    for zone, shape in zones:
        for thing in things:
            if matters(zone, thing):
                clear = signed_clearance(shape, thing.shape)
                call = decide(clear, thing.u, margin, None, scene.factor).call
                if clear <= 0 and call == "pass":  # no margin asked and no uncertainty: still in
                    call = "fail"
                if call == "fail" and may_lie_below(zone, thing):
                    call = "too_close"
                yield Pair(zone, shape, thing, clear, call)


def pair_part(scene: Scene, margin: float, pair: Pair) -> Part:
    name, thing, clear = zone_name(pair.zone), pair.thing, pair.clear
    part = number_part(
        scene, f"{pair.zone.id}/{thing.key}", f"Distance from {the(thing)} to {name}",
        Estimate(clear, thing.u), "m", low=margin, readings=thing.readings,
    )  # fmt: skip
    label, guard = f"{capital(thing.name)}, {pair.zone.id}", part.guard or 0.0
    remedy = "" if pair.call == "pass" else _remedy(scene, pair, margin + guard - clear)
    reason = part.reason if clear > 0 else _inside(scene, margin, pair, part.guard)
    if pair.call != "pass" and may_lie_below(pair.zone, thing):
        reason += " Its height is too near the zone's lower edge to tell whether it counts."
    p = part.p_conform if clear > 0 or part.u else 0.0
    return replace(part, label=label, remedy=remedy, outcome=pair.call, p_conform=p, reason=reason)


def _inside(scene: Scene, margin: float, pair: Pair, guard: float | None) -> str:
    stands = f"reaches {scene.show(-pair.clear, 'm')} into" if pair.clear < 0 else "touches"
    asked = f"has to stay {scene.show(margin, 'm')} clear of it" if margin else "may not"
    unsure = f" (uncertainty ±{scene.show(guard, 'm')})" if guard else ""
    return f"{capital(the(pair.thing))} {stands} {zone_name(pair.zone)} and {asked}{unsure}."


def zone_name(zone: Zone) -> str:
    return f"the metal-free zone '{zone.id}'" if zone.reason == METAL_FREE else f"the zone '{zone.id}'"


def _remedy(scene: Scene, pair: Pair, short: float) -> str:
    thing = pair.thing
    if thing.fixed:
        return f"{capital(the(thing))} is fixed: choose another bay or place."
    way = way_out(pair.gap, pair.clear, short)
    steps = " and ".join(f"{scene.show(by, 'm')} {word}" for word, by in way)
    again = (
        "then correct its place in the bay's file"
        if thing.key.startswith("bay.")
        else "then enter its place again"
    )
    move = f"at least {steps}" if steps else "away from the zone"
    return f"Move {the(thing)} {move}, or take it out of the area, {again}."


def way_out(gap: Gap, clear: float, short: float) -> list[tuple[str, float]]:
    """How to move a thing so that it gains `short` m of clearance: direction and metres, whole cm up.

    Seen from the driver's seat. A way that is nearly along or across the car is given as one move, any
    other as two. Both do for a convex zone: they carry the thing `short` away along the line of the gap.
    """
    (zx, zy), (tx, ty) = gap
    out = 1.0 if clear > 0 else -1.0
    dx, dy = out * (tx - zx), out * (ty - zy)
    length = math.hypot(dx, dy)
    if length < 1e-9:
        return []
    nx, ny = dx / length, dy / length
    along = ("forward" if nx > 0 else "backward", _up(short / abs(nx) if abs(ny) < 0.2 else short * abs(nx)))
    across = (
        "to the left" if ny > 0 else "to the right",
        _up(short / abs(ny) if abs(nx) < 0.2 else short * abs(ny)),
    )
    if abs(ny) < 0.2:
        return [along]
    return [across] if abs(nx) < 0.2 else [along, across]


def _up(metres: float) -> float:
    """Up to the next whole centimetre."""
    return math.ceil(metres * 100.0 - 1e-9) / 100.0


def the(thing: Thing) -> str:
    return f"the {thing.name}" if thing.name[:1].islower() else thing.name


def capital(text: str) -> str:
    return text[:1].upper() + text[1:]

"""One thing against one zone: how far clear or how far in, how sure that is, in a sentence."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from readiness.checks.clear_area.things import Thing, matters, may_lie_below
from readiness.checks.clear_area.zones import Zones, zone_name
from readiness.checks.kind import WORST_FIRST, Part, Scene
from readiness.checks.parts import number_part
from readiness.checks.words import capital, the
from readiness.job import Zone
from readiness.measure.decide import Call, conformance, decide
from readiness.measure.overlap import TOUCH, XY
from readiness.measure.plan import Shape, nearest, signed_clearance
from readiness.measure.uncertain import Estimate

Gap = tuple[XY, XY]
NO_WAY = 1e-6
"""m; places nearer to one another show no direction."""
MOST_DETAILS = 30


@dataclass(frozen=True, slots=True)
class Pair:
    """One thing against one zone."""

    zone: Zone
    shape: Shape
    thing: Thing
    clear: float
    """m; negative is how far in."""
    u: float
    """Its standard uncertainty, m."""
    call: Call

    @property
    def gap(self) -> Gap:
        """The places on zone and thing between which the clearance lies."""
        return nearest(self.shape, self.thing.shape)

    @property
    def p_in(self) -> float:
        """Probability that the thing reaches into the zone: Phi(-c / u); touching counts as in."""
        if self.u == 0.0:
            return 1.0 if self.clear <= TOUCH else 0.0
        return conformance(self.clear, self.u, None, 0.0)


def pairs_of(zones: Zones, things: Iterable[Thing], margin: float, factor: float) -> list[Pair]:
    """Every thing against every zone that it matters to, the worst first."""
    pairs = [
        judged(zone, shape, thing, margin, factor)
        for thing in things
        for zone, shape in zones
        if matters(zone, thing)
    ]
    return sorted(pairs, key=lambda p: (WORST_FIRST.index(p.call), p.clear))


def judged(zone: Zone, shape: Shape, thing: Thing, margin: float, factor: float) -> Pair:
    """One thing against one zone: outside by the margin and the guard, or in, or too close to call. Lengths in m."""
    clear = signed_clearance(shape, thing.shape)
    u = _u_of(shape, thing, clear)
    call = decide(clear, u, margin, None, factor).call
    if clear <= TOUCH and call == "pass":  # no margin asked and no uncertainty: still in
        call = "fail"
    if call == "fail" and may_lie_below(zone, thing):
        call = "too_close"
    return Pair(zone, shape, thing, clear, u, call)


def way_between(shape: Shape, thing: Shape, clear: float) -> tuple[XY | None, XY]:
    """The unit vector along which a thing gains clearance, and the place on it that is nearest; None where all do."""
    (zx, zy), (tx, ty) = nearest(shape, thing)
    length = math.hypot(tx - zx, ty - zy)
    if length < NO_WAY:
        return None, (tx, ty)
    out = math.copysign(1.0 / length, clear)
    return ((tx - zx) * out, (ty - zy) * out), (tx, ty)


def _u_of(shape: Shape, thing: Thing, clear: float) -> float:
    """Of the clearance, in the direction in which it lies."""
    if all(d.plain for d in thing.doubts):
        return max(d.u for d in thing.doubts)
    return thing.u(*way_between(shape, thing.shape, clear))


# --- in words ------------------------------------------------------------------------------------


def pair_part(scene: Scene, margin: float, pair: Pair, remedy: str) -> Part:
    """A pair as a part of the finding; the remedy stands only where it does not pass."""
    thing, clear = pair.thing, pair.clear
    part = number_part(
        scene, f"{pair.zone.id}/{thing.key}", f"{capital(thing.name)}, {pair.zone.id}",
        Estimate(clear, pair.u), "m", low=margin, remedy=remedy, readings=thing.readings,
        said=f"Distance from {the(thing.name)} to {zone_name(pair.zone)}",
    )  # fmt: skip
    if pair.call == "pass":
        return part
    reason = part.reason if clear > TOUCH else _inside(scene, margin, pair, part.guard)
    if may_lie_below(pair.zone, thing):
        reason += " Its height is too near the zone's lower edge to tell whether it counts."
    return replace(
        part, reason=reason, outcome=pair.call, remedy=remedy,
        p_conform=part.p_conform if clear > TOUCH or part.u else 0.0,
    )  # fmt: skip


def details(scene: Scene, pairs: list[Pair]) -> Iterator[str]:
    """How all of it was worked out, a line a pair, the worst first."""
    if pairs:
        yield f"Clear of each zone, ±{scene.factor:g} times the standard uncertainty, and how likely it is in:"
    for p in pairs[:MOST_DETAILS]:
        yield (
            f"{p.zone.id}, {p.thing.name}: {scene.show(p.clear, 'm')} ± {scene.show(scene.factor * p.u, 'm')}, "
            f"in with {_percent(p.p_in)}"
        )
    if left := pairs[MOST_DETAILS:]:
        clear = scene.show(min(p.clear for p in left), "m")
        yield f"and {len(left)} more, none nearer than {clear}"


def _percent(p: float) -> str:
    """Never rounded up to certainty nor down to none."""
    if p < 0.0005:
        return "less than 0.1 %"
    return "more than 99.9 %" if p > 0.9995 else f"{100.0 * p:.1f} %"


def _inside(scene: Scene, margin: float, pair: Pair, guard: float | None) -> str:
    stands = f"reaches {scene.show(-pair.clear, 'm')} into" if pair.clear < -TOUCH else "touches"
    asked = f"has to stay {scene.show(margin, 'm')} clear of it" if margin else "may not"
    unsure = f" (uncertainty ±{scene.show(guard, 'm')})" if guard else ""
    return f"{capital(the(pair.thing.name))} {stands} {zone_name(pair.zone)} and {asked}{unsure}."

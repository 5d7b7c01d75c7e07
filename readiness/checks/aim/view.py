"""The aim of a sensor as lines for who asks and as a plan; and its directions in words."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from readiness.checks.aim import layout
from readiness.checks.aim.causes import TELLS
from readiness.checks.aim.pairs import AXES, Seen
from readiness.checks.car import car_outline, wheel_places
from readiness.checks.common import signed_height
from readiness.checks.kind import Scene
from readiness.checks.picture import Line, Picture, Shape, Spot
from readiness.checks.words import capital
from readiness.measure.aim import Axis, Budget, Effect
from readiness.measure.uncertain import Traced

WAYS = {"azimuth": ("to the left", "to the right"), "elevation": ("up", "down")}
TWO_SIDED = 1.96
"""Standard uncertainties to either side that hold 95 % (normal distribution)."""

SIGNS = (
    "Azimuth is left or right, elevation up or down, as the sensor sees it; plus is left and up. ± is the uncertainty "
    "that the verdict takes, {:g} standard uncertainties."
)
AGAINST = (
    "Heights count from the plane of the four wheel contacts: a tilt that car and target share does nothing unless "
    "the stand is set plumb."
)
MM = "Millimetres at the target are along the arc: in plan for azimuth, upright for elevation."
FINE = 0.1
"""deg; a tolerance under this wants one digit more."""
THRUST = (
    "The target stands where the centre marks put it; its direction counts from the thrust line, so the thrust "
    "angle is taken off the azimuth."
)


def way(axis: Axis, total: Traced, factor: float) -> str:
    """'seen to the left', or that it is seen straight as far as one can tell."""
    if abs(total.value) <= factor * total.u:
        return "seen straight, as near as can be told"
    return f"seen {WAYS[axis][total.value < 0]}"


def gone(scene: Scene, axis: Axis, effect: Traced) -> str:
    """An effect with its direction, '0.1° to the left'; only its uncertainty where that is larger."""
    unsure = scene.factor * effect.u
    if abs(effect.value) < max(unsure, TELLS * effect.u):
        return f"±{scene.show(unsure, 'deg')}"
    return f"{scene.show(abs(effect.value), 'deg')} {WAYS[axis][effect.value < 0]}"


# --- details -------------------------------------------------------------------------------------


def details(scene: Scene, found: Sequence[Seen]) -> tuple[str, ...]:
    """How each aim came about, cause by cause; what the signs mean; the tape distances to check."""
    told = [line for s in found if s.budget is not None for line in _table(scene, s, s.budget)]
    if told:
        thrust = (THRUST,) if scene.sheet.refers_to == "thrust_line" else ()
        told += [SIGNS.format(scene.factor), AGAINST, MM, *thrust]
    rows = layout.rows(scene.sheet, (scene.side or "single",))
    tapes = [layout.said(row, scene.show) for row in rows]
    return (*told, *tapes, *((layout.CAUTION,) if tapes else ()))


def _table(scene: Scene, found: Seen, budget: Budget) -> Iterable[str]:
    """The answer, then its causes with the largest first."""
    k, digits = scene.factor, 3 if any(t < FINE for t in found.pair.tolerance.values()) else 2
    yield f"{capital(found.pair.name)}, {scene.show(budget.aim.range, 'm')} away: {_both(budget.total, k, digits)}"
    worth = {cause.name for axis in AXES for cause, _ in found.largest(axis, k)}
    for cause in sorted(found.causes, key=lambda c: -_size(budget.groups[c.name], k)):
        yield f"  {cause.name}: {_both(budget.groups[cause.name], k, digits)}"
        if cause.name in worth:
            yield f"    {cause.off}: {cause.remedy}"
    yield f"  95 % of the time: {', '.join(_between(axis, budget.total.on(axis), digits) for axis in AXES)}"
    worst = (f"{axis} {budget.worst(axis, k):.{digits}f}°" for axis in AXES)
    yield f"  worst-case sum, as if all went one way: {', '.join(worst)}"


def _size(effect: Effect, factor: float) -> float:
    return sum(abs(effect.on(axis).value) + factor * effect.on(axis).u for axis in AXES)


def _both(effect: Effect, factor: float, digits: int) -> str:
    """An effect on both axes, without what rounds to nothing: 'azimuth 0.12° to the left ±0.01°'."""
    words = (_one(axis, effect.on(axis), factor, digits) for axis in AXES)
    return ", ".join(w for w in words if w) or f"under {10.0**-digits:g}°"


def _one(axis: Axis, effect: Traced, factor: float, digits: int) -> str:
    size, unsure = round(abs(effect.value), digits), round(factor * effect.u, digits)
    if not size and not unsure:
        return ""
    told = f" {size:.{digits}f}° {WAYS[axis][effect.value < 0]}" if size else ""
    return f"{axis}{told}" + (f" ±{unsure:.{digits}f}°" if unsure else "")


def _between(axis: Axis, effect: Traced, digits: int) -> str:
    reach = TWO_SIDED * effect.u
    return f"{axis} {effect.value - reach:+.{digits}f}° to {effect.value + reach:+.{digits}f}°"


# --- picture -------------------------------------------------------------------------------------


def picture(scene: Scene, found: Sequence[Seen]) -> Picture:
    """The car from above, each sensor and its target with how far off it is seen, feet with their heights."""
    shapes: list[Shape] = [car_outline(scene.sheet)]
    shapes += [Spot("wheel", at) for at in wheel_places(scene.sheet).values()]
    mirror = -1.0 if scene.side == "right" else 1.0
    drawn: set[str] = set()
    for s in found:
        sensor, target = s.pair.sensor, s.pair.target
        eye, meant = ((p.x, mirror * p.y) for p in (sensor.at, target.at))
        off = any(s.share(axis, scene.factor) > 1.0 for axis in AXES)
        shapes.append(Line("clearance", (eye, meant), _off_by(scene, s), off))
        if sensor.id not in drawn:
            shapes.append(Spot("sensor", eye, sensor.id))
        if target.id not in drawn:
            shapes += [Spot("target", meant, target.id, off), *_feet(scene, s, mirror)]
        drawn |= {sensor.id, target.id}
    return tuple(shapes)


def _off_by(scene: Scene, found: Seen) -> str:
    """How far off the target is seen on each axis, in mm where it stands; nothing where it is seen straight."""
    if found.budget is None:
        return ""
    totals = {axis: found.budget.total.on(axis) for axis in AXES}
    told = {axis: t.value for axis, t in totals.items() if abs(t.value) > scene.factor * t.u}
    size = {axis: scene.show(round(abs(found.budget.aim.mm(axis, v))), "mm") for axis, v in told.items()}
    words = [f"{size[axis]} {WAYS[axis][v < 0].removeprefix('to the ')}" for axis, v in told.items()]
    return ", ".join(words)


def _feet(scene: Scene, found: Seen, mirror: float) -> list[Shape]:
    over = list((found.over or {}).values())
    if not over or found.pair.stands.lies:
        return []
    feet = zip(found.pair.target.feet, over, strict=True)
    return [Spot("height", (foot.x, mirror * foot.y), signed_height(scene, t.value)) for foot, t in feet]

"""Where a sensor sees its target, against where the procedure means it to: exact geometry of rigid bodies.

Axes (ISO 8855) lie in the plane of the four wheel contacts: x forward, y left, z up, its normal. Lengths
along the floor are those of the tape; heights of the floor are against gravity, from any datum, so that
height = a + B x + C y + n cos(tilt), with (B, C, cos tilt) the direction of gravity and n the height over
the plane of the wheels (least squares). A tilt that car and target share takes no part in n.

- Body: its four corners are off by so much; heave, roll and pitch (least squares) turn it about a point over
  the middle of the wheels at wheel-centre height. Warp moves no sensor.
- Target: laid out along the line through the front and rear centre mark, lengths along counted from the
  point of that line at `origin_x`. It stands on its feet (`footing`), its centre at its height over the
  floor along its axis: square to the floor under it, or plumb.
- Thrust: where the procedure refers to the thrust line, give its angle. The target still stands where the
  marks put it, but its direction counts from the thrust line: a far target straight ahead is seen off by
  the yaw of the marks minus the thrust angle.

Causes, by name: `floor.<corner>`, `floor.foot.<n>` (mm, n from 1), `tilt.along`, `tilt.across` (mm/m, of the
plane of the wheels against gravity, on top of what the heights at the wheels say), `body.<corner>` and
`tyre.<corner>` (mm, up; they add), `mark.front`, `mark.rear` (mm, left), `thrust` (deg, to the left).
What is not named is zero.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal, NamedTuple

from readiness.measure.attitude import XYZ, roll_pitch_of_slopes, rotation, turned, turned_back
from readiness.measure.decide import DEFAULT_FACTOR
from readiness.measure.footing import XY, footing
from readiness.measure.uncertain import Traced

CORNERS = ("lf", "lr", "rr", "rf")
TILTS = ("tilt.along", "tilt.across")
STEP = 0.1
"""By which each cause is moved either way for its gradient: 0.1 mm, 0.1 mm/m, 0.1 deg. Curvature over that
counts less than a millionth."""
OVERHEAD = 1e-3
"""A target nearer to straight above or below than this (plan distance over range) has no azimuth."""

Axis = Literal["azimuth", "elevation"]


@dataclass(frozen=True, slots=True)
class Geometry:
    """What the procedure means; lengths in m, on a perfect floor with the car as the sheet has it.

    `wheels` in the order of CORNERS; `marks` are x of the front and the rear one; a target that lies on the
    floor has one foot, at its own place. Raises ValueError where there is nothing to see or no line to lay out.
    """

    sensor: XYZ
    target: XYZ
    feet: tuple[XY, ...]
    wheels: tuple[XY, XY, XY, XY]
    marks: tuple[float, float]
    pivot: float = 0.3
    origin_x: float = 0.0
    stand: Literal["floor", "plumb"] = "floor"

    def __post_init__(self) -> None:
        if not self.marks[0] > self.marks[1]:
            raise ValueError("the front centre mark must lie ahead of the rear one")
        if not self.feet:
            raise ValueError("a target needs at least one foot, or its own place where it lies")
        range_ = math.dist(self.sensor, self.target)
        if math.dist(self.sensor[:2], self.target[:2]) <= OVERHEAD * range_:
            raise ValueError("the target lies straight above or below the sensor: there it has no azimuth")

    @property
    def causes(self) -> tuple[str, ...]:
        """The names of everything that may be off."""
        feet = (f"floor.foot.{n}" for n in range(1, len(self.feet) + 1))
        corners = (f"{what}.{c}" for what in ("floor", "body", "tyre") for c in CORNERS)
        return (*feet, *corners, *TILTS, "mark.front", "mark.rear", "thrust")


class Aim(NamedTuple):
    """How far off a sensor sees its target, in degrees, azimuth > 0 to the left and elevation > 0 up; m to it."""

    azimuth: float
    elevation: float
    range: float
    plan: float
    """Distance in plan."""

    def mm(self, axis: Axis, degrees: float) -> float:
        """An error in mm at the target: the arc, in plan for azimuth and upright for elevation."""
        return 1000.0 * math.radians(degrees) * (self.plan if axis == "azimuth" else self.range)


def aim(geometry: Geometry, raw: Mapping[str, float]) -> Aim:
    """What the sensor sees with these causes; see the module. Raises ValueError for a cause of no such name."""
    unknown = raw.keys() - set(geometry.causes)
    if unknown:
        raise ValueError(f"there is no cause named {', '.join(sorted(unknown))}")
    return _aim(geometry, raw)


def _aim(g: Geometry, raw: Mapping[str, float]) -> Aim:
    body, sensor = _body(g, raw)
    x, y, z = (t - s for t, s in zip(_target(g, raw), sensor, strict=True))
    seen = turned_back(body, (x, y, z))
    x, y, z = (t - s for t, s in zip(g.target, g.sensor, strict=True))
    azimuth = math.atan2(seen[1], seen[0]) - math.atan2(y, x) - math.radians(raw.get("thrust", 0.0))
    plan = math.hypot(seen[0], seen[1])
    elevation = math.atan2(seen[2], plan) - math.atan2(z, math.hypot(x, y))
    return Aim(_wrapped(azimuth), math.degrees(elevation), math.hypot(*seen), plan)


def _wrapped(angle: float) -> float:
    """An angle in radians as degrees within -180 .. 180."""
    return math.degrees(math.remainder(angle, 2.0 * math.pi))


def _body(g: Geometry, raw: Mapping[str, float]) -> tuple[tuple[XYZ, XYZ, XYZ], XYZ]:
    """The body's rotation, and where the sensor is, in m."""
    corners = [(raw.get(f"body.{c}", 0.0) + raw.get(f"tyre.{c}", 0.0)) / 1000.0 for c in CORNERS]
    stands = footing(g.wheels)
    plane = stands.plane(corners)
    body = rotation(*roll_pitch_of_slopes(plane.along, plane.across))
    (px, py), (xs, ys, zs) = stands.centre, g.sensor
    x, y, z = turned(body, (xs - px, ys - py, zs - g.pivot))
    return body, (px + x, py + y, g.pivot + z + math.fsum(corners) / len(corners))


def _target(g: Geometry, raw: Mapping[str, float]) -> XYZ:
    """Where the target's centre is, in m."""
    front, rear = raw.get("mark.front", 0.0) / 1000.0, raw.get("mark.rear", 0.0) / 1000.0
    along, across = front - rear, g.marks[0] - g.marks[1]
    length = math.hypot(along, across)
    sin, cos = along / length, across / length
    shift = rear + along / across * (g.origin_x - g.marks[1])
    x, y, z = g.target[0] - g.origin_x, g.target[1], g.target[2]
    lift, slope_x, slope_y, up = _under(g, raw)
    if g.stand == "plumb":
        axis = up
    else:  # the feet were laid out with the target, so its lean turns with the line
        bx, by = slope_x * cos - slope_y * sin, slope_x * sin + slope_y * cos
        size = math.hypot(bx, by, 1.0)
        axis = (-bx / size, -by / size, 1.0 / size)
    base = (g.origin_x + x * cos - y * sin, shift + x * sin + y * cos, lift)
    return base[0] + z * axis[0], base[1] + z * axis[1], base[2] + z * axis[2]


def _under(g: Geometry, raw: Mapping[str, float]) -> tuple[float, float, float, XYZ]:
    """The floor under the target against the plane of the wheels: lift in m, slopes; and which way is up."""
    at_wheels = [raw.get(f"floor.{c}", 0.0) / 1000.0 for c in CORNERS]
    car = footing(g.wheels).plane(at_wheels)
    up_x, up_y = (
        car.along + raw.get("tilt.along", 0.0) / 1000.0,
        car.across + raw.get("tilt.across", 0.0) / 1000.0,
    )
    up_z = math.sqrt(max(1.0 - up_x * up_x - up_y * up_y, 0.0))
    if up_z < 0.5:
        raise ValueError("a floor that falls by more than 60 degrees is none that a car can stand on")
    over = [
        (raw.get(f"floor.foot.{n}", 0.0) / 1000.0 - car.at(*foot)) / up_z for n, foot in enumerate(g.feet, 1)
    ]
    stand = footing(g.feet).plane(over)
    return stand.at(*g.target[:2]), stand.along, stand.across, (up_x, up_y, up_z)


# --- from causes to an uncertainty ---------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Effect:
    """What causes do to the direction in which the sensor sees its target, in degrees."""

    azimuth: Traced
    elevation: Traced

    def on(self, axis: Axis) -> Traced:
        return self.azimuth if axis == "azimuth" else self.elevation


@dataclass(frozen=True)
class Budget:
    """`total`: the exact error with everything, and its uncertainty from all causes together.

    `groups`: the exact effect of each group of causes alone, all others zero, and its own uncertainty.
    """

    aim: Aim
    total: Effect
    groups: Mapping[str, Effect]

    def worst(self, axis: Axis, factor: float = DEFAULT_FACTOR) -> float:
        """Worst-case sum in degrees: the sizes of all groups, each with its uncertainty, as if all went one way."""
        return math.fsum(abs(e.on(axis).value) + factor * e.on(axis).u for e in self.groups.values())


def over_wheels(geometry: Geometry, raw: Mapping[str, Traced]) -> dict[str, Traced]:
    """The same causes with the floor against the plane of the wheels: feet over it, and its own tilt.

    `aim` says the same of both. What is left at the wheels (twist) moves neither car nor target and is gone.
    Raises ValueError where the floor is known at some wheels and not at all.
    """
    known = [c for c in CORNERS if f"floor.{c}" in raw]
    if not known:
        return dict(raw)
    if len(known) < len(CORNERS):
        raise ValueError("the floor's height is needed at all four wheels or at none")
    return dict(_over_wheels(geometry, tuple(raw.items())))


Causes = tuple[tuple[str, Traced], ...]


@lru_cache(maxsize=64)  # most answers that are typed change nothing of it
def _over_wheels(geometry: Geometry, given: Causes) -> Causes:
    raw = dict(given)
    car = footing(geometry.wheels)
    wheels = [raw[f"floor.{c}"] for c in CORNERS]
    same = {name: t for name, t in raw.items() if name.removeprefix("floor.") not in CORNERS}
    slopes = [_sum(weights, wheels) for weights in (car.along, car.across)]
    for name, slope in zip(TILTS, slopes, strict=True):
        same[name] = same[name].plus(slope) if name in same else slope
    for n, (x, y) in enumerate(geometry.feet, 1):
        name, dx, dy = f"floor.foot.{n}", x - car.centre[0], y - car.centre[1]
        weights = [-0.25 - a * dx - b * dy for a, b in zip(car.along, car.across, strict=True)]
        same[name] = raw.get(name, Traced(0.0)).plus(_sum(weights, wheels))
    return tuple(same.items())


def budget(
    geometry: Geometry, raw: Mapping[str, Traced], groups: Mapping[str, Sequence[str]] | None = None
) -> Budget:
    """What all causes do and what each group does, with uncertainties to first order through their named errors.

    `groups`: name -> causes, as `over_wheels` names them; a cause that is not given counts for nothing. Without
    groups every cause is one of its own.
    """
    causes = over_wheels(geometry, raw)
    grouped = {name: (name,) for name in causes} if groups is None else groups
    return _budget(geometry, tuple(causes.items()), tuple((name, tuple(ms)) for name, ms in grouped.items()))


@lru_cache(maxsize=64)
def _budget(geometry: Geometry, given: Causes, groups: tuple[tuple[str, tuple[str, ...]], ...]) -> Budget:
    """The same; all floors of the causes are against the plane of the wheels."""
    causes = dict(given)
    values = {name: t.value for name, t in causes.items()}
    whole = aim(geometry, values)
    unsure = {name: _unsure(geometry, values, name, t) for name, t in causes.items()}

    def effect(names: Sequence[str]) -> Effect:
        known = [n for n in names if n in causes]
        alone = _aim(geometry, {n: values[n] for n in known})
        return _effect(alone, [unsure[n] for n in known])

    each = {name: effect(members) for name, members in groups}
    return Budget(whole, _effect(whole, list(unsure.values())), each)


def _unsure(g: Geometry, values: Mapping[str, float], name: str, cause: Traced) -> Effect:
    """What the errors of one cause do to each axis, by central differences at the values."""
    if not cause.effects:
        return Effect(Traced(0.0), Traced(0.0))
    more, less = (_aim(g, {**values, name: values[name] + step}) for step in (STEP, -STEP))
    along, up = math.remainder(more.azimuth - less.azimuth, 360.0), more.elevation - less.elevation
    errors = Traced(0.0, cause.effects)
    return Effect(errors.scaled(along / (2.0 * STEP)), errors.scaled(up / (2.0 * STEP)))


def _effect(at: Aim, unsure: Sequence[Effect]) -> Effect:
    return Effect(
        Traced(at.azimuth).plus(*(e.azimuth for e in unsure)),
        Traced(at.elevation).plus(*(e.elevation for e in unsure)),
    )


def _sum(weights: Sequence[float], values: Sequence[Traced]) -> Traced:
    return Traced(0.0).plus(*(v.scaled(w) for w, v in zip(weights, values, strict=True)))

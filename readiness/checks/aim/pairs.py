"""A sensor and a target that it looks at: what the sheet means, and where the sensor sees it as car and bay are."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from readiness.checks.aim.causes import Cause, Stands, causes_of
from readiness.checks.aim.inputs import Inputs, Lack, floor_lack
from readiness.checks.car import LYING, wheel_places
from readiness.checks.floor.heights import place_name
from readiness.checks.kind import Scene
from readiness.checks.words import capital
from readiness.job import WHEELS, Place, Point, Sensor, Sheet, Target
from readiness.measure.aim import CORNERS, Axis, Budget, Geometry, budget, over_wheels
from readiness.measure.tyre import diameter_mm, parse_size
from readiness.measure.uncertain import Traced

AXES: tuple[Axis, Axis] = ("azimuth", "elevation")
WORTH_NAMING = 0.05
"""A cause is named from this share of all causes on."""


@dataclass(frozen=True, slots=True)
class Pair:
    """A sensor and a target on one side of the car; the right side is the mirror image of what the sheet draws."""

    sensor: Sensor
    target: Target
    sheet: Sheet
    right: bool
    alone: bool = True
    """Whether the sensor looks at this target only."""

    @property
    def name(self) -> str:
        return f"{self.sensor.id} to {self.target.id}"

    def label(self, axis: Axis) -> str:
        """Short, for it stands in a column; the target is named where there are several."""
        return f"{capital(self.sensor.id)} {axis}" if self.alone else f"{capital(self.name)}, {axis}"

    def key(self, axis: Axis) -> str:
        return f"{self.sensor.id}.{self.target.id}.{axis}"

    @property
    def tolerance(self) -> dict[Axis, float]:
        """Degrees by axis, where the sheet gives one."""
        t = self.sensor.tolerance
        both = (None, None) if t is None else (t.azimuth, t.elevation)
        return {axis: limit for axis, limit in zip(AXES, both, strict=True) if limit is not None}

    @property
    def stands(self) -> Stands:
        side = "right." if self.right else ""
        numbers = range(1, len(self.target.feet) + 1) or (LYING,)
        feet = tuple(f"{side}{self.target.id}.{n}" for n in numbers)
        return Stands(self.target.id, feet, self.target.stand == "plumb")

    def geometry(self) -> Geometry:
        """What the sheet means, in m. Raises ValueError where the target is straight above or below the sensor."""
        mirror = -1.0 if self.right else 1.0
        places, sheet = wheel_places(self.sheet), self.sheet
        lf, lr, rr, rf = (places[c] for c in CORNERS)
        sensor, target = self.sensor.at, self.target.at
        feet: Sequence[Point | Place] = self.target.feet or (target,)
        return Geometry(
            (sensor.x, mirror * sensor.y, sensor.z), (target.x, mirror * target.y, target.z),
            tuple((f.x, mirror * f.y) for f in feet), (lf, lr, rr, rf), (sheet.marks.front, sheet.marks.rear),
            _wheel_centre(sheet), _origin_x(sheet, self.target), self.target.stand,
        )  # fmt: skip


def pairs_of(scene: Scene) -> list[Pair]:
    sheet, right = scene.sheet, scene.side == "right"
    seen_by = [(s, [t for t in sheet.targets if not s.sees or t.id in s.sees]) for s in sheet.sensors]
    return [Pair(s, t, sheet, right, len(targets) == 1) for s, targets in seen_by for t in targets]


def _wheel_centre(sheet: Sheet) -> float:
    """Height of the wheel centres over the floor in m: half the diameter that the sizes say, front and rear."""
    sizes = (parse_size(sheet.placard.size.front), parse_size(sheet.placard.size.rear))
    return sum(diameter_mm(size) for size in sizes) / 4000.0


def _origin_x(sheet: Sheet, target: Target) -> float:
    """The x that the lengths along count from, as they are laid out on the floor."""
    along = target.origin.along if target.origin is not None else "rear_axle"
    zeros = {"rear_axle": 0.0, "front_axle": sheet.dimensions.wheelbase,
             "rear_mark": sheet.marks.rear, "front_mark": sheet.marks.front}  # fmt: skip
    return zeros[along]


# --- what the sensor sees ------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Seen:
    """A pair with what is known of it: `budget`, or what it lacks for that, or why it can have none."""

    pair: Pair
    budget: Budget | None = None
    causes: tuple[Cause, ...] = ()
    over: Mapping[str, Traced] | None = None
    """Foot -> its height over the plane of the wheels in mm."""
    lacking: tuple[Lack, ...] = ()
    fault: str = ""

    def share(self, axis: Axis, factor: float) -> float:
        """The share of the tolerance that value and uncertainty take together; 0 without a tolerance."""
        limit = self.pair.tolerance.get(axis)
        if self.budget is None or limit is None:
            return 0.0
        total = self.budget.total.on(axis)
        return (abs(total.value) + factor * total.u) / limit

    def largest(self, axis: Axis, factor: float) -> list[tuple[Cause, Traced]]:
        """The causes that are worth naming on this axis, by their size with its uncertainty, greatest first."""
        if self.budget is None:
            return []
        effects = [(cause, self.budget.groups[cause.name].on(axis)) for cause in self.causes]
        sizes = {cause.name: abs(e.value) + factor * e.u for cause, e in effects}
        worth = WORTH_NAMING * sum(sizes.values())
        ranked = sorted(effects, key=lambda e: -sizes[e[0].name])
        return [(cause, e) for cause, e in ranked if sizes[cause.name] > worth]


def seen(scene: Scene, pair: Pair, inputs: Inputs) -> Seen:
    """What the sensor sees of its target with everything that was measured."""
    try:
        geometry = pair.geometry()
    except ValueError as fault:
        return Seen(pair, fault=str(fault))
    surface, stands = inputs.heights.surface, pair.stands
    unknown = [] if surface is None else [f for f in stands.feet if f not in surface.heights]
    lacking = (*inputs.lacking, *(floor_lack(scene, f"the floor at {place_name(f)}") for f in unknown))
    if surface is None or lacking:
        return Seen(pair, lacking=lacking)
    floor = {f"floor.{w}": surface.traced({w: 1.0}) for w in WHEELS}
    floor |= {f"floor.foot.{n}": surface.traced({f: 1.0}) for n, f in enumerate(stands.feet, 1)}
    raw = over_wheels(geometry, {**inputs.raw, **floor})
    causes = tuple(causes_of(scene, stands, inputs.heights, raw))
    found = budget(geometry, raw, {c.name: c.members for c in causes})
    over = {f: raw[f"floor.foot.{n}"] for n, f in enumerate(stands.feet, 1)}
    return Seen(pair, found, causes, over)

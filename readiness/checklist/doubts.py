"""What in a sheet is seldom meant although it may be: told for a person to look at, never in the way of using it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from math import dist

from readiness import job
from readiness.checklist import outline
from readiness.checklist.car import BESIDE
from readiness.checklist.mistakes import shown
from readiness.checklist.shapes import FEWEST_CORNERS, span
from readiness.checklist.sheet_rules import USUAL_COLD
from readiness.checklist.spot import Spot

USUAL = {
    "wheelbase": (1.8, 4.5), "track_front": (1.2, 2.0), "track_rear": (1.2, 2.0), "length": (2.4, 7.5),
    "width": (1.4, 2.4), "front_overhang": (0.4, 1.4),
}  # fmt: skip
"""Dimensions of cars and vans, m; common practice, no published source."""
TRACKS_APART = 0.2
"""The tracks of front and rear seldom differ by more, m; common practice, no published source."""
REAR_OVERHANG = (0.25, 2.2)
"""From the rear axle to the rearmost point, m; common practice, no published source."""
AXLES_APART = 1.6
"""One axle's pressure is seldom so many times the other's; common practice, no published source."""
LOWEST_SENSOR = 0.15
"""No sensor sits lower, m; common practice, no published source."""
BESIDE_FEET = 0.4
"""A target whose middle lies farther outside the feet of its stand is not carried by them, m; common practice."""


def doubts(sheet: job.Sheet, spot: Spot, sides: Sequence[str] = ()) -> None:
    """Note at `spot`, the sheet's root, what a person should look at again. Targets are in car axes.

    `sides` are those of its checklist, where that is known.
    """
    _dimensions(sheet.dimensions, spot.at("dimensions"))
    _pressures(sheet.placard.pressure, spot.at("placard", "pressure"))
    for sensor, here in zip(sheet.sensors, spot.at("sensors").items(), strict=True):
        if sensor.at.z < LOWEST_SENSOR:
            height = here.at("at", "z")
            height.wrong(
                shown(height.text) if height.text else "no height", "the sensor's height over the floor"
            )
    _unseen(sheet, spot)
    _other_end(sheet, spot)
    for target, here in zip(sheet.targets, spot.at("targets").items(), strict=True):
        _stand(sheet, target, here)
    if "right" in sides:
        _left_side(sheet, spot)


def _dimensions(value: job.Dimensions, spot: Spot) -> None:
    for name, (low, high) in USUAL.items():
        here = spot.at(name)
        if not low <= getattr(value, name) <= high:
            here.wrong(shown(here.text), f"{low:g} to {high:g} m, as cars and vans have it")
    if abs(value.track_front - value.track_rear) > TRACKS_APART:
        here = spot.at("track_rear")
        found = f"{shown(here.text)} beside {value.track_front:g} m in front"
        here.wrong(found, f"tracks no more than {TRACKS_APART:g} m apart")
    low, high = REAR_OVERHANG
    behind = value.length - value.wheelbase - value.front_overhang
    if not low <= behind <= high:
        found = f"{shown(spot.at('length').text)}, which leaves {behind:.2f} m behind the rear axle"
        spot.at("length").wrong(found, f"{low:g} to {high:g} m behind it")


def _pressures(value: job.Pressures, spot: Spot) -> None:
    low, high = USUAL_COLD
    for axle in ("front", "rear"):
        here = spot.at(axle)
        if not low <= getattr(value, axle) <= high:
            found = f"{shown(here.text)}, which is {getattr(value, axle):.0f} kPa"
            here.wrong(found, f"{low:g} to {high:g} kPa cold, as placards have it")
    less, more = sorted((value.front, value.rear))
    if less > 0 and more / less > AXLES_APART:
        here = spot.at("rear")
        found = f"{shown(here.text)} beside {shown(spot.at('front').text)} in front"
        here.wrong(found, "axles nearer to one another", "Look at the units.")


# --- where things are ----------------------------------------------------------------------------


def _unseen(sheet: job.Sheet, spot: Spot) -> None:
    """Targets that nothing looks at: their aim and what lies between would never be judged."""
    if sheet.targets and not sheet.sensors:
        first = next(iter(spot.at("targets").items()))
        first.wrong("a target and no sensor", "where the sensor sits that looks at it, under 'sensors'")


def _other_end(sheet: job.Sheet, spot: Spot) -> None:
    """A target or zone wholly beyond that end of the car at which no sensor is."""
    d = sheet.dimensions
    front, rear = d.wheelbase + d.front_overhang, d.wheelbase + d.front_overhang - d.length
    at_rear = all(s.at.x < d.wheelbase / 2 for s in sheet.sensors)
    at_front = all(s.at.x > d.wheelbase / 2 for s in sheet.sensors)
    if not sheet.sensors or not (at_rear or at_front):
        return
    where = "ahead of the car" if at_rear else "behind the car"
    end = "rear" if at_rear else "front"

    def beyond(xs: Iterable[float]) -> bool:
        return min(xs, default=front) > front if at_rear else max(xs, default=rear) < rear

    for target, here in zip(sheet.targets, spot.at("targets").items(), strict=True):
        if beyond([target.at.x]):
            here.at("at").wrong(f"a target {where}", f"one at the {end}, where the sensors are", _SIGN)
    for zone, here in zip(sheet.zones, spot.at("zones").items(), strict=True):
        corners = span(zone)
        if corners and beyond([x for x, _ in corners]):
            here.wrong(
                f"a zone wholly {where}", f"one that reaches to the {end}, where the sensors are", _SIGN
            )


_SIGN = "Forward is positive, behind the rear axle negative."


def _stand(sheet: job.Sheet, target: job.Target, spot: Spot) -> None:
    """A stand carries its target over its feet, and its feet are not under the car."""
    d = sheet.dimensions
    front, half = d.wheelbase + d.front_overhang, d.width / 2
    for foot, here in zip(target.feet, spot.at("feet").items(), strict=True):
        if front - d.length < foot.x < front and abs(foot.y) < half:
            here.wrong(f"a foot at {foot.x:.2f} m, {foot.y:.2f} m, under the car", "a foot beside the car")
    if len(target.feet) < FEWEST_CORNERS:
        return
    away = _outside((target.at.x, target.at.y), [(f.x, f.y) for f in target.feet])
    if away > BESIDE_FEET:
        nearer = _nearer(sheet, target)
        found = f"a target {away:.2f} m outside the feet of its stand{nearer}"
        spot.at("feet").wrong(
            found, "feet round the point under its middle", "Do both count from the same place?"
        )


def _nearer(sheet: job.Sheet, target: job.Target) -> str:
    """Whether it is nearer to every sensor that looks at it than its stand, or farther, in words."""
    seeing = [s for s in sheet.sensors if not s.sees or target.id in s.sees]
    if not seeing:
        return ""
    eye = seeing[0].at
    own = dist((eye.x, eye.y), (target.at.x, target.at.y))
    feet = [dist((eye.x, eye.y), (f.x, f.y)) for f in target.feet]
    if own < min(feet):
        return ", nearer to the sensor than all of them"
    return ", farther from the sensor than all of them" if own > max(feet) else ""


def _outside(point: outline.XY, feet: Sequence[outline.XY]) -> float:
    """How far a point is outside of what its feet enclose, in m; zero inside."""
    if outline.inside(point, feet):
        return 0.0
    return min(outline.from_side(point, feet[k - 1], feet[k]) for k in range(len(feet)))


def _left_side(sheet: job.Sheet, spot: Spot) -> None:
    """Of two sides the left one is drawn."""
    expected = "the left side, where y is positive: the right one is its mirror image"
    for kind, y, here in _across(sheet, spot):
        if y < -BESIDE:
            here.wrong(f"{kind} on the right, y {y:.2f} m", expected)


def _across(sheet: job.Sheet, spot: Spot) -> Iterator[tuple[str, float, Spot]]:
    for sensor, here in zip(sheet.sensors, spot.at("sensors").items(), strict=True):
        yield "a sensor", sensor.at.y, here.at("at")
    for target, here in zip(sheet.targets, spot.at("targets").items(), strict=True):
        yield "a target", target.at.y, here.at("at")
    for zone, here in zip(sheet.zones, spot.at("zones").items(), strict=True):
        ys = [y for _, y in span(zone)]
        if ys and max(ys) < -BESIDE:
            yield "a zone", max(ys), here

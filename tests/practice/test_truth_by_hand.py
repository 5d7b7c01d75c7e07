"""How a check really stands, worked out here from the car's true values and the limits alone, against `truths`.

Plain comparisons, none of the engine's arithmetic: limits as the checklists and sheets say them.
"""

from __future__ import annotations

import math

import pytest

from readiness import units
from readiness.checks.car import foot_places, wheel_places
from readiness.practice.body import height, load_changes
from readiness.practice.exercise import LEVELS, exercise, with_fault
from readiness.practice.faults import CATALOGUE
from readiness.practice.world import World
from tests.practice.cars import everywhere, sides_of


def tyres(world: World, side: str) -> bool:
    limits, placard, tyres = world.check("tyres").limits, world.sheet.placard, world.tyres
    for axle in ("front", "rear"):
        left, right = tyres[f"l{axle[0]}"], tyres[f"r{axle[0]}"]
        asked, size = getattr(placard.pressure, axle), getattr(placard.size, axle)
        for tyre in (left, right):
            if not asked - limits.pressure_below <= tyre.cold <= asked + limits.pressure_above:
                return True
            if tyre.tread < limits.least_tread or tyre.size != size:  # no fault fits a better tyre than asked
                return True
        if abs(left.cold - right.cold) > limits.side_difference:
            return True
        if abs(left.tread - right.tread) > limits.tread_difference:
            return True
    return False


def load(world: World, side: str) -> bool:
    limits, (front, rear) = world.check("load").limits, load_changes(world)
    return abs(front) > limits.front_change or abs(rear) > limits.rear_change


def stance(world: World, side: str) -> bool:
    limits, asked, d = world.check("stance").limits, world.sheet.ride_heights, world.sheet.dimensions
    lf, lr, rr, rf = (
        height(world, w) - (asked.front if w[1] == "f" else asked.rear) for w in ("lf", "lr", "rr", "rf")
    )
    track = (d.track_front + d.track_rear) / 2
    roll = math.degrees(math.atan((lf + lr - rf - rr) / 2 / track / 1000))
    pitch = math.degrees(math.atan((lr + rr - lf - rf) / 2 / d.wheelbase / 1000))
    return (
        max(abs(h) for h in (lf, lr, rr, rf)) > limits.height
        or abs(roll) > limits.roll
        or abs(pitch) > limits.pitch
        or abs(lf - lr + rr - rf) > limits.warp
    )


def centre_marks(world: World, side: str) -> bool:
    limits, at, (front, rear) = world.check("centre_marks").limits, world.sheet.marks, world.marks
    slope = (front - rear) / (at.front - at.rear)
    shift = max(abs(rear + slope * (t.at.x - at.rear)) for t in world.sheet.targets)
    return abs(math.degrees(math.atan(slope / 1000))) > limits.yaw or shift > limits.shift


def light(world: World, side: str) -> bool:
    limits, lit = world.check("light").limits, list(world.light.values())
    even = min(lit) / (sum(lit) / len(lit))
    return (
        min(lit) < limits.least
        or max(lit) > (limits.most or math.inf)
        or even < (limits.uniformity or 0.0)
        or any(place[0] == "light" for place in world.wrong)
    )


def states(check: str):
    return lambda world, side: any(place[:2] == (check, side) for place in world.wrong)


def readings(check: str):
    def bad(world: World, side: str) -> bool:
        for item in world.check(check).limits.items:
            value, unit = world.numbers[(check, side, item.key)], units.MEASURES[item.measures]
            low, high = (None if t is None else units.parse_written(t, unit) for t in (item.low, item.high))
            if (low is not None and value < low) or (high is not None and value > high):
                return True
        return False

    return bad


def feet(world: World) -> float:
    """How far the worst foot is off the plane of the wheels (least squares by normal equations of symmetric wheels)."""
    wheels, at = wheel_places(world.sheet), foot_places(world.sheet, world.sides)
    mean_x = sum(x for x, _ in wheels.values()) / 4
    mean = sum(world.floor[w] for w in wheels) / 4
    along = sum((x - mean_x) * world.floor[w] for w, (x, _) in wheels.items()) / sum(
        (x - mean_x) ** 2 for x, _ in wheels.values()
    )
    across = sum(y * world.floor[w] for w, (_, y) in wheels.items()) / sum(y * y for _, y in wheels.values())
    return max(abs(world.floor[f] - mean - along * (x - mean_x) - across * y) for f, (x, y) in at.items())


BY_HAND = {
    "tyres": tyres, "load": load, "stance": stance, "centre_marks": centre_marks, "light": light,
    **{check: readings(check) for check in ("power", "bracket", "air")},
    **{check: states(check) for check in ("procedure", "faults", "cover", "glass", "housings", "target_kit", "closed")},
}  # fmt: skip


def agree(car) -> int:
    compared = 0
    for (check, side), truth in car.truths.items():
        if check in BY_HAND:
            assert truth.bad == BY_HAND[check](car.world, side), (check, side, truth)
            compared += 1
    assert (
        not feet(car.world) > car.world.check("floor").limits.target_height or car.truths[("floor", "")].bad
    )
    return compared


@pytest.mark.parametrize("level", LEVELS)
def test_of_drawn_cars(level):
    for seed in range(40, 52):
        assert agree(exercise(seed, level)) >= 11


@pytest.mark.parametrize(("id", "sheet"), everywhere())
def test_of_each_fault(id, sheet):
    agree(with_fault("by hand", CATALOGUE[id], sheet, sides_of(sheet)))

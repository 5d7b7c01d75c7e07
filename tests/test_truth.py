"""How often the engine is wrong about cars whose truth is known.

The truth lies a hair inside or outside the limit, where being wrong is most likely. ISO 14253-1 allows 5 %
on one side: more wrong passes or fails than a binomial law with 5 % gives once in two thousand times fail
the test. The physics of the truth (gas law, lever law, planes, triangles) is written anew, with numpy alone.
"""

from __future__ import annotations

from collections.abc import Callable
from math import exp, hypot, radians, tan

import numpy as np
import pytest
from msgspec.structs import replace as changed
from scipy.stats import binom

from readiness.job import WHEELS, Disc, Obstacle, Point, Zone
from tests import truth_aim, truth_floor
from tests.scenes import BAY, INSTRUMENTS, SHEET, check
from tests.truth import ACCURACY, SCENARIOS, Car, Read, outcome, outcomes, scenario

ALLOWED = 0.05

# --- tyres ---------------------------------------------------------------------------------------

TYRES = check("tyres", {"pressure_below": 5, "pressure_above": 15, "side_difference": 10, "least_tread": 2,
                        "tread_difference": 2})  # fmt: skip
STOOD = {
    "parked": "stood", "air": "21 C", "sizes": "y", **{f"pressure.{w}": "232 kPa" for w in WHEELS},
    **{f"tread.{w}": "5 mm" for w in WHEELS},
}  # fmt: skip
ROAD = {**STOOD, "parked": "road", **{f"temperature.{w}": "30 C" for w in WHEELS}}
THRICE = {**STOOD, "pressure.lf": ("232 kPa", "232 kPa", "232 kPa")}


def gauge(cold: float, air: float, tyre: float, atmosphere: float) -> float:
    """What a true gauge shows on a tyre of that cold pressure (ideal gas, absolute)."""
    return (cold + atmosphere) * (tyre + 273.15) / (air + 273.15) - atmosphere


def cold_tyre(car: Car, beyond: float) -> tuple[float, float, float]:
    """Cold pressure at its lower (225) or upper (245 kPa) limit; air; atmosphere of the altitude's weather."""
    cold = 225 - beyond if car.sign() < 0 else 245 + beyond
    return cold, car.rng.uniform(10, 30), 101.325 + car.rng.normal(0, 1.2)


@scenario(TYRES, STOOD, "pressure.lf", 6)
def tyre_that_stood(car: Car, beyond: float) -> Read:
    cold, air, atmosphere = cold_tyre(car, beyond)
    shown = gauge(cold, air, air + car.within(1), atmosphere)
    return {"air": car.read("thermometer", air), "pressure.lf": car.read("gauge", shown)}


@scenario(TYRES, THRICE, "pressure.lf", 6)
def tyre_read_three_times(car: Car, beyond: float) -> Read:
    cold, air, atmosphere = cold_tyre(car, beyond)
    shown = gauge(cold, air, air + car.within(1), atmosphere)
    return {"air": car.read("thermometer", air), "pressure.lf": [car.read("gauge", shown) for _ in range(3)]}


@scenario(TYRES, ROAD, "pressure.lf", 12)
def tyre_from_the_road(car: Car, beyond: float) -> Read:
    cold, air, atmosphere = cold_tyre(car, beyond)
    tyre = air + car.rng.uniform(5, 30)
    return {
        "air": car.read("thermometer", air),
        "temperature.lf": car.read("thermometer", tyre + car.within(3)),
        "pressure.lf": car.read("gauge", gauge(cold, air, tyre, atmosphere)),
    }


@scenario(TYRES, ROAD, "side.front", 18)
def left_against_right_from_the_road(car: Car, beyond: float) -> Read:
    air, atmosphere = car.rng.uniform(10, 30), 101.325 + car.rng.normal(0, 1.2)
    read = {"air": car.read("thermometer", air)}
    for wheel, cold in (("lf", 230.0), ("rf", 230.0 + car.sign() * (10 + beyond))):
        tyre = air + car.rng.uniform(5, 30)
        read[f"temperature.{wheel}"] = car.read("thermometer", tyre + car.within(3))
        read[f"pressure.{wheel}"] = car.read("gauge", gauge(cold, air, tyre, atmosphere))
    return read


@scenario(TYRES, STOOD, "tread.lf", 0.5)
def tread(car: Car, beyond: float) -> Read:
    return {"tread.lf": car.read("depth-gauge", 2 - beyond)}


@scenario(TYRES, STOOD, "tread.rear", 0.6)
def tread_left_against_right(car: Car, beyond: float) -> Read:
    return {
        "tread.lr": car.read("depth-gauge", 5),
        "tread.rr": car.read("depth-gauge", 5 + car.sign() * (2 + beyond)),
    }


# --- load, stance, marks -------------------------------------------------------------------------

LOADED = {
    "fuel": "1/2", "carried.1": "y", "carried.2": "y", "extra": "y",
    "extra.1.name": "bag", "extra.1.mass": "10 kg", "extra.1.station": "boot floor", "extra.1.more": "y",
    "extra.2.name": "box", "extra.2.mass": "10 kg", "extra.2.station": "rear seat", "extra.2.more": "n",
}  # fmt: skip


@scenario(check("load", {"front_change": 8, "rear_change": 10}), LOADED, "rear", 12)
def load_on_the_rear_axle(car: Car, beyond: float) -> Read:
    level, rho15, t = car.rng.uniform(0.3, 0.7), car.rng.uniform(720, 775), car.rng.uniform(0, 30)
    alpha = 346.4228 / rho15**2 + 0.4388 / rho15  # table 54B, petrol
    rho = rho15 * exp(-alpha * (t - 15) * (1 + 0.8 * alpha * (t - 15)))
    missing = (level - 1) * 50 / 1000 * rho * (1 - 0.4 / 2.7)
    bag, box_x = car.rng.uniform(8, 12), 0.5 + car.within(0.15)
    bag_x = -0.5 + car.within(0.15)
    box = (car.sign() * (10 + beyond) - missing - bag * (1 - bag_x / 2.7)) / (1 - box_x / 2.7)
    return {
        "fuel": min(max(level + car.within(1 / 16), 0), 1),
        "extra.1.mass": car.read("scales", bag),
        "extra.2.mass": car.read("scales", box),
    }


STANCE = check("stance", {"height": 12, "roll": 0.4, "pitch": 0.4, "warp": 12})
HEIGHTS = {f"height.{w}": "390 mm" if w.endswith("f") else "380 mm" for w in WHEELS}
NORMAL = {"lf": 390.0, "lr": 380.0, "rr": 380.0, "rf": 390.0}


def body(car: Car, limit: float, size: Callable[[np.ndarray], float]) -> Read:
    """Ride heights so far off that this size of the four, in the order of WHEELS, is at its limit."""
    off = car.rng.normal(0, 1, 4)
    off *= limit / abs(size(off))
    return {f"height.{w}": car.read("tape", NORMAL[w] + o) for w, o in zip(WHEELS, off, strict=True)}


@scenario(STANCE, HEIGHTS, "height.lf", 5)
def ride_height(car: Car, beyond: float) -> Read:
    return {"height.lf": car.read("tape", 390 + car.sign() * (12 + beyond))}


@scenario(STANCE, HEIGHTS, "roll", 0.15)
def roll(car: Car, beyond: float) -> Read:
    across = 1540 * tan(radians(0.4 + beyond))
    return body(car, across, lambda z: float(z[0] + z[1] - z[2] - z[3]) / 2)


@scenario(STANCE, HEIGHTS, "pitch", 0.1)
def pitch(car: Car, beyond: float) -> Read:
    along = 2700 * tan(radians(0.4 + beyond))
    return body(car, along, lambda z: float(z[1] + z[2] - z[0] - z[3]) / 2)


@scenario(STANCE, HEIGHTS, "warp", 8)
def warp(car: Car, beyond: float) -> Read:
    return body(car, 12 + beyond, lambda z: float(z[0] - z[1] + z[2] - z[3]))


MARKS = check("centre_marks", {"yaw": 0.2, "shift": 8})
TAPES = {f"{end}.{side}": "770 mm" for end in ("front", "rear") for side in ("left", "right")}


def tapes(car: Car, front: float, rear: float) -> Read:
    """Tapes from marks so far left, 0.85 and 0.95 m beyond the axles, to the outer edges of the rims."""
    read = {}
    for end, at, ahead, track in (("front", front, 850, 1550), ("rear", rear, 950, 1530)):
        half = (track + 210 + car.within(60)) / 2
        read[f"{end}.left"] = car.read("tape", hypot(ahead, half - at))
        read[f"{end}.right"] = car.read("tape", hypot(ahead, half + at))
    return read


@scenario(MARKS, TAPES, "yaw", 0.12)
def turn_of_the_centre_line(car: Car, beyond: float) -> Read:
    rear = car.within(5)
    return tapes(car, rear + car.sign() * 4500 * tan(radians(0.2 + beyond)), rear)


@scenario(MARKS, TAPES, "shift", 7)
def shift_of_the_centre_line(car: Car, beyond: float) -> Read:
    at_target = car.sign() * (8 + beyond)  # at x = -3.0 m; the marks at 3.55 and -0.95 m
    front = car.within(5)
    return tapes(car, front, front + (at_target - front) * 4.5 / 6.55)


# --- light, clear area, readings -----------------------------------------------------------------

LIGHT = check(
    "light", {"places": ("left", "middle", "right"), "least": 400.0, "most": 900.0, "uniformity": 0.6}
)
LUX = {**{f"light.{n}": "600 lx" for n in (1, 2, 3)}, "sun": "n"}


@scenario(LIGHT, LUX, "light.1", 100)
def illuminance(car: Car, beyond: float) -> Read:
    return {"light.1": car.read_light(400 - beyond if car.sign() < 0 else 900 + beyond)}


@scenario(LIGHT, LUX, "uniformity", 0.15)
def evenness_of_the_light(car: Car, beyond: float) -> Read:
    middle, right = car.rng.uniform(700, 900, 2)
    dark = (0.6 - beyond) * (middle + right) / (3 - (0.6 - beyond))
    return {f"light.{n}": car.read_light(lx) for n, lx in enumerate((dark, middle, right), 1)}


DISC = Zone(id="disc", disc=Disc(at=Point(x=-3.0, y=1.5), radius=1.0))
ZONED = changed(SHEET, zones=(DISC,))
AREA = check("clear_area", {"margin": 0.3})
BIN = {"other": "y", "other.1.name": "bin", "other.1.x": "-3 m", "other.1.y": "3 m", "other.1.metal": "y",
       "other.1.more": "n"}  # fmt: skip


def clear_of(car: Car, beyond: float) -> tuple[float, float]:
    """A place so far from the disc, in any direction."""
    turn, away = car.rng.uniform(0, 2 * np.pi), 1.3 - beyond
    return -3.0 + away * float(np.cos(turn)), 1.5 + away * float(np.sin(turn))


@scenario(AREA, BIN, "other.1", 0.15, sheet=ZONED)
def thing_placed_with_a_tape(car: Car, beyond: float) -> Read:
    x, y = clear_of(car, beyond)
    laid_x, laid_y = car.rng.normal(0, 0.02, 2)  # the car's axes on the floor, laid out by eye
    return {
        "other.1.x": car.read("laser-meter", x + laid_x),
        "other.1.y": car.read("laser-meter", y + laid_y),
    }


@scenario(AREA, {"other": "n"}, "disc/bay.1", 0.15, sheet=ZONED, bay=BAY)
def thing_of_the_bay(car: Car, beyond: float) -> Read:
    x, y = clear_of(car, beyond)
    off = car.rng.normal(0, 0.02, 2) + car.rng.normal(
        0, 0.02, 2
    )  # its place in the plan, the car on its marks
    at = Point(x=x + float(off[0]), y=y + float(off[1]))
    return {"bay": changed(BAY, obstacles=(Obstacle(name="post", point=at, u=0.02),))}


POWER = {"key": "supply", "label": "Voltage", "measures": "voltage", "low": "12.6 V", "high": "14.8 V",
         "plausible_low": "9 V", "plausible_high": "16 V"}  # fmt: skip
TILT = {"key": "tilt", "label": "Tilt", "measures": "angle", "low": "-1 °", "high": "1 °",
        "plausible_low": "-20 °", "plausible_high": "20 °"}  # fmt: skip
SINGLE = check("readings", {"items": [POWER, TILT]})


@scenario(SINGLE, {"supply": "13 V", "tilt": "0 °"}, "supply", 0.2)
def voltage(car: Car, beyond: float) -> Read:
    return {"supply": car.read("voltmeter", 12.6 - beyond if car.sign() < 0 else 14.8 + beyond)}


# A limit of 1 ° and a pass up to 0.80 ° both fall on this tool's steps of 0.1 °: of tools held to exactly 1 °
# one in eight shows 0.8. That evens out over one step, and no rule in u alone does better.
@scenario(SINGLE, {"supply": "13 V", "tilt": "0 °"}, "tilt", 0.5, near=0.1)
def angle(car: Car, beyond: float) -> Read:
    return {"tilt": car.read("angle-gauge", car.sign() * (1 + beyond))}


# --- judging -------------------------------------------------------------------------------------

truth_floor.add_all()
truth_aim.add_all()


def wrong_no_more_often_than_allowed(name: str, cars: int) -> None:
    """So many cars a hair outside the limit, and so many a hair inside.

    Where a hair is so thin that every instrument shows the same on both sides of the limit, the same cars serve for
    both: to find them drawn and judged twice would show nothing more.
    """
    worst, near = binom.ppf(0.9995, cars, ALLOWED), SCENARIOS[name].near
    outside = outcomes(name, cars, 0.1 * near, near)
    inside = outcomes(name, cars, -near, -0.1 * near) if SCENARIOS[name].told_apart else outside
    passes, fails = outside.count("pass"), inside.count("fail")
    assert passes <= worst, f"{passes} of {cars} cars outside the limit passed"
    assert fails <= worst, f"{fails} of {cars} cars inside the limit failed"


@pytest.mark.parametrize("name", SCENARIOS)
def test_wrong_about_few_of_150_cars_at_the_limit(name):
    wrong_no_more_often_than_allowed(name, 150)


@pytest.mark.slow
@pytest.mark.parametrize("name", SCENARIOS)
def test_wrong_about_few_of_3000_cars_at_the_limit(name):
    wrong_no_more_often_than_allowed(name, 3000)


@pytest.mark.parametrize("name", [name for name, s in SCENARIOS.items() if not s.told_apart])
def test_a_hair_is_too_thin_for_any_instrument(name):
    """So that cars outside the limit stand for cars inside."""
    near = SCENARIOS[name].near
    seen = []
    for sign in (1, -1):
        rng = np.random.default_rng(5)
        seen.append([outcome(name, Car(rng), sign * rng.uniform(0.1, 1) * near) for _ in range(10)])
    assert seen[0] == seen[1]


@pytest.mark.parametrize("name", SCENARIOS)
def test_decides_where_the_truth_is_far_from_the_limit(name):
    far = SCENARIOS[name].far
    assert outcomes(name, 40, far, far).count("fail") >= 38


def test_instruments_are_those_of_the_scenes():
    for tool, (a, d) in ACCURACY.items():
        accuracy, resolution = INSTRUMENTS[tool].accuracy, INSTRUMENTS[tool].resolution
        assert (float(accuracy.split()[0]), float(resolution.split()[0])) == (a, d)

"""Random floors of known slope, flatness and twist, measured by laser, level or an earlier survey."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from math import hypot
from typing import Any

import numpy as np
from msgspec.structs import replace as changed

from readiness.checks.floor.heights import WHEEL_RUNS
from readiness.job import LevelRun, Survey, SurveyPoint
from tests.scenes import AT, BAY, check
from tests.truth import SCENARIOS, Car, Read, Scenario

FLOOR = check("floor", {"slope_along": 3, "slope_across": 3, "flatness": 6, "twist": 6, "target_height": 6})
XY = {
    "lf": (2.7, 0.775), "lr": (0.0, 0.765), "rr": (0.0, -0.765), "rf": (2.7, -0.775),
    "reflector.1": (-3.2, 1.5), "reflector.2": (-2.8, 1.5),
}  # fmt: skip
DESIGN = np.array([(1.0, *xy) for xy in XY.values()])
WHEEL_PLANE = np.linalg.pinv(DESIGN[:4])
CORNER = np.array([1.0, -775 / 765, 775 / 765, -1.0])
"""What cancels every plane on the four wheels; a corner counts once."""


def slope_along(z: np.ndarray) -> float:
    return float((WHEEL_PLANE @ z[:4])[1])


def slope_across(z: np.ndarray) -> float:
    return float((WHEEL_PLANE @ z[:4])[2])


def twist(z: np.ndarray) -> float:
    return float(CORNER @ z[:4])


def foot(z: np.ndarray) -> float:
    return float(z[4] - DESIGN[4] @ WHEEL_PLANE @ z[:4])


def flatness(z: np.ndarray) -> float:
    return float(np.ptp(z - DESIGN @ np.linalg.pinv(DESIGN) @ z))


ASKED = {  # part -> (its true size, limit, a distance that any of the instruments tells apart)
    "slope_along": (slope_along, 3, 2.5), "slope_across": (slope_across, 3, 2.8), "twist": (twist, 6, 9),
    "target.reflector.1": (foot, 6, 14), "flatness": (flatness, 6, 10),
}  # fmt: skip


def uneven(car: Car, part: str, beyond: float) -> dict[str, float]:
    """Heights in mm of a random floor, so scaled that this number of it lies there."""
    size, limit, _ = ASKED[part]
    z = car.rng.normal(0, 1, 6)
    z *= (limit + beyond) / abs(size(z))
    return dict(zip(XY, z, strict=True))


def staffs(car: Car, part: str, beyond: float) -> Read:
    laser = 1200 + car.within(100)
    return {f"staff.{p}": car.read("laser", laser - z) for p, z in uneven(car, part, beyond).items()}


RUNS = (*WHEEL_RUNS, ("lr", "reflector.1"), ("lr", "reflector.2"))


def laid(car: Car, z: Mapping[str, float], a: str, b: str, zero: float, *, both: bool) -> list[float]:
    """What a level shows from a to b, and turned; each foot lies within half a mm of its place.

    Levels that are wrong anew at each reading are so by half of their accuracy, 0.1 mm/m, beside their zero error.
    """
    length = hypot(XY[a][0] - XY[b][0], XY[a][1] - XY[b][1])
    slope = (z[b] + car.within(0.5) - z[a] - car.within(0.5)) / length
    anew = [car.within(0.1) if car.alike is None else 0.0 for _ in range(2)]
    return [
        round((way * slope + zero + e) / 0.05) * 0.05
        for way, e in zip((1, -1)[: 2 if both else 1], anew, strict=False)
    ]


def zero_of(car: Car) -> float:
    """The zero error of a level of 0.2 mm/m; less where its readings scatter."""
    return car.within(0.2 if car.alike is not None else 0.03**0.5)


def levelled(car: Car, part: str, beyond: float, ways: int) -> Read:
    """Runs of a level whose zero is wrong by the same all day, laid on a rough floor."""
    z, zero = uneven(car, part, beyond), zero_of(car)
    shown = {(a, b): laid(car, z, a, b, zero, both=ways == 2) for a, b in RUNS}
    return {
        f"run.{a}-{b}.{n}": value for (a, b), values in shown.items() for n, value in enumerate(values, 1)
    }


def surveyed(z: Mapping[str, float], at: Mapping[str, tuple[float, float]] = XY) -> Any:
    points = tuple(SurveyPoint(name=p, x=float(at[p][0]), y=at[p][1], height=h) for p, h in z.items())
    return changed(BAY, survey=Survey(date=AT.date(), by="B. Test", instrument="laser", points=points))


def add_floor(part: str) -> None:
    far = ASKED[part][2]
    by_laser = {"source": "laser", **{f"staff.{p}": "1200 mm" for p in XY}}
    one_way = {"source": "level", **{f"run.{a}-{b}.1": "0 mm/m" for a, b in RUNS}}
    both = {**one_way, **{f"run.{a}-{b}.2": "0 mm/m" for a, b in RUNS}}
    named = {
        "laser": (by_laser, lambda car, beyond: staffs(car, part, beyond)),
        "level one way": (one_way, lambda car, beyond: levelled(car, part, beyond, 1)),
        "level both ways": (both, lambda car, beyond: levelled(car, part, beyond, 2)),
        "survey": (
            {"source": "survey", "survey_holds": "y"},
            lambda car, beyond: {
                "bay": surveyed({p: car.read("laser", z) for p, z in uneven(car, part, beyond).items()})
            },
        ),
    }
    for name, (answers, drawn) in named.items():
        around = {"bay": surveyed(dict.fromkeys(XY, 0.0))} if name == "survey" else {}
        SCENARIOS[f"floor by {name} {part}"] = Scenario(FLOOR, answers, part, far, drawn, around)


GRID = {
    f"g{n}": xy for n, xy in enumerate((x, y) for x in np.arange(-3, 4.1, 1) for y in (-1.5, -0.5, 0.5, 1.5))
}
ON_GRID = np.array([(1.0, *xy) for xy in GRID.values()])
OFF_PLANE = np.eye(len(GRID)) - ON_GRID @ np.linalg.pinv(ON_GRID)


def ridges(car: Car, beyond: float) -> Read:
    """A floor of ridges, where many points are nearly the highest and many nearly the lowest."""
    z = np.where(ON_GRID[:, 1] % 3 == 0, 1.0, 0.0) + car.rng.normal(0, 0.05, len(GRID))
    z *= (6 + beyond) / np.ptp(OFF_PLANE @ z)
    return {"bay": surveyed({p: car.read("laser", h) for p, h in zip(GRID, z, strict=True)}, GRID)}


# --- a survey by level, and the level that confirms a survey ------------------------------------------

NET = (*RUNS, ("rr", "reflector.1"), ("reflector.1", "reflector.2"), ("lr", "rf"))
FLAT_BAY = {"bay": surveyed(dict.fromkeys(XY, 0.0))}


def surveyed_by_level(car: Car, part: str, beyond: float) -> Read:
    z, zero = uneven(car, part, beyond), car.within(0.6)
    shown = {run: laid(car, z, *run, zero, both=run != ("lr", "rf")) for run in NET}
    runs = tuple(
        LevelRun(start=a, end=b, first=first, turned=turned[0] if turned else None)
        for (a, b), (first, *turned) in shown.items()
    )
    points = tuple(SurveyPoint(name=p, x=x, y=y) for p, (x, y) in XY.items())
    survey = Survey(
        date=AT.date(), by="B. Test", instrument="level", points=points, runs=runs, straightedge=4.0
    )
    return {"bay": changed(BAY, survey=survey)}


def confirming(run: str, *, both: bool) -> Callable[[Car, float], Read]:
    """A level laid on a surveyed floor: as it was surveyed, or since sunk at one end.

    A change of 2 u is what E_n of 1 stands for; with 5 % risk one of 1.645 u more must not agree.
    """
    a, b = run.split("-")
    length = hypot(XY[a][0] - XY[b][0], XY[a][1] - XY[b][1])
    read = hypot(
        length * hypot(0.05 / 12**0.5 / (2**0.5 if both else 1), 0 if both else 0.2 / 3**0.5),
        0.5 * (2 / 3) ** 0.5,
    )
    u = hypot(read, (2 * (1 / 3 + 0.25 / 12)) ** 0.5)

    def drawn(car: Car, beyond: float) -> Read:
        z = dict(zip(XY, car.rng.normal(0, 3, len(XY)), strict=True))
        bay = surveyed({p: car.read("laser", h) for p, h in z.items()})
        if beyond > 0:
            z[b] += car.sign() * (3.645 * u + beyond)
        shown = laid(car, z, a, b, zero_of(car), both=both)
        return {"bay": bay, **{f"quick.{run}.{n}": value for n, value in enumerate(shown, 1)}}

    return drawn


def add_surveys() -> None:
    holds = {"source": "survey", "survey_holds": "y"}
    for part, (_, _, far) in ASKED.items():
        SCENARIOS[f"floor surveyed by level {part}"] = Scenario(
            FLOOR,
            holds,
            part,
            far,
            lambda car, beyond, part=part: surveyed_by_level(car, part, beyond),
            FLAT_BAY,
        )
    for run in ("rf-lf", "lr-lf", "lr-reflector.1"):
        for ways in (1, 2):
            answers = holds | {f"quick.{run}.{n}": "0 mm/m" for n in range(1, ways + 1)}
            SCENARIOS[f"survey confirmed by level {run} {ways}"] = Scenario(
                FLOOR, answers, f"quick.{run}", 6, confirming(run, both=ways == 2), FLAT_BAY, two_kinds=True
            )


def add_all() -> None:
    """Every number of the floor, by every way to measure it."""
    add_surveys()
    for part in ASKED:
        add_floor(part)
    SCENARIOS["floor of ridges by survey flatness"] = Scenario(
        FLOOR, {"source": "survey", "survey_holds": "y"}, "flatness", 10, ridges,
        {"bay": surveyed(dict.fromkeys(GRID, 0.0), GRID)},
    )  # fmt: skip

"""Floors in short notation: heights as staff readings, runs of a level, or a survey of the bay."""

from __future__ import annotations

from datetime import date
from math import cos, radians, sin, sqrt

import numpy as np
from hypothesis import strategies as st
from msgspec.structs import replace as changed

from readiness.checks.car import foot_places, wheel_places
from readiness.checks.floor.heights import WHEEL_RUNS
from readiness.job import Standing, Survey, SurveyPoint
from tests.scenes import BAY, SHEET, check

LIMITS = {"slope_along": 3, "slope_across": 3, "flatness": 6, "twist": 4, "target_height": 6}
LASER_U = sqrt(1 / 3 + 0.25 / 12)
"""mm; accuracy 1 mm, resolution 0.5 mm (JCGM 100 4.3.7, F.2.2.1)."""
LEVEL_READ_U, LEVEL_ZERO_U = sqrt(0.05**2 / 12 + 0.1**2 / 3), sqrt(0.2**2 - 0.1**2) / sqrt(3)
"""mm/m; half of the accuracy may come anew with each reading, the rest of its variance is the zero error."""
NO_TARGETS = changed(SHEET, targets=())
PLACES = {**wheel_places(SHEET), **foot_places(SHEET, ("single",))}
FEET = ("reflector.1", "reflector.2")


def floor(**limits):
    return check("floor", {**LIMITS, **limits})


def staffs(heights, at=1000.0):
    """Staff readings for heights in mm."""
    return {"source": "laser", **{f"staff.{p}": f"{at - z:.6f} mm" for p, z in heights.items()}}


def flat(along=0.0, across=0.0, places=PLACES):
    return {p: along * x + across * y for p, (x, y) in places.items()}


def columns(names, places=PLACES):
    return np.array([[1.0, *places[n]] for n in names])


heights = st.lists(st.integers(-15, 15), min_size=6, max_size=6)


def runs(slopes, zero=0.0, one_way=()):
    """Answers of a level with this zero error; `slopes` from run to true mm/m."""
    answers = {"source": "level"}
    for (a, b), s in slopes.items():
        answers[f"run.{a}-{b}.1"] = f"{s + zero:.6f} mm/m"
        if (a, b) not in one_way:
            answers[f"run.{a}-{b}.2"] = f"{-s + zero:.6f} mm/m"
    return answers


def true_slopes(z, places=PLACES, extra=()):
    return {
        (a, b): (z[b] - z[a]) / np.hypot(*np.subtract(places[b], places[a])) for a, b in (*WHEEL_RUNS, *extra)
    }


TO_FEET = (("lr", "reflector.1"), ("lr", "reflector.2"))


def surveyed(height, xs=(-4, -2, 0, 2, 4), ys=(-2, 0, 2), standing=None, **more):
    """A bay with a survey of `height(x, y)` in car axes at a grid of places in car axes."""
    s = standing or Standing(x=0.0, y=0.0)
    c, n = cos(radians(s.heading)), sin(radians(s.heading))
    points = tuple(
        SurveyPoint(name=f"p{i}", x=s.x + c * x - n * y, y=s.y + n * x + c * y, height=height(x, y))
        for i, (x, y) in enumerate((x, y) for x in xs for y in ys)
    )
    survey = Survey(
        **{"date": date(2026, 1, 15), "by": "B. Test", "instrument": "laser", "points": points, **more}
    )
    return changed(BAY, survey=survey, standing=s)


HOLDS = {"source": "survey", "survey_holds": "y"}

"""Heights of the floor under the wheels and the target feet, from whatever they were measured with.

Three sources, one result: a survey of the bay made earlier, staff readings by laser, or a level laid
from place to place. All in car axes: x forward, y left, in m; heights in mm, up positive.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Literal

from readiness.checks.car import LYING, foot_places, wheel_places
from readiness.checks.kind import Answer, Scene
from readiness.checks.picture import XY
from readiness.checks.source import Source
from readiness.job import WHEEL_NAMES, WHEELS, Reading
from readiness.measure.surface import Surface

WHEEL_RUNS = (("rf", "lf"), ("lr", "lf"), ("rr", "lr"), ("rr", "rf"))
"""Once round the car: front axle, left side, rear axle, right side; each read from the first to the second."""
DIAGONALS = (("rr", "lf"), ("lr", "rf"))
"""Across under the car; wanted only where the runs round it do not fit together."""

Known = Literal["surveyed there", "between surveyed points", "beyond the surveyed points"]
"""What the height of a place rests on where it comes from a survey."""


@dataclass(frozen=True, slots=True)
class Heights:
    """`surface` holds the wheels and every foot that is known, or is None: then `why` says so, or
    `missing` holds the answers that are not there. `points` are the places that were measured."""

    surface: Surface | None = None
    points: tuple[str, ...] = ()
    readings: tuple[Reading, ...] = ()
    missing: tuple[Answer, ...] = ()
    feet: Mapping[str, tuple[Answer, ...]] = field(default_factory=dict)
    """Foot -> the answers it rests on, where it has some of its own."""
    known: Mapping[str, Known] = field(default_factory=dict)
    """Place -> what its height rests on, where that is a survey."""
    why: str = ""
    lapsed: bool = False
    remedy: str = ""
    notes: tuple[str, ...] = ()
    open_loop: str = ""
    """What is wrong with the level runs, as a sentence."""
    details: tuple[str, ...] = ()
    """How they were worked out, line by line."""
    until: datetime | None = None
    """When they end at the latest."""
    rests_on: tuple[Source, ...] = ()


def places(scene: Scene) -> dict[str, XY]:
    """The four wheels and every target foot of the job's sides."""
    return {**wheel_places(scene.sheet), **foot_places(scene.sheet, scene.job.sides)}


def place_name(place: str) -> str:
    """Words for a wheel, a foot or a mat: 'left front', 'right reflector foot 1', 'rear-mat'."""
    if place in WHEEL_NAMES:
        return WHEEL_NAMES[place]
    target, n = place.rsplit(".", 1)
    words = target.replace("right.", "right ", 1)
    return words if n == str(LYING) else f"{words} foot {n}"


def point_name(point: str) -> str:
    """A point of the survey goes by the name it has there, which is chalked on the floor."""
    return f"point {point.removeprefix('#')}" if point.startswith("#") else place_name(point)


def level_foot(foot: str, over: float, size: str) -> str:
    """What brings a foot to the height of the wheels that the floor has `size` over or under them."""
    return f"{'pack' if over < 0 else 'screw in'} {place_name(foot)} by {size}"


def short_name(place: str) -> str:
    """'LF' for a wheel; a foot keeps its words."""
    return place.upper() if place in WHEELS else place_name(place)


def foot_runs(scene: Scene) -> list[tuple[str, str]]:
    """A level run to every foot from the nearest wheel."""
    wheels = wheel_places(scene.sheet)
    feet = foot_places(scene.sheet, scene.job.sides)
    return [(min(WHEELS, key=lambda w: math.dist(wheels[w], at)), foot) for foot, at in feet.items()]


# --- laser and staff -----------------------------------------------------------------------------


def by_laser(scene: Scene) -> Heights:
    """Staff readings grow downwards: the floor is high where the staff reads little."""
    where = places(scene)
    answers = {p: scene.answer(f"staff.{p}") for p in where}
    feet = {p: (a,) for p, a in answers.items() if p not in WHEELS}
    missing = tuple(answers[w] for w in WHEELS if answers[w].estimate is None or not answers[w].ready)
    readings = tuple(r for a in answers.values() for r in a.readings)
    if missing:
        return Heights(readings=readings, missing=missing, feet=feet)
    read = {p: a.estimate for p, a in answers.items() if a.ready and a.estimate is not None}
    surface = Surface(
        {p: where[p] for p in read},
        {p: -e.value for p, e in read.items()},
        {p: {p: e.u} for p, e in read.items()},
    )
    return Heights(surface, tuple(read), readings, feet=feet)

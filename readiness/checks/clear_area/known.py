"""Places that are known and can be measured from: wheels, centre marks, marks and corners of the bay."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from readiness.checks.car import wheel_places
from readiness.checks.clear_area.things import Doubt
from readiness.checks.kind import Choice, Scene
from readiness.checks.place import Where, in_car, where
from readiness.job import WHEEL_NAMES
from readiness.measure.overlap import XY

KEYS = "123456789abcdefghijklmnopqrstuvwxyz"
WHEEL_U, MARK_U = 0.01, 0.005
"""m; standard uncertainty of holding a tape where the middle of a tyre meets the floor, and under a centre mark
or on a mark or corner of the bay; common practice, no published source."""


@dataclass(frozen=True, slots=True)
class Known:
    """A place to hold a tape to."""

    value: str
    """Its word in an answer: 'lr', 'rear mark', 'corner 2', or the name of a mark."""
    name: str
    at: XY
    """In car axes, m."""
    u: float
    """m; how well a tape is held to it."""
    of_bay: bool = False
    """It lies in the bay: as the car sees it, it lies off as far as the car does."""

    @property
    def the(self) -> str:
        return self.name if self.of_bay else f"the {self.name}"


def known_places(scene: Scene) -> dict[str, Known]:
    """By the word of an answer: four wheels, two centre marks, then the bay's marks and corners."""
    return {p.value: p for p in scene.once(_places)}


def choices(places: Iterable[Known]) -> tuple[Choice, ...]:
    """A key each, as far as there are keys."""
    return tuple(Choice(key, p.value, p.name) for key, p in zip(KEYS, places, strict=False))


def car_doubt(stands: Where) -> Doubt:
    """How far all that is known in the bay may lie off, as the car sees it."""
    return Doubt(stands.u, turn=math.radians(stands.u_heading))


def _places(scene: Scene) -> tuple[Known, ...]:
    marks, bay, standing = scene.sheet.marks, scene.bay, scene.once(where).standing
    at_wheels = (
        Known(w, f"{WHEEL_NAMES[w]} wheel", at, WHEEL_U) for w, at in wheel_places(scene.sheet).items()
    )
    corners = (
        Known(f"corner {n}", f"corner {n} of the bay", in_car(standing, (p.x, p.y)), MARK_U, True)
        for n, p in enumerate(bay.outline, 1)
    )
    return (
        *at_wheels,
        Known("front mark", "front centre mark", (marks.front, 0.0), MARK_U),
        Known("rear mark", "rear centre mark", (marks.rear, 0.0), MARK_U),
        *(Known(m.name, m.name, in_car(standing, (m.at.x, m.at.y)), MARK_U, True) for m in bay.marks),
        *corners,
    )

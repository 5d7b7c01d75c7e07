"""Places that are known and can be measured from: wheels, centre marks, marks and corners of the bay."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from readiness.checklist.measured import marks_of
from readiness.checks.clear_area.things import Doubt
from readiness.checks.kind import Choice, Scene
from readiness.checks.place import Where, in_car, where
from readiness.checks.taped_place import foot_of, mark_keys
from readiness.job import WHEEL_NAMES, WHEELS
from readiness.measure.overlap import XY

KEYS = "123456789abcdefghijklmnopqrstuvwxyz"
WHEEL_U, CENTRE_U, BAY_U = 0.01, 0.005, 0.01
"""m; standard uncertainty of a tape held to the floor beside a tyre and under a centre mark, and of where a mark or
corner of the bay is by its file; common practice, no published source."""


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


def bay_choices(scene: Scene) -> tuple[Choice, ...]:
    """Corners by their number, marks by a letter."""
    return tuple(Choice(key, name, name) for key, name in mark_keys(scene.bay).items())


def car_doubt(stands: Where) -> Doubt:
    """How far all that is known in the bay may lie off, as the car sees it."""
    pivot = stands.turns_about
    return Doubt(pivot.u, turn=math.radians(stands.u_heading), about=pivot.at)


def _places(scene: Scene) -> tuple[Known, ...]:
    sheet, standing = scene.sheet, scene.once(where).standing
    return (
        *(Known(w, f"{WHEEL_NAMES[w]} wheel", foot_of(sheet, w), WHEEL_U) for w in WHEELS),
        Known("front mark", "front centre mark", (sheet.marks.front, 0.0), CENTRE_U),
        Known("rear mark", "rear centre mark", (sheet.marks.rear, 0.0), CENTRE_U),
        *(Known(name, name, in_car(standing, at), BAY_U, True) for name, at in marks_of(scene.bay).items()),
    )

"""Where a thing stands, measured in one of three ways: from the car, by two tapes, or from the bay.

A place is one question for the way and a few for the lengths; their keys begin with the key of the place.
Without a way chosen, lengths count from the car.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from readiness.checklist.measured import marks_of
from readiness.checks.clear_area.known import bay_choices, car_doubt, known_places
from readiness.checks.clear_area.things import Doubt
from readiness.checks.kind import SHARED, Answer, Choice, Question, Scene
from readiness.checks.place import ON_MARKS_U, where
from readiness.job import Reading
from readiness.measure.overlap import XY
from readiness.measure.uncertain import Estimate

CAR, TAPES, BAY = "car", "tapes", "bay"
WAYS = (
    Choice("c", CAR, "the car: rear axle and centre line"),
    Choice("t", TAPES, "two known places, by two tapes"),
    Choice("b", BAY, "a corner or mark of the bay"),
)
FARTHEST = 20.0
"""m; a thing farther from where it is measured from than this is a slip of typing."""
AXES_U = ON_MARKS_U
"""m; standard uncertainty of laying out by eye the axes along which lengths count."""
MIDDLE_U = 0.01
"""m; standard uncertainty of finding the middle of a thing by eye; common practice, no published source."""


@dataclass(frozen=True, slots=True)
class Placed:
    """A place in car axes, m."""

    at: XY
    doubt: Doubt
    readings: tuple[Reading, ...]


@dataclass(frozen=True, slots=True)
class Unplaced:
    """Why a place is not known: answers that are missing, or a sentence on those that cannot be."""

    answers: tuple[Answer, ...]
    why: str = ""
    remedy: str = ""


def way_of(scene: Scene, key: str) -> str:
    return scene.word(f"{key}.way", shared=True) or CAR


def way_question(scene: Scene, key: str, name: str) -> Question:
    """How it is measured; the way that was used last is offered."""
    return Question(
        f"{key}.way", f"{name}: measured from", "choice", choices=WAYS, default=_used_last(scene, "way") or CAR,
        hint="what its place is measured from", evidence="seen",
        optional=True, shared=True,
    )  # fmt: skip


def length_question(key: str, label: str, hint: str, least: float = -FARTHEST) -> Question:
    return Question(
        key, label, unit="m", measures="distance", low=least, high=FARTHEST, hint=hint, shared=True
    )


def from_car(key: str, name: str, spot: str) -> list[Question]:
    return [
        length_question(
            f"{key}.x", f"{name}: forward", f"{spot}, forward of the rear axle; behind it is negative"
        ),
        length_question(
            f"{key}.y", f"{name}: left", f"{spot}, to the left of the centre line; right is negative"
        ),
    ]


def from_bay(scene: Scene, key: str, name: str, spot: str) -> list[Question]:
    along, across = (_direction(scene, axis) for axis in (0, 1))
    places = bay_choices(scene)
    before = _used_last(scene, "from")
    before = before if any(c.value == before for c in places) else ""
    return [
        Question(f"{key}.from", f"{name}: from", "choice", choices=places, evidence="seen", shared=True,
                 default=before, hint="the corner or mark of the bay that the lengths count from"),
        length_question(f"{key}.along", f"{name}: along", f"to {spot}, {along} is positive{_inward(scene, key, 0)}"),
        length_question(f"{key}.across", f"{name}: across", f"to {spot}, {across} is positive{_inward(scene, key, 1)}"),
    ]  # fmt: skip


def placed_from_car(scene: Scene, key: str) -> Placed | Unplaced:
    """By its lengths from the middle of the rear axle, ahead and to the left, in m."""
    x, y = (scene.answer(f"{key}.{axis}", shared=True) for axis in "xy")
    if x.estimate is None or y.estimate is None or not (x.ready and y.ready):
        return Unplaced((x, y))
    doubt = Doubt(math.hypot(AXES_U, MIDDLE_U), ((x.estimate.u, 0.0), (0.0, y.estimate.u)))
    return Placed((x.estimate.value, y.estimate.value), doubt, (*x.readings, *y.readings))


def placed_from_bay(scene: Scene, key: str) -> Placed | Unplaced:
    """By its lengths from a mark or corner along the bay's own axes, turned into the car's."""
    stands = scene.once(where)
    answers = [scene.answer(f"{key}.{part}", shared=True) for part in ("from", "along", "across")]
    start = known_places(scene).get(answers[0].word)
    if stands.missing or start is None or not all(a.ready for a in answers):
        return Unplaced((*answers, *stands.missing))
    along, across = (a.estimate or Estimate(0.0) for a in answers[1:])
    turn = -math.radians(stands.standing.heading)
    cos, sin = math.cos(turn), math.sin(turn)
    at = (
        start.at[0] + along.value * cos - across.value * sin,
        start.at[1] + along.value * sin + across.value * cos,
    )
    tapes = ((along.u * cos, along.u * sin), (-across.u * sin, across.u * cos))
    bay = car_doubt(stands)
    doubt = Doubt(math.hypot(bay.u, start.u, AXES_U, MIDDLE_U), tapes, bay.turn, bay.about)
    return Placed(at, doubt, tuple(r for a in answers for r in a.readings))


def _used_last(scene: Scene, what: str) -> str:
    """The way in which a place was last measured in this visit, or the corner or mark; empty before the first."""
    told = [
        readings[-1]
        for (check, _, question), readings in scene.readings.items()
        if check == SHARED and question.endswith(f".{what}") and readings
    ]
    return str(max(told, key=lambda r: r.at).value) if told else ""


def _inward(scene: Scene, key: str, axis: int) -> str:
    """Where lengths begin at the far end of the bay: that all of it lies on the negative side."""
    start = marks_of(scene.bay).get(scene.word(f"{key}.from", shared=True))
    farthest = max((p.x, p.y)[axis] for p in scene.bay.outline)
    return "; into the bay is negative here" if start is not None and start[axis] >= farthest else ""


def _direction(scene: Scene, axis: int) -> str:
    """In words, which way the bay's x or y grows: along which side of its outline."""
    corners = [(p.x, p.y) for p in scene.bay.outline]
    best, words = 0.98, f"the way in which {'xy'[axis]} grows in the bay's file"
    for n, (p, q) in enumerate(zip(corners, corners[1:] + corners[:1], strict=True)):
        length = math.dist(p, q)
        share = (q[axis] - p[axis]) / length if length else 0.0
        if abs(share) > best + 1e-9:
            ends = (n + 1, (n + 1) % len(corners) + 1)
            one, other = ends if share > 0 else ends[::-1]
            best, words = abs(share), f"the way from corner {one} to corner {other}"
    return words

"""Where a thing stands by two tapes from two known places, and on which side of the line between them."""

from __future__ import annotations

import math

from readiness.checks.clear_area.known import Known, car_doubt, choices, known_places
from readiness.checks.clear_area.placing import MIDDLE_U, Placed, Unplaced, length_question
from readiness.checks.clear_area.plan_view import bay_outline
from readiness.checks.clear_area.things import Doubt
from readiness.checks.kind import Answer, Choice, Question, Scene
from readiness.checks.place import Where, where
from readiness.job import Sheet
from readiness.measure.overlap import XY
from readiness.measure.plan import Area, PointAt, signed_clearance
from readiness.measure.trilateration import Matrix2, TapesApartError, two_tapes

SIDES = ("left", "right")
"""Looking from the first place to the second."""
SHORTEST = 0.05
"""m; a shorter tape tells nothing of a direction."""
OUTSIDE = 1.0
"""m; a thing farther out of the bay than this is not meant; common practice, no published source."""

Both = tuple[Placed, Placed]


def by_tapes(scene: Scene, key: str, name: str, spot: str) -> list[Question]:
    places = known_places(scene)
    first = places.get(scene.word(f"{key}.from1", shared=True))
    second = places.get(scene.word(f"{key}.from2", shared=True))
    asked = [
        _from(f"{key}.from1", f"{name}: first from", places, None),
        _tape(f"{key}.tape1", f"{name}: first tape", spot, first),
        _from(f"{key}.from2", f"{name}: second from", places, first),
        _tape(f"{key}.tape2", f"{name}: second tape", spot, second),
    ]
    both = both_sides(scene, key)
    if isinstance(both, Unplaced) or len(_possible(scene, both)) < 2:
        return asked
    words = (f"the one {beside_car(scene, p.at)}" for p in both)
    sides = tuple(Choice(k, side, w) for k, side, w in zip("12", SIDES, words, strict=True))
    which = Question(f"{key}.side", f"{name}: which one", "choice", choices=sides, evidence="seen", shared=True,
                     hint="the tapes meet in two places")  # fmt: skip
    return [*asked, which]


def placed_by_tapes(scene: Scene, key: str) -> Placed | Unplaced:
    both = both_sides(scene, key)
    if isinstance(both, Unplaced):
        return both
    possible = _possible(scene, both)
    if len(possible) == 1:
        return possible[0]
    side = scene.answer(f"{key}.side", shared=True)
    if side.word not in SIDES:
        return Unplaced((side,))
    at = both[SIDES.index(side.word)]
    return Placed(at.at, at.doubt, (*at.readings, *side.readings))


def both_sides(scene: Scene, key: str) -> Both | Unplaced:
    """Left and right of the line between the two places, or why the tapes do not tell."""
    stands, places = scene.once(where), known_places(scene)
    answers = [scene.answer(f"{key}.{k}", shared=True) for k in ("from1", "tape1", "from2", "tape2")]
    ends = [places.get(answers[n].word) for n in (0, 2)]
    tapes = [answers[n].estimate for n in (1, 3)]
    of_bay = any(e is not None and e.of_bay for e in ends)
    if not all(a.ready for a in answers) or None in ends or None in tapes or (of_bay and stands.missing):
        return Unplaced((*answers, *(stands.missing if of_bay else ())))
    (a, b), (ra, rb) = [e for e in ends if e is not None], [t for t in tapes if t is not None]
    readings = tuple(r for answer in answers for r in answer.readings)
    u_mark, shared = _doubts(stands, a, b)
    try:
        met = two_tapes(a.at, b.at, ra.value, rb.value, u_tape=max(ra.u, rb.u), u_mark=u_mark)
    except TapesApartError as apart:
        return _apart(scene, a, b, (ra.value, rb.value), apart, tuple(answers))
    except ValueError:
        return Unplaced(tuple(answers), "both tapes count from the same place",
                        "Take two places that are far apart.")  # fmt: skip
    left, right = (
        Placed(m.at, Doubt(math.hypot(shared.u, MIDDLE_U), _roots(m.covariance), shared.turn), readings)
        for m in met
    )
    return left, right


def _doubts(stands: Where, a: Known, b: Known) -> tuple[float, Doubt]:
    """Standard uncertainty of each place where the tapes begin, m, and what lies off with both of them.

    Two places of the bay lie off together, as far as the car does; one of the bay and one of the car do not.
    """
    bay = car_doubt(stands)
    if a.of_bay == b.of_bay:
        return max(a.u, b.u), bay if a.of_bay else Doubt()
    return max(math.hypot(p.u, bay.at_most(p.at)) if p.of_bay else p.u for p in (a, b)), Doubt()


def _apart(
    scene: Scene, a: Known, b: Known, tapes: tuple[float, float], apart: TapesApartError,
    answers: tuple[Answer, ...],
) -> Unplaced:  # fmt: skip
    between = scene.show(math.dist(a.at, b.at), "m")
    lengths = " and ".join(scene.show(t, "m") for t in tapes)
    wrong = "are too short" if apart.short else "differ too much"
    why = (
        f"tapes of {lengths} cannot meet: {a.the} and {b.the} are {between} apart, so they {wrong}"
        f" by {scene.show(apart.gap, 'm')}"
    )
    return Unplaced(
        answers, why, "Measure both tapes again, along the floor, and look which place each begins at."
    )


def _possible(scene: Scene, both: Both) -> tuple[Placed, ...]:
    """The places where a thing can stand: the one in the bay, if the other is far out of it; one if they are the same."""
    if math.dist(both[0].at, both[1].at) < 1e-6:
        return both[:1]
    bay = Area(bay_outline(scene.bay.outline, scene.once(where).standing))
    inside = tuple(p for p in both if signed_clearance(bay, PointAt(*p.at)) <= OUTSIDE)
    return inside or both


def beside_car(scene: Scene, at: XY) -> str:
    """Where a place lies as one sees it from the car: '1.2 m behind the rear bumper, 0.8 m left of the centre line'."""
    rear, front, half = _body(scene.sheet)
    x, y = at
    side = "left" if y > 0 else "right"
    if rear <= x <= front:
        where_ = (
            f"{_round(scene, abs(y) - half)} {side} of the car"
            if abs(y) > half
            else f"under the car, {side} of the middle"
        )
        return f"{where_}, {_round(scene, abs(x))} {'ahead of' if x > 0 else 'behind'} the rear axle"
    ends = (
        f"{_round(scene, rear - x)} behind the rear bumper"
        if x < rear
        else f"{_round(scene, x - front)} ahead of the front bumper"
    )
    return f"{ends}, {_round(scene, abs(y))} {side} of the centre line"


def _body(sheet: Sheet) -> tuple[float, float, float]:
    d = sheet.dimensions
    front = d.wheelbase + d.front_overhang
    return front - d.length, front, d.width / 2.0


def _round(scene: Scene, length: float) -> str:
    return scene.show(round(length, 1), "m")


def _roots(covariance: Matrix2) -> tuple[XY, XY]:
    """Two independent errors with this covariance (Cholesky's factor)."""
    (xx, xy), (_, yy) = covariance
    first = math.sqrt(max(xx, 0.0))
    across = xy / first if first else 0.0
    return (first, across), (0.0, math.sqrt(max(yy - across * across, 0.0)))


def _from(key: str, label: str, places: dict[str, Known], taken: Known | None) -> Question:
    """Keys stay the same whatever is taken."""
    free = tuple(c for c in choices(places.values()) if taken is None or c.value != taken.value)
    return Question(key, label, "choice", choices=free, evidence="seen", shared=True,
                    hint="a wheel is where the middle of its tyre meets the floor")  # fmt: skip


def _tape(key: str, label: str, spot: str, start: Known | None) -> Question:
    place = start.the if start is not None else "that place"
    return length_question(key, label, f"along the floor from {place} to {spot}", SHORTEST)

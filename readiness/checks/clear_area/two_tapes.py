"""Where a thing stands by two tapes from two known places, and on which side of the line between them."""

from __future__ import annotations

import math
from dataclasses import replace

from readiness.checks.clear_area.known import Known, car_doubt, choices, known_places
from readiness.checks.clear_area.placing import FARTHEST, MIDDLE_U, Placed, Unplaced, length_question
from readiness.checks.clear_area.plan_view import bay_outline
from readiness.checks.clear_area.things import Doubt
from readiness.checks.kind import Choice, Question, Scene
from readiness.checks.place import Where, where
from readiness.job import Sheet
from readiness.measure.overlap import XY
from readiness.measure.plan import Area, BoxAt, PointAt, signed_clearance
from readiness.measure.trilateration import Matrix2, TapesApartError, two_tapes

SIDES = ("left", "right")
"""Looking from the first place to the second."""
SHORTEST = 0.05
"""m; a shorter tape tells nothing of a direction."""
OUTSIDE = 1.0
"""m; a thing farther out of the bay than this is not meant; common practice, no published source."""
LOW, OVERHANG = 0.25, 0.1
"""m; what is no higher goes under a car, what is higher stands no farther in; common practice, no published source."""
SAME = 1e-6
SLACK = 0.1
"""m by which tapes may miss one another and still be entered; the judgement knows better."""

Both = tuple[Placed, Placed]


def by_tapes(scene: Scene, key: str, name: str, spot: str, top: float) -> list[Question]:
    """Two places with a tape each; which of the two, where a thing so high could stand in both."""
    places = known_places(scene)
    first, second = (places.get(scene.word(f"{key}.from{n}", shared=True)) for n in "12")
    asked = [
        _from(f"{key}.from1", f"{name}: tape 1 from", places, None),
        _tape(scene, f"{key}.tape1", f"{name}: tape 1", spot, first, second, f"{key}.tape2"),
        _from(f"{key}.from2", f"{name}: tape 2 from", places, first),
        _tape(scene, f"{key}.tape2", f"{name}: tape 2", spot, second, first, f"{key}.tape1"),
    ]
    both = both_sides(scene, key)
    if isinstance(both, Unplaced) or len(_possible(scene, both, top)) < 2:
        return asked
    words = (f"the one {beside_car(scene, p.at)}" for p in both)
    sides = tuple(Choice(k, side, w) for k, side, w in zip("12", SIDES, words, strict=True))
    which = Question(f"{key}.side", f"{name}: which one", "choice", choices=sides, evidence="seen", shared=True,
                     hint="the tapes meet in two places")  # fmt: skip
    return [*asked, which]


def placed_by_tapes(scene: Scene, key: str, top: float) -> Placed | Unplaced:
    """The one of both places where a thing `top` m high can stand, or that was said to be it."""
    both = both_sides(scene, key)
    if isinstance(both, Unplaced):
        return both
    possible = _possible(scene, both, top)
    if len(possible) == 1:
        return possible[0]
    side = scene.answer(f"{key}.side", shared=True)
    if side.word not in SIDES:
        why = "" if side.missing == "lapsed" else "Its tapes meet in two places."
        return Unplaced((side,), why, "Say which of the two it is." if why else "")
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
    except TapesApartError:
        why = _cannot_meet(scene, (a, b), (ra.value, rb.value))
        return Unplaced(tuple(answers), why, "Measure both tapes again, and look where each of them begins.")
    except ValueError:
        why = "Both tapes begin at the same place."
        return Unplaced(tuple(answers), why, "Take two places that are far apart.")
    left, right = (
        Placed(
            m.at,
            Doubt(math.hypot(shared.u, MIDDLE_U), _roots(m.covariance), shared.turn, shared.about),
            readings,
        )
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


def _possible(scene: Scene, both: Both, top: float) -> tuple[Placed, ...]:
    """The places where a thing can stand: not far out of the bay, nor under the car if it is high.

    One where both are the same place, both where neither can be.
    """
    if math.dist(both[0].at, both[1].at) < SAME:
        return both[:1]
    bay = Area(bay_outline(scene.bay.outline, scene.once(where).standing))
    rear, front, half = _body(scene.sheet)
    body = BoxAt(rear, -half, front, half)

    def can_be(at: XY) -> bool:
        inside = signed_clearance(bay, PointAt(*at)) <= OUTSIDE
        return inside and (top <= LOW or signed_clearance(body, PointAt(*at)) > -OVERHANG)

    return tuple(p for p in both if can_be(p.at)) or both


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
                    hint="at a wheel: on the floor outside the tyre, under the hub")  # fmt: skip


def _tape(
    scene: Scene, key: str, label: str, spot: str, start: Known | None, other: Known | None, others_tape: str
) -> Question:  # fmt: skip
    """A length that can meet the other tape, once that is known."""
    place = start.the if start is not None else "that place"
    asked = length_question(key, label, f"along the floor from {place} to {spot}", SHORTEST)
    beside = scene.answer(others_tape, shared=True).estimate
    if start is None or other is None or beside is None:
        return asked
    apart = math.dist(start.at, other.at)
    low, high = abs(apart - beside.value) - SLACK, apart + beside.value + SLACK

    def explain(value: float) -> str:
        return _cannot_meet(scene, (start, other), (value, beside.value)) + " Measure both again."

    return replace(asked, low=max(SHORTEST, low), high=min(FARTHEST, high), explain=explain)


def _cannot_meet(scene: Scene, places: tuple[Known, Known], tapes: tuple[float, float]) -> str:
    between = scene.show(math.dist(places[0].at, places[1].at), "m")
    lengths = " and ".join(scene.show(t, "m") for t in tapes)
    return f"Tapes of {lengths} cannot meet: {places[0].the} and {places[1].the} are {between} apart."

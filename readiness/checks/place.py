"""Where the car stands in the bay, for every check that looks at both: floor, clear area, aim.

The check of kind `standing` says so where a checklist has one; otherwise the car stands on the bay's own marks.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from readiness.checks.kind import Answer, Scene
from readiness.checks.picture import XY
from readiness.checks.taped_place import TapedPlace, by_tapes
from readiness.job import Reading, Sheet, Standing
from readiness.measure.least_squares import widening
from readiness.measure.uncertain import from_half_width

KIND = "standing"
"""The kind of check that asks where the car stands."""
MARKS, CHALK, TAPE = "marks", "chalk", "tape"
PLAN = {"plan.x": "m", "plan.y": "m", "plan.heading": "deg"}
"""The place that was worked out, as answers of that check, with their units."""

ON_MARKS_U = 0.02
"""m; standard uncertainty of laying out the car's axes by eye, or of parking on marks; common practice, no
published source."""
WHEEL_A = 0.02
"""m; half width of how far the middle of an axle stands off its marks, to one side; common practice, no published source."""


@dataclass(frozen=True, slots=True)
class Pivot:
    """A place of the car that errs independently of its heading: a heading that is wrong turns the car about it.

    Between the wheels that were measured, say. From the rear axle, place and heading err together, and what one
    does to a place far off the other may double.
    """

    at: XY
    """In car axes, m."""
    u: float
    """Standard uncertainty of this place, m in each direction."""


@dataclass(frozen=True, slots=True)
class Where:
    """Where the car stands, and how well that is known."""

    standing: Standing
    u: float = ON_MARKS_U
    """Standard uncertainty of the place of the middle of the rear axle, m in each direction."""
    u_heading: float = 0.0
    """Standard uncertainty of the heading, degrees."""
    readings: tuple[Reading, ...] = ()
    missing: tuple[Answer, ...] = ()
    """Answers without which it is not known; `standing` is then the bay's own."""
    why: str = ""
    """What to do before it is known, as a sentence; empty where it is."""
    pivot: Pivot | None = None
    """Where it errs least and apart from the heading; None: the middle of the rear axle."""

    @property
    def turns_about(self) -> Pivot:
        return self.pivot or Pivot((0.0, 0.0), self.u)

    @property
    def lapsed(self) -> bool:
        """Whether it was known, and no longer is."""
        return any(a.missing == "lapsed" for a in self.missing)


def where(scene: Scene) -> Where:
    """Where the car of this visit stands. Without a check that asks, or where that was set aside: on the bay's own marks."""
    beside = scene.beside(KIND)
    return Where(scene.bay.standing) if beside is None else beside.once(_answered)


def _answered(scene: Scene) -> Where:
    """From the answers of the check that asks."""
    said = scene.answer("where")
    if scene.set_aside:
        return Where(scene.bay.standing)
    if not said.ready:
        return _unknown(scene, said)
    if said.word == TAPE:
        return _by_tapes(scene, said)
    if said.word == MARKS:
        return parked(scene.sheet, scene.bay.standing, said.readings)
    plan, answers = plan_of(scene), [scene.answer(key, accuracy=0.0) for key in PLAN]
    if plan is None:
        return _unknown(scene, *(a for a in answers if not a.ready))
    return parked(scene.sheet, plan, (*said.readings, *(r for a in answers for r in a.readings)))


def parked(sheet: Sheet, standing: Standing, readings: tuple[Reading, ...] = ()) -> Where:
    """Parked on marks or chalk: each axle stands a little to one side of its own."""
    turn = math.sqrt(2.0) * from_half_width(WHEEL_A) / sheet.dimensions.wheelbase
    return Where(standing, ON_MARKS_U, math.degrees(turn), readings)


def _by_tapes(scene: Scene, said: Answer) -> Where:
    taped = tapes_of(scene)
    readings = (*said.readings, *taped.readings)
    if taped.missing:
        return _unknown(scene, *taped.missing)
    if taped.found is None:
        why = f"It is not known where the car stands: put {scene.check.title} right."
        return Where(
            scene.bay.standing, readings=readings, missing=(Answer("tape", missing="not_done"),), why=why
        )
    posed = taped.found.posed
    wider = widening(math.sqrt(posed.chi_square / posed.dof))
    standing = rounded(Standing(x=posed.x, y=posed.y, heading=posed.heading))
    at, u = posed.pivot
    pivot = Pivot(in_car(standing, at), wider * u)
    return Where(standing, wider * posed.u, wider * posed.u_heading, readings, pivot=pivot)


def _unknown(scene: Scene, *missing: Answer) -> Where:
    lapsed = next((a for a in missing if a.missing == "lapsed"), None)
    again = f" again, for {lapsed.problem}" if lapsed else ""
    why = f"First say where the car stands{again}: answer {scene.check.title}."
    return Where(scene.bay.standing, missing=missing, why=why)


# --- the answers of that check -------------------------------------------------------------------


def plan_of(scene: Scene) -> Standing | None:
    """The place that was worked out, from the check that asks; None while a number of it is missing.

    It is no measurement: the latest number counts, not the mean.
    """
    answers = [scene.answer(key, accuracy=0.0) for key in PLAN]
    if not all(a.ready for a in answers):
        return None
    x, y, heading = (float(a.readings[-1].value) for a in answers)
    return rounded(Standing(x=x, y=y, heading=heading))


def tapes_of(scene: Scene) -> TapedPlace:
    """What the tapes say, from the check that asks."""
    return scene.once(by_tapes)


# --- axes ----------------------------------------------------------------------------------------


def rounded(standing: Standing) -> Standing:
    """To a tenth of a mm and a thousandth of a degree, so that what is worked out for a place is found again."""
    x, y, heading = round(standing.x, 4), round(standing.y, 4), round(standing.heading, 3)
    return Standing(x=x + 0.0, y=y + 0.0, heading=heading + 0.0)


def in_car(standing: Standing, at: XY) -> XY:
    """A place of the bay as the car sees it that stands there."""
    h = math.radians(standing.heading)
    x, y = at[0] - standing.x, at[1] - standing.y
    return x * math.cos(h) + y * math.sin(h), y * math.cos(h) - x * math.sin(h)


def in_bay(standing: Standing, at: XY) -> XY:
    """A place about the car in the bay's axes."""
    h = math.radians(standing.heading)
    x, y = at
    return standing.x + x * math.cos(h) - y * math.sin(h), standing.y + x * math.sin(h) + y * math.cos(h)

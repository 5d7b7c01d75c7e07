"""How the body sits where nobody read its heights: from what the load check found and the sheet's springs.

Each wheel's spring is pressed together by the change of load on it, and where the heights run from the floor its
tyre as well. An estimate: rates are known to a third, nobody asks on which side a thing lies, anti-roll
bars are left out, and a tired or broken spring is not seen.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from readiness.checks import load
from readiness.checks.kind import Choice, Question, Scene
from readiness.checks.tyres import radius
from readiness.job import WHEELS, Sheet
from readiness.measure.springs import compression
from readiness.measure.uncertain import ROOT_3, Traced

KEY, ESTIMATED = "estimate", "estimated"
CHOICES = (
    Choice("e", ESTIMATED, "estimate, from load and springs"),
    Choice("n", "no", "no, the tape is used"),
)
RATE_A = 0.3
"""Half width of a spring rate at the wheel, as a share: friction, bushes, anti-roll bars, age. One error an axle, whose
two springs are alike; common practice, no published source."""
GIVE_A = 0.55
"""Half width of how much a spring gives, as a share. The rate is a divisor, so a spring 30 % softer gives 43 % more, and
what it divides is uncertain as well: with 55 % a pass at the limit is wrong in 5 % of random draws, where 30 %, the
first order, leaves 9 %."""
ASIDE_A = 0.4
"""Half width in m of how far beside the centre line a thing lies; common practice, no published source."""
NOTE = (
    f"The heights are estimated from the load and the sheet's springs, whose rates count as good to {100 * RATE_A:.0f} %. "
    "An estimate cannot see a tired or broken spring; four heights read with a tape replace it."
)


@dataclass(frozen=True)
class Estimated:
    """Deviations in mm by wheel, up positive; for the other wheels, why there is none."""

    by_wheel: Mapping[str, Traced] = field(default_factory=dict)
    refused: Mapping[str, str] = field(default_factory=dict)
    """Wheel -> a clause that says what is wanted instead."""


def question(sheet: Sheet) -> list[Question]:
    """Offered where the sheet gives springs; nobody who reads the heights need look at it."""
    if sheet.springs is None:
        return []
    return [
        Question(KEY, "Heights not read", "choice", choices=CHOICES, evidence="told", optional=True, part="roll",
                 hint="only where no tape can be held: an estimate sees no tired spring")
    ]  # fmt: skip


def chosen(scene: Scene) -> bool:
    return scene.sheet.springs is not None and scene.word(KEY) == ESTIMATED


def estimated(scene: Scene) -> Estimated:
    """How far each corner of the body is over where the sheet has it, from loads; see `deviation`.

    Errors: those of the load check, 'load: <cause>, side' for where across the car each thing lies, 'spring
    front' and 'spring rear', and those of the tyres where the sheet's heights run from the floor.
    """
    sheet = scene.sheet
    beside = scene.beside(load.KIND)
    changes = load.changes_by_cause(beside) if beside is not None else None
    if beside is None or changes is None:
        answers = f"the answers of {beside.check.title}" if beside else "a check of the load in the checklist"
        return _refused(f"the estimate needs {answers}; or read the heights")
    from_floor = sheet.ride_heights is not None and sheet.ride_heights.kind == "floor_to_arch"
    tyres = radius.deviations(scene) if from_floor else {w: Traced(0.0) for w in WHEELS}
    if tyres is None:
        return _refused("the estimate needs the tyre pressures, for its heights run from the floor")
    levelled = {w: _levelled(sheet, w) for w in WHEELS}
    return Estimated(
        {w: deviation(sheet, w, changes, from_floor).plus(tyres[w]) for w in WHEELS if not levelled[w]},
        {w: why for w, why in levelled.items() if why},
    )


def deviation(
    sheet: Sheet, wheel: str, changes: Mapping[str, tuple[Traced, Traced]], from_floor: bool
) -> Traced:
    """How far in mm, up positive, the body is raised at a wheel by changes of axle load in kg.

    -m g / k of half an axle's change, plus m g / Kz of the tyre where heights run from the floor. A thing that lies
    y left of the centre line puts 1/2 + y / track of its load on the left wheel.
    """
    assert sheet.springs is not None
    axle, k, track = (
        ("front", 0, sheet.dimensions.track_front)
        if wheel.endswith("f")
        else ("rear", 1, sheet.dimensions.track_rear)
    )
    aside = ASIDE_A / ROOT_3 / track * (1.0 if wheel.startswith("l") else -1.0)
    on_wheel = Traced(0.0)
    for cause, change in changes.items():
        side = Traced(0.0, {f"load: {cause}, side": change[k].value * aside})
        on_wheel = on_wheel.plus(change[k].scaled(0.5), side)
    spring = on_wheel.scaled(-compression(1.0, getattr(sheet.springs, axle)))
    # a rate that is out by a share e gives heights out by the factor 1 / (1 + e)
    spring = spring.plus(Traced(0.0, {f"spring {axle}": -spring.value * GIVE_A / ROOT_3}))
    if not from_floor:
        return spring
    return spring.minus(radius.pressed(sheet, axle, on_wheel))


def _refused(why: str) -> Estimated:
    return Estimated(refused=dict.fromkeys(WHEELS, why))


def _levelled(sheet: Sheet, wheel: str) -> str:
    """Why the load tells nothing at a wheel of a car that levels itself; empty where it does not."""
    at_rear = wheel.endswith("r")
    if sheet.self_levelling == "none" or (sheet.self_levelling == "rear" and not at_rear):
        return ""
    return "the levelling hides the load, so nothing can be estimated here: measure the height"

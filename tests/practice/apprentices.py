"""Two scripted apprentices who fill a job through the same questions as everybody.

The careful one looks at everything and reads it with the best instrument in date, each tyre by itself, each level both
ways round, with the unit that the display shows. The careless one has the habits of `faults.habits`: he takes the car
to be what it was before anything went wrong with it, and measures only what he cannot get round.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from readiness import units
from readiness.checks.finding import Visit
from readiness.checks.instruments import first_in_date
from readiness.checks.kind import Place
from readiness.checks.walking import Stop
from readiness.job import Reading
from readiness.practice import looking
from readiness.practice.car import Car
from readiness.practice.filling import blank, filled, reading, said_in, skipped
from readiness.practice.ground import moment
from readiness.practice.model import Look
from readiness.practice.sights import Quantity, State, found
from readiness.practice.world import World

PSI_A_BAR = 15.0
"""The rule of thumb of somebody in a hurry; it is 14.5."""
TOLD = frozenset({"supply", "paint"})
"""Numbers that he takes from a display or from the day before."""


@dataclass(frozen=True)
class Played:
    """A job as an apprentice filled it, and what he looked at on the way."""

    visit: Visit
    looks: tuple[Look, ...]


Answer = Callable[["Walk", Visit, Stop], Reading | None]
"""One way of answering a question; it may look."""


class Walk:
    """An apprentice on his way round one car."""

    def __init__(self, car: Car, at: datetime) -> None:
        self.car = car
        self.at = at
        self.looks: list[Look] = []

    def read(self, visit: Visit, stop: Stop, place: Place, tool: str) -> str:
        """What an instrument shows at a place."""
        self.looks.append(Look(place, tool, self.at))
        return self.car.look(place, tool, 0, said_in(visit)).typed

    def state(self, visit: Visit, place: Place) -> str:
        """What a careful person says to what he sees."""
        self.looks.append(Look(place, "", self.at))
        return looking.truly(self.car.world, place, said_in(visit))


def played(car: Car, apprentice: Answer, at: datetime | None = None) -> Played:
    """The job of this car as this apprentice leaves it, entered at one moment."""
    at = at or moment()
    walk = Walk(car, at)
    visit = filled(blank(car.world, at), lambda visit, stop: apprentice(walk, visit, stop), at)
    return Played(visit, tuple(walk.looks))


# --- the careful one -----------------------------------------------------------------------------


def careful(walk: Walk, visit: Visit, stop: Stop) -> Reading | None:
    """Looks, and says what he sees."""
    if skipped(stop):
        return None
    world = walk.car.world
    there = found(world, stop.place, said_in(visit))
    if isinstance(there, State):
        return reading(visit, stop, walk.state(visit, stop.place), walk.at)
    tool = looking.best(world.instruments, there.measures) if there.measures else ""
    return reading(visit, stop, walk.read(visit, stop, stop.place, tool), walk.at, tool)


# --- the careless one ----------------------------------------------------------------------------


def careless(walk: Walk, visit: Visit, stop: Stop) -> Reading | None:
    """Says what is usual, and measures what nobody can say."""
    if stop.question.optional:
        return None
    kind, key = stop.check.kind, stop.question.key
    if key in UNLOOKED:
        return reading(visit, stop, UNLOOKED[key], walk.at)
    if kind == "floor" and key == "source":
        return reading(visit, stop, "survey" if visit.bay.survey is not None else "level", walk.at)
    if kind == "clear_area":
        return reading(visit, stop, _all_clear(key), walk.at)
    world, place = _as_he_takes_it(walk.car, kind, stop.place)
    there = found(world, place)
    if isinstance(there, State):
        return reading(visit, stop, there.answer, walk.at)
    return _measured(walk, visit, stop, world, place, there)


UNLOOKED = {
    "where": "marks", "parked": "stood", "sizes": "yes", "survey_holds": "yes", "sun": "no", "flicker": "no",
}  # fmt: skip
"""What he says from where he stands."""


def _all_clear(key: str) -> str:
    if key.startswith("kit."):
        return "out"
    return "yes" if key.startswith("nobody.") else "no"


def _as_he_takes_it(car: Car, kind: str, place: Place) -> tuple[World, Place]:
    """Which car he answers for, and where he really looks: on the left, at the first place."""
    check, side, key = place
    if kind in ("procedure", "states", "load") or key in TOLD:
        return car.believed, place
    head, _, rest = key.partition(".")
    if kind in ("tyres", "stance") and rest.startswith("r"):
        return car.world, (check, side, f"{head}.l{rest[1:]}")
    if kind == "centre_marks":
        return car.world, (check, side, f"{head}.left")
    return car.world, (check, side, "light.1" if kind == "light" else key)


def _measured(walk: Walk, visit: Visit, stop: Stop, world: World, place: Place, there: Quantity) -> Reading:
    tool = first_in_date(visit.instruments, there.measures, walk.at.date()) if there.measures else None
    name = tool.id if tool is not None else ""
    if world is walk.car.world:
        text = walk.read(visit, stop, place, name)
    else:
        text = looking.shown(world, place, there, name, 0)
    return reading(visit, stop, by_thumb(text), walk.at, name)


def by_thumb(text: str) -> str:
    """What is shown in psi, in bar as he takes it to be; anything else as it is."""
    number, _, unit = text.partition(" ")
    return f"{float(number) / PSI_A_BAR:.2f} bar" if unit == units.label("kPa", "us") else text

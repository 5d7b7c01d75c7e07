"""What is given: the answers of all checks that are not to be called, true and plain."""

from __future__ import annotations

from datetime import datetime

from msgspec.structs import replace

from readiness.checks.finding import Visit
from readiness.checks.walking import Stop
from readiness.job import Reading
from readiness.practice import looking
from readiness.practice.car import Car
from readiness.practice.filling import BY, blank, exactly, filled, reading, said_in, skipped
from readiness.practice.sights import Quantity, found
from readiness.practice.world import World
from readiness.records.shop import ShopFolder

HIDDEN = "to be looked at"
"""Who answers what is left to the person, while it is found out what is asked beside it."""


def given(exercise: Car, folder: ShopFolder, at: datetime, by: str = BY) -> tuple[Reading, ...]:
    """Readings for the journal of this car in the practice shop's folder, as if taken at `at`; their checks pass.

    What a check to be called asks as well, such as the air in the bay, is left to the person.
    """
    world, mine = exercise.world, set(exercise.topics)
    exact = exactly(world, at, survey=True)

    def respond(visit: Visit, stop: Stop) -> Reading | None:
        if any((check.id, side) in mine for check, side in stop.asked_by):
            left = exact(visit, stop)
            return None if left is None else replace(left, by=HIDDEN)
        return None if skipped(stop) else _plain(world, visit, stop, at)

    visit = filled(folder.visit(blank(world, at).job), respond, at)
    return tuple(replace(r, by=by) for r in visit.job.readings if r.by != HIDDEN)


def _plain(world: World, visit: Visit, stop: Stop, at: datetime) -> Reading:
    """As the best instrument would show it if it had no error."""
    there = found(world, stop.place, said_in(visit))
    if not isinstance(there, Quantity):
        return reading(visit, stop, there.answer, at)
    tool = looking.best(world.instruments, there.measures) if there.measures else ""
    return reading(visit, stop, looking.without_error(world, there, tool), at, tool)

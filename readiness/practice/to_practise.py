"""What there is to practise: the checks in which something of the catalogue can be wrong, and the faults by name."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache

from readiness.practice.exercise import exercise
from readiness.practice.faults import CATALOGUE, VERSION
from readiness.practice.finished import Finished
from readiness.practice.ground import ground, sheets

TRIES = 60
"""Cars looked at, some 50 ms each; one in twenty or so of the first level has a given check."""


@cache
def checks() -> dict[str, str]:
    """Titles of these checks by id, in walking order. Raises ShopError where the practice shop cannot be read."""
    there = {fault.check for fault in CATALOGUE.values()}
    return {
        check.id: check.title
        for sheet in sheets()
        for check in ground(sheet).checklist.walk()
        if check.id in there
    }


def faults() -> dict[str, str]:
    """Titles of all faults by id."""
    return {fault.id: fault.title for fault in CATALOGUE.values()}


def next_car(check: str, level: int, met: Iterable[Finished]) -> int | None:
    """The first car of a level, by its seed, in which this check is to be called and which was not met; None after many tries.

    Everybody is sent to the same ones, so that those who practise the same can be compared.
    """
    known = {result.car for result in met}
    for seed in range(1, TRIES + 1):
        car = exercise(seed, level)
        mine = any(topic[0] == check for topic in car.topics)
        if mine and (seed, level, car.sheet, VERSION) not in known:
            return seed
    return None

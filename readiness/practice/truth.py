"""How every check of a practice car really stands.

The engine judges a job in which everything is answered exactly as it is, by simple acceptance (`factor` 0, no guard
band): so the limits are those of sheet and checklist, applied to true values, and no uncertainty has a say. The floor
is then taken from exact staff readings, because a survey has uncertainties of its own. `near` is what the engine says of
the same exact answers with its usual guard bands, the best instruments named, and the survey where it holds: if even
so it is too close to call, nobody can tell.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import timedelta

import msgspec

from readiness.checklist.model import Check, Decision
from readiness.checks.finding import Finding, Visit, find
from readiness.practice.filling import blank, exactly, filled
from readiness.practice.ground import moment
from readiness.practice.model import Topic, Truth
from readiness.practice.world import World

SHORTLY = timedelta(minutes=5)


@dataclass(frozen=True)
class Placed:
    """A fault that was planted, as its words say it of this car."""

    fault: str
    topic: Topic
    was: str
    why: str
    shown_by: tuple[str, ...]
    also: tuple[str, ...] = ()
    """Checks that it spoils beside its own."""


NOBODY_CAN_TELL = (
    "So near to its limit nobody can tell with what the shop has, and only a pass counts towards a go."
)


def topics_of(world: World) -> tuple[Topic, ...]:
    """Every check that somebody can call, in walking order; not the aim, which nobody sees without the program."""
    return tuple(t for t in places_of(world) if world.check(t[0]).kind != "aim")


def places_of(world: World) -> tuple[Topic, ...]:
    """Every check with its side, in walking order."""
    return tuple(
        (check.id, side)
        for check in world.checklist.walk()
        for side in (world.sides if check.per_side else ("",))
    )


def truths(world: World, planted: Sequence[Placed] = ()) -> dict[Topic, Truth]:
    """How every check of the car stands, the aim too."""
    at = moment()
    exact = _accepting(filled(blank(world, at), exactly(world, at), at + SHORTLY))
    usual = filled(blank(world, at), exactly(world, at, survey=True), at + SHORTLY)
    found = {}
    for topic in places_of(world):
        check = world.check(topic[0])
        really, called = (find(visit, check, topic[1], at + SHORTLY) for visit in (exact, usual))
        found[topic] = _truth(check, topic, really, called.outcome == "too_close", planted)
    return found


def _accepting(visit: Visit) -> Visit:
    """The same with simple acceptance."""
    checklist = msgspec.structs.replace(visit.checklist, decision=Decision(factor=0.0))
    return replace(visit, checklist=checklist)


def _truth(check: Check, topic: Topic, really: Finding, near: bool, planted: Sequence[Placed]) -> Truth:
    bad, cause = really.outcome != "pass", _of(topic, planted)
    if not bad:
        return Truth(False, True, "", really.reason, NOBODY_CAN_TELL) if near else Truth(False)
    if cause is not None and cause.topic[0] == topic[0]:
        return Truth(True, near, cause.fault, cause.was, cause.why, cause.shown_by)
    keys = tuple(dict.fromkeys(r.question for r in really.readings))
    if cause is not None:
        return Truth(True, near, cause.fault, cause.was, cause.why, keys)
    return Truth(True, near, "", really.reason, NOBODY_CAN_TELL if near else first_sentence(check.why), keys)


def _of(topic: Topic, planted: Sequence[Placed]) -> Placed | None:
    """The fault behind a check: planted there, in the same check of the other side (a jack may lie in an area of both),
    or elsewhere and known to spoil this one too."""
    causes = [p for p in planted if p.topic[0] == topic[0]] or [p for p in planted if topic[0] in p.also]
    return next((p for p in causes if p.topic == topic), causes[0] if causes else None)


def first_sentence(text: str) -> str:
    """Of a checklist's `why`."""
    return f"{text.partition('. ')[0].rstrip('.')}."


def bad_of(found: Mapping[Topic, Truth]) -> set[Topic]:
    return {topic for topic, truth in found.items() if truth.bad}

"""Practice cars for tests."""

from __future__ import annotations

from datetime import timedelta

from readiness.checks.finding import Finding, find
from readiness.practice.car import Car
from readiness.practice.faults import CATALOGUE, Fault
from readiness.practice.ground import ground, moment, sheets
from readiness.practice.sound import sound
from readiness.practice.truth import topics_of
from tests.practice.apprentices import Answer, Played, played

NOW = moment() + timedelta(minutes=5)


def sides_of(sheet: str) -> tuple[str, ...]:
    return tuple(ground(sheet).checklist.sides)


def sound_car(seed: str, sheet: str, sides: tuple[str, ...] = ()) -> Car:
    """A car with nothing wrong, everything to be called."""
    world = sound(seed, sheet, sides or sides_of(sheet))
    return Car(0, 5, topics_of(world), world, world, ())


def where(fault: Fault) -> list[str]:
    """The sheets on which a fault can be."""
    return [s for s in sheets() if fault.applies(sound("anywhere", s, sides_of(s)))]


def everywhere() -> list[tuple[str, str]]:
    return [(fault.id, sheet) for fault in CATALOGUE.values() for sheet in where(fault)]


def found_by(car: Car, apprentice: Answer, topic: tuple[str, str]) -> Finding:
    return finding(played(car, apprentice), topic)


def finding(job: Played, topic: tuple[str, str]) -> Finding:
    return find(job.visit, job.visit.checklist.check(topic[0]), topic[1], NOW)

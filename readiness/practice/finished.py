"""An exercise that was finished, as it is kept: which car, who, when, and what each call was worth."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from msgspec import Struct

from readiness.practice.model import Exercise, Mark, Marked, Said, Worth

Car = tuple[int, int, str, str]
"""Seed, level, sheet, catalogue: with all four the same it is the same car with the same faults."""


class KeptCall(Struct, frozen=True, omit_defaults=True):
    """What a person said of a check, and what that was worth."""

    check: str
    said: Said
    worth: Worth
    bad: bool
    side: str = ""
    title: str = ""
    near: bool = False
    """So near to its limit that nobody could tell."""
    fault: str = ""
    """Id of the fault of the catalogue behind it, if there was one."""
    engine: str = ""
    """The outcome that the program found from the same answers."""
    unseen: tuple[str, ...] = ()
    """What would have shown it, and was not looked at."""
    for_nothing: tuple[str, ...] = ()
    """What was measured more than once although the first reading had decided it."""


class KeptGo(Struct, frozen=True, omit_defaults=True):
    """What a person said of a side, and what that was worth."""

    said: bool
    """True: go."""
    worth: Worth
    bad: bool
    side: str = ""


class Finished(Struct, frozen=True):
    """One exercise of one person."""

    by: str
    at: datetime
    seed: int
    level: int
    sheet: str
    catalogue: str
    """Version of the catalogue of faults that the car was drawn from."""
    calls: tuple[KeptCall, ...]
    goes: tuple[KeptGo, ...] = ()

    @property
    def car(self) -> Car:
        return self.seed, self.level, self.sheet, self.catalogue


def finished(exercise: Exercise, by: str, at: datetime, marked: Marked, catalogue: str) -> Finished:
    """What is to be kept of an exercise."""
    return Finished(
        by=by, at=at, seed=exercise.seed, level=exercise.level, sheet=exercise.sheet, catalogue=catalogue,
        calls=tuple(_call(mark) for mark in marked.checks),
        goes=tuple(KeptGo(g.said, g.worth, g.bad, g.side) for g in marked.sides),
    )  # fmt: skip


def first_time(results: Iterable[Finished]) -> tuple[Finished, ...]:
    """The first go at each car, in the order of their times: at the second what is true is known already."""
    firsts: dict[Car, Finished] = {}
    for result in sorted(results, key=lambda r: r.at):
        firsts.setdefault(result.car, result)
    return tuple(firsts.values())


def _call(mark: Mark) -> KeptCall:
    (check, side), truth = mark.topic, mark.truth
    return KeptCall(
        check=check, said=mark.said, worth=mark.worth, bad=truth.bad, side=side, title=mark.title, near=truth.near,
        fault=truth.fault, engine=mark.engine, unseen=mark.unseen, for_nothing=mark.for_nothing,
    )  # fmt: skip

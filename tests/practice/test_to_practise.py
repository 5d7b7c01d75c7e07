"""What is advised can be practised: each check comes up, in a car that the person has not met."""

from __future__ import annotations

import pytest

from readiness.practice.exercise import LEVELS, exercise
from readiness.practice.faults import CATALOGUE, VERSION
from readiness.practice.score import TOP, score
from readiness.practice.to_practise import checks, faults, next_car
from tests.practice.drawn import call, done


def test_the_levels_of_the_score_are_those_of_the_exercises():
    assert max(LEVELS) == TOP


def test_every_fault_can_be_named_and_its_check_practised():
    assert {f.check for f in CATALOGUE.values()} == set(checks())
    assert all(checks().values())
    assert set(faults()) == set(CATALOGUE)


@pytest.mark.parametrize("level", [1, 2, 5])
def test_the_advised_car_has_the_check_and_was_not_met(level):
    first = next_car("floor", level, [])
    assert first is not None
    car = exercise(first, level)
    assert "floor" in {check for check, _ in car.topics}
    met = done(first, level=level, sheet=car.sheet, catalogue=VERSION)
    other = next_car("floor", level, [met])
    assert other is not None
    assert other > first
    older = done(first, level=level, sheet=car.sheet, catalogue="an older one")
    assert next_car("floor", level, [older]) == first


def test_no_car_for_what_is_no_check():
    assert next_car("no such check", 4, []) is None


def test_who_has_met_little_is_sent_to_what_was_never_met():
    drawn = [done(n, [call("tyres", "fail" if n % 2 else "pass", n % 2 == 1)]) for n in range(12)]
    found = score("Odo Brack", drawn, checks())
    assert found.practise is not None
    assert found.practise.check != "tyres"
    assert len(found.topics) == len(checks())

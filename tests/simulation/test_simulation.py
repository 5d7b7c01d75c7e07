"""The engine against simulated cars whose truth is known: the stated risk is kept, and is worth something.

ISO 14253-1 by the rule of the house: a pass is wrong for at most 5 % of what lies at or beyond a limit, a fail for at
most 5 % of what lies at or within. `python -m tests.simulation --cars 10000` shows every kind of number.
"""

from __future__ import annotations

import os
from collections.abc import Iterable

import numpy as np
import pytest

from readiness import units
from readiness.checks.floor import levels
from readiness.checks.tyres import cold
from readiness.measure.decide import DEFAULT_FACTOR
from readiness.verdict import judge
from tests.simulation.cars import NOW, Simulated, parts_of
from tests.simulation.tally import Row, Share, Tally, tallied
from tests.simulation.tools import STATED, Shows, Toolbox
from tests.simulation.topics import ON_STEP

SEED = 2026
ANOTHER = os.environ.get("READINESS_SIMULATION_SEED", "")
"""A whole number: the same tests on other cars as well."""
SEEDS = [SEED, *([int(ANOTHER)] if ANOTHER else [])]
CARS = 1000


def cars(seed: int, many: int, first: int = 0) -> Iterable[Simulated]:
    return (Simulated.drawn(seed, n) for n in range(first, first + many))


# --- the claim -----------------------------------------------------------------------------------


@pytest.mark.slow
@pytest.mark.parametrize("seed", SEEDS)
def test_wrong_no_more_often_than_stated_over_1000_cars(seed):
    tally = tallied(cars(seed, CARS))
    assert list(tally.too_often()) == []
    assert not tally.odd
    every = tally.all
    assert min(every.at_pass.of, every.good_fail.of) > 3 * CARS, "too few parts near a limit show nothing"
    assert every.shy.rate < 0.01, "what is 4 u inside passes"
    assert tally.wrong_go.of > 200
    assert tally.no_go.rate < 0.05, "a car that is 5 u inside everywhere is a go"


# --- that it would be noticed --------------------------------------------------------------------


@pytest.mark.slow
def test_an_engine_that_ignores_or_halves_uncertainty_is_caught():
    careless, half, sound = Tally(), Tally(), Tally()
    for car in cars(SEED, 200):
        for tally, factor in ((careless, 0.0), (half, DEFAULT_FACTOR / 2), (sound, DEFAULT_FACTOR)):
            tally.add(car.outcome(car.judged(factor)))
    assert list(sound.too_often()) == []
    assert careless.wrong_go.too_often
    for tally in (careless, half):
        assert tally.all.at_pass.too_often
        assert tally.all.at_fail.too_often
    assert {k for k, row in careless.held.items() if row.at_pass.of >= 20} <= kinds_caught(careless)
    assert len(kinds_caught(half)) >= 10, (
        "where errors of one tool cancel, half of u is enough: not every kind"
    )


def kinds_caught(tally: Tally) -> set[str]:
    return {line.split(":")[0] for line in tally.too_often()} - {"all"}


def gauge_pressures_only(
    p: float, pa1: float, t1: float, pa2: float, t2: float, volume_ratio: float = 1.0
) -> float:
    """The gas law as a beginner has it."""
    return p * (t2 + 273.15) / (t1 + 273.15)


MUTANTS = {
    "gas law without the atmosphere": (
        cold,
        "gauge_at",
        gauge_pressures_only,
        "cold pressure, from the road",
    ),
    "a level whose feet are never off": (levels, "U_FOOT", 1e-6, "level"),
}


@pytest.mark.slow
@pytest.mark.parametrize("name", MUTANTS)
def test_an_engine_with_a_fault_is_caught(name, monkeypatch):
    module, attribute, wrong, kind = MUTANTS[name]
    monkeypatch.setattr(module, attribute, wrong)
    tally = tallied(cars(SEED, 80))
    assert any(kind in line for line in tally.too_often())


# --- the simulation itself -----------------------------------------------------------------------


@pytest.fixture(scope="module")
def few() -> list[Simulated]:
    return [*cars(SEED, 30, first=5000)]


def test_every_question_that_decides_is_answered(few):
    tally = tallied(few)
    assert not tally.odd
    assert {car.visit.checklist.checklist for car in few} == {
        "front_radar", "rear_corner_radar", "windscreen_camera", "surround_view",
    }  # fmt: skip
    for car in few:
        for where, part in parts_of(car.visit, car.judged()).items():
            assert part.outcome != "not_done" or "quick" in part.reason or "survey" in part.reason.lower(), (
                where
            )


def test_what_is_far_from_its_limit_is_judged_right(few):
    """A truth worked out by other formulas than the engine's, six standard uncertainties and more away."""
    far = [p for car in few for p in car.outcome(car.judged()).parts if abs(p.depth) > 6]
    assert len(far) > 300
    wrong = [p for p in far if p.outcome != ("pass" if p.depth > 0 else "fail")]
    assert wrong == []


def test_the_same_seed_gives_the_same_car():
    one, again, other = Simulated.drawn(7, 3), Simulated.drawn(7, 3), Simulated.drawn(7, 4)
    assert one.visit == again.visit
    assert judge(one.visit, NOW) == judge(again.visit, NOW)
    assert one.visit != other.visit


@pytest.mark.parametrize("measures", STATED)
def test_tools_keep_what_they_state(measures):
    """No further off than accuracy, the hand's noise (four standard deviations) and half a step of the display."""
    unit, true = units.MEASURES[measures], {"temperature": 20.0}.get(measures, 10.0)
    for n in range(40):
        box = Toolbox(np.random.default_rng([11, n]), str(n))
        tool = box.instruments[measures]
        a, d = (units.accuracy(text, unit, true) for text in (tool.accuracy, tool.resolution))
        shown = box.reads(Shows(measures, true), unit, "a thing")
        assert abs(shown - true) <= 0.9 * a + 0.4 * a + d / 2 + 1e-9


# --- the counting --------------------------------------------------------------------------------


def test_interval_where_it_has_a_closed_form():
    """Clopper and Pearson's lower bound for n of n is (1 - confidence)^(1/n); for none of n it is 0."""
    assert Share(10, 10).surely == pytest.approx(0.001**0.1)
    assert Share(0, 10).surely == 0
    assert Share(0, 0).surely == 0


def test_a_rate_counts_as_too_high_only_where_chance_does_not_explain_it():
    assert not Share(5, 100).too_often
    assert not Share(9, 100).too_often
    assert Share(20, 100).too_often
    assert Share(700, 10_000).too_often


def test_limits_on_a_step_are_shown_and_not_held_to_the_claim():
    tally = Tally(rows={f"tread{ON_STEP}": Row(at_pass=Share(50, 100)), "tread": Row(at_pass=Share(5, 100))})
    assert list(tally.too_often()) == []
    assert tally.all.at_pass.of == 100
    assert f"tread{ON_STEP}" in tally.table()

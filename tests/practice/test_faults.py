"""Every fault of the catalogue: the careful apprentice finds it, the careless one misses those that the catalogue says."""

from __future__ import annotations

import pytest

from readiness.practice.exercise import with_fault
from readiness.practice.faults import CATALOGUE, HABITS
from readiness.practice.ground import sheets
from tests.practice.apprentices import careful, careless
from tests.practice.cars import everywhere, found_by, sides_of

SEEDS = ("a", "b", "c", "d")

ASKED_FOR = {
    "one-hot", "gauge-in-psi", "mixed-sizes", "spare-missing", "half-tank", "tool-box", "level-zero",
    "drain-under-foot", "trolley-in-zone", "laptop-stand-in-zone", "sun-on-board", "strobing-lamp", "door-ajar",
    "mark-on-new-cover", "overdue-meter", "charger-off", "raised-mode", "sister-sheet",
}  # fmt: skip
"""Common practice, no published source: what every workshop has seen."""


@pytest.mark.parametrize(("id", "sheet"), everywhere())
def test_the_careful_one_finds_it_and_the_careless_one_misses_it_as_said(id, sheet):
    fault = CATALOGUE[id]
    for seed in SEEDS:
        car = with_fault(seed, fault, sheet, sides_of(sheet))
        topic = car.planted[0].topic
        truth = car.truths[topic]
        assert truth.bad, seed
        assert truth.fault == id, seed
        assert not truth.near, seed
        assert found_by(car, careful, topic).outcome == "fail", seed
        missed = found_by(car, careless, topic).outcome == "pass"
        assert missed == bool(fault.habit), (seed, found_by(car, careless, topic).reason)


def test_the_ones_that_every_workshop_has_seen_are_there():
    assert set(CATALOGUE) >= ASKED_FOR


def test_every_sheet_has_enough_to_be_found():
    for sheet in sheets():
        here = [id for id, on in everywhere() if on == sheet]
        assert len(here) >= 25, sheet


def test_words_of_the_catalogue():
    for id, fault in CATALOGUE.items():
        assert id == fault.id
        assert fault.habit in ("", *HABITS), id
        assert 1 <= fault.level <= 5, id
        assert set(fault.sheets) <= set(sheets()), id
        assert fault.title[0].isupper(), id


def test_a_fault_leaves_all_else_as_it_was():
    """What no fault has touched is the believed car's: the same air, the same tools, the same readings."""
    car = with_fault("a", CATALOGUE["door-ajar"], "pipit-front", ("single",))
    differs = [n for n in vars(car.world) if getattr(car.world, n) != getattr(car.believed, n)]
    assert differs == ["wrong"]

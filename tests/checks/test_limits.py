"""Limits that no reading could keep are a mistake of the checklist."""

from __future__ import annotations

import pytest

from tests.scenes import check

GOOD = {
    "floor": {"slope_along": 3, "slope_across": 3, "flatness": 5, "twist": 4, "target_height": 5},
    "load": {"front_change": 8, "rear_change": 10},
    "stance": {"height": 10, "roll": 0.3, "pitch": 0.3, "warp": 10},
    "centre_marks": {"yaw": 0.3, "shift": 8},
}
EVERY = [(kind, name) for kind, limits in GOOD.items() for name in limits]


@pytest.mark.parametrize("kind", GOOD)
def test_limits_above_zero_are_no_mistake(kind):
    assert list(check(kind, GOOD[kind]).limits.problems()) == []


@pytest.mark.parametrize("value", [0.0, -1.0])
@pytest.mark.parametrize(("kind", "name"), EVERY)
def test_zero_and_less_are_named_with_their_field(kind, name, value):
    ((field, found, expected),) = check(kind, {**GOOD[kind], name: value}).limits.problems()
    assert (field, found) == (name, f"{value:g}")
    assert "more than zero" in expected

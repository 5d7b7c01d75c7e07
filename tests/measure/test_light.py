"""Illuminance: mean, uniformity and the measuring grid of EN 12464-1."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from readiness.measure.light import grid_points, grid_spacing, light_of, uniformity
from tests.outside import given as outside

GRID = "EN 12464-1, p = 0.2 * 5^(log10 d)"


@pytest.mark.parametrize(
    ("readings", "mean", "least", "u0"),
    [
        outside("nine-points", "worked average, own numbers", "hand",
                [412, 455, 498, 430, 505, 520, 415, 470, 485, ], 465.556, 412, 0.884964),
    ],
)  # fmt: skip
def test_worked_average(readings, mean, least, u0):
    light = light_of(readings)
    assert light.mean == pytest.approx(mean, abs=5e-4)
    assert light.minimum == least
    assert light.uniformity == uniformity(readings) == pytest.approx(u0, abs=5e-7)
    assert min(readings) / max(readings) == pytest.approx(0.792308, abs=5e-7)


@pytest.mark.parametrize(
    ("side", "p"),
    [
        outside(f"{d}m", GRID, "text seen + hand", d, p)
        for d, p in [(0.4, 0.1054), (0.6, 0.1399), (1, 0.2), (2, 0.3247), (5, 0.6160), (10, 1.0),
                     (25, 1.8974), (50, 3.0801), (100, 5.0)]
    ],
)  # fmt: skip
def test_grid_spacing(side, p):
    assert grid_spacing(side) == pytest.approx(p, abs=6e-5)


@pytest.mark.parametrize(
    ("side", "printed"),
    [
        outside(f"{d}m", "EN 12464-1 grid table, reproduced", "text seen", d, p)
        for d, p in [(1, 0.2), (2, 0.3), (5, 0.6), (10, 1.0), (25, 2.0), (50, 3.0), (100, 5.0)]
    ],
)
def test_the_printed_table_rounds_the_formula(side, printed):
    """Rows 0.4 and 0.6 m are printed wider than the formula says and are left out."""
    assert grid_spacing(side) == pytest.approx(printed, rel=0.09)


@pytest.mark.parametrize(
    ("length", "width", "points"), [outside("5x4m", "public page on the grid", "text seen", 5, 4, (8, 6))]
)
def test_grid_points(length, width, points):
    assert grid_points(length, width) == points
    assert grid_points(width, length) == points[::-1]


@given(st.lists(st.just(0.0) | st.floats(1e-3, 1e5), min_size=1, max_size=30), st.floats(0.1, 10))
def test_brighter_lamps_change_no_uniformity(readings, gain):
    u0 = uniformity(readings)
    assert 0 <= u0 <= 1 + 1e-12
    assert uniformity([gain * r for r in readings]) == pytest.approx(u0, abs=1e-9)


def test_darkness_is_not_even():
    assert uniformity([0, 0]) == 0.0


@pytest.mark.parametrize(
    ("call", "word"),
    [
        (lambda: light_of([]), "at least one point"),
        (lambda: light_of([300, -1]), "-1 lx cannot be"),
        (lambda: light_of([300, float("nan")]), "cannot be"),
        (lambda: grid_spacing(0), "positive"),
    ],
)
def test_what_is_refused(call, word):
    with pytest.raises(ValueError, match=word):
        call()


def test_the_spacing_stops_at_ten_metres():
    assert grid_spacing(1000) == 10.0

"""The solver of the level nets against a published adjustment that is no net."""

from __future__ import annotations

from math import hypot

import pytest

from readiness.measure.least_squares import Observation, solved
from tests.outside import rows


@pytest.mark.parametrize("row", [p for p in rows("least_squares_fits") if p.values[0]["id"] == "PL5"])
def test_the_thermometer_line(row):
    """JCGM 100:2008 H.3: b = y1 + y2 (t - 20), all readings alike, their u from the scatter about the line."""
    solution = solved(
        [
            Observation({"y1": 1.0, "y2": t - 20.0}, b, 1.0)
            for t, b in zip(row["t_c"], row["b_c"], strict=True)
        ],
        ("y1", "y2"),
    )
    want, s, (first, second) = row["computed"], solution.s0, solution.root
    assert solution.values["y1"] == pytest.approx(want["y1"], abs=1e-6)
    assert solution.values["y2"] == pytest.approx(want["y2"], abs=1e-7)
    assert s == pytest.approx(want["s"], abs=1e-7)
    assert s * hypot(*first) == pytest.approx(want["s_y1"], abs=1e-6)
    assert s * hypot(*second) == pytest.approx(want["s_y2"], abs=1e-6)
    correlation = sum(a * b for a, b in zip(first, second, strict=True)) / hypot(*first) / hypot(*second)
    assert correlation == pytest.approx(want["r"], abs=1e-5)
    at_30 = [a + 10.0 * b for a, b in zip(first, second, strict=True)]
    assert s * hypot(*at_30) == pytest.approx(want["u_b_30"], abs=1e-6)

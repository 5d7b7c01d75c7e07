"""The standard atmosphere against printed tables and a library; sea-level figures recognised."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from readiness.measure.atmosphere import (
    looks_like_sea_level,
    pressure_altitude,
    reduced_to_station,
    standard_pressure,
)
from readiness.measure.gas import gauge_at
from tests.outside import given as outside
from tests.outside import rows


@pytest.mark.parametrize("row", rows("isa", lambda r: f"isa-{r['h_m']}m"))
def test_standard_pressure(row):
    got = standard_pressure(row["h_m"])
    assert got == pytest.approx(row["p_kpa_geopotential"], abs=6e-4)
    # a map gives geometric altitude: the difference stays within the tolerance
    assert got == pytest.approx(row["p_kpa_geometric"], abs=row["tolerance_kpa"])


@pytest.mark.parametrize("row", rows("isa_published_points", lambda r: f"{r['p_hpa']}hPa"))
def test_printed_altitudes_of_round_pressures(row):
    assert standard_pressure(row["h_m"]) * 10 == pytest.approx(row["p_hpa"], abs=row["tolerance_hpa"])
    assert pressure_altitude(row["p_hpa"] / 10) == pytest.approx(row["h_m"], abs=1.0)


@pytest.mark.parametrize("h", [-400.0, 0.0, 150.0, 850.0, 1600.0, 2500.0, 4000.0])
def test_against_ambiance(h):
    """ambiance takes geometric altitude and converts with the earth's radius; so does this oracle."""
    ambiance = pytest.importorskip("ambiance")
    geopotential = float(ambiance.Atmosphere(h).H[0])
    printed = float(ambiance.Atmosphere(h).pressure[0]) / 1e3
    assert standard_pressure(geopotential) == pytest.approx(printed, rel=1e-6)


@given(st.floats(-2000, 11000))
def test_altitude_and_pressure_are_inverse(h):
    assert pressure_altitude(standard_pressure(h)) == pytest.approx(h, abs=1e-6)


@given(st.floats(95, 106), st.floats(0, 3000))
def test_a_standard_day_reduces_to_the_standard_pressure(p, h):
    assert reduced_to_station(101.325, h) == pytest.approx(standard_pressure(h), rel=1e-12)
    assert reduced_to_station(p, 0.0) == pytest.approx(p, rel=1e-12)
    assert reduced_to_station(p, h) <= p + 1e-9


@pytest.mark.parametrize(
    ("p", "h", "expected"),
    [
        outside("report-at-1600m", "ISO 2533: 83.5 kPa there", "hand", 101.8, 1600, True),
        outside("low-report-at-1000m", "ISO 2533: 89.9 kPa there", "hand", 97.0, 1000, True),
        outside("station-at-1600m", "ISO 2533: 83.5 kPa there", "hand", 84.2, 1600, False),
        outside("high-station-at-600m", "ISO 2533: 94.3 kPa there", "hand", 97.0, 600, False),
        outside("sea-level-shop", "ISO 2533: 101.3 kPa there", "hand", 105.8, 0, False),
        outside("low-shop", "ISO 2533: 99.0 kPa there", "hand", 103.5, 200, False),
        outside("slip-of-the-keys", "no weather report says so", "hand", 120.0, 1600, False),
    ],
)
def test_a_weather_report_is_recognised(p, h, expected):
    assert looks_like_sea_level(p, h) is expected


@given(st.floats(0, 250), st.floats(97, 105), st.floats(-10, 35), st.floats(-15, 15))
def test_where_it_is_not_recognised_it_does_no_harm(h, report, tyre, warmer):
    """Below 250 m, 15 K warm: the two figures change the cold pressure by less than 0.2 kPa."""
    here = reduced_to_station(report, h)
    right = gauge_at(230, here, tyre + warmer, here, tyre)
    wrong = gauge_at(230, report, tyre + warmer, report, tyre)
    assert abs(right - wrong) < 0.2


@pytest.mark.parametrize("h", [-2500, 12000, float("nan")])
def test_outside_the_troposphere_is_refused(h):
    with pytest.raises(ValueError, match="altitude"):
        standard_pressure(h)


def test_no_pressure_no_altitude():
    with pytest.raises(ValueError, match="positive"):
        pressure_altitude(0.0)

"""Fuel density and axle loads against the petroleum tables, statics problems and laws."""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from readiness.measure.axle import axle_change, ballast, shares
from readiness.measure.fuel import RANGE_15C, alpha15, default_density15, density, mass_kg
from readiness.measure.uncertain import Estimate
from tests.outside import rows

AXLE = {p.values[0]["id"]: p for p in rows("axle_load")}


# --- fuel ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("row", rows("fuel_density", lambda r: f"{r['fuel']}-{r['rho15_kg_m3']}-{r['t_c']}C"))
def test_density_at_temperature(row):
    rho15, t, kind = row["rho15_kg_m3"], row["t_c"], row["fuel"]
    assert alpha15(rho15, kind) == pytest.approx(row["alpha15_per_c"], abs=6e-8)
    got = density(rho15, t, kind)
    assert got == pytest.approx(row["rho_t_kg_m3"], abs=6e-4)
    assert got / rho15 == pytest.approx(row["vcf"], abs=6e-7)
    mass = mass_kg(Estimate(50.0), Estimate(t), kind, Estimate(rho15))
    assert mass.value == pytest.approx(row["mass_50_l_kg"], abs=6e-4)
    assert mass.u == 0.0


RANGES = [p for p in rows("fuel_ranges_kg_m3_15c", lambda r: r["fuel"]) if p.values[0]["fuel"] in RANGE_15C]


@pytest.mark.parametrize("row", RANGES)
def test_ranges_of_the_standards(row):
    low, high = row["range"]
    got = default_density15(row["fuel"])
    assert RANGE_15C[row["fuel"]] == (low, high)
    assert got.value == (low + high) / 2
    assert got.u * math.sqrt(3) == pytest.approx((high - low) / 2)


def test_light_diesel_takes_the_jet_zone_and_meets_the_other_at_its_border():
    """Zones as public implementations of table 54B print them; the formula there hardly steps."""
    assert alpha15(830.0, "diesel") == pytest.approx(594.5418 / 830**2)
    assert alpha15(838.4999, "diesel") == pytest.approx(alpha15(838.5, "diesel"), rel=5e-4)


@given(st.sampled_from(sorted(RANGE_15C)), st.floats(-20, 40), st.floats(0.1, 10))
def test_warmer_fuel_is_lighter_and_at_15_degrees_is_as_delivered(kind, t, warmer):
    rho = default_density15(kind).value
    assert density(rho, 15.0, kind) == rho
    assert density(rho, t + warmer, kind) < density(rho, t, kind)


@given(st.floats(1, 80), st.floats(0.1, 5))
def test_u_of_a_mass_is_that_of_its_parts(litres, u):
    rho = default_density15("petrol")
    got = mass_kg(Estimate(litres, u), Estimate(15.0), "petrol")
    assert got.u / got.value == pytest.approx(math.hypot(u / litres, rho.u / rho.value), rel=1e-3)


@pytest.mark.parametrize("call", [lambda: density(745, 20, "none"), lambda: default_density15("water")])
def test_another_fuel_is_refused(call):
    with pytest.raises(ValueError, match="expected petrol or diesel"):
        call()


# --- axle loads ----------------------------------------------------------------------------------


@pytest.mark.parametrize("row", [AXLE["AX1"]])
def test_centre_of_gravity(row):
    expect = row["expect"]
    loads = axle_change(expect["weight_n"], expect["cg_from_rear_m"], row["wheelbase_m"])
    assert loads == pytest.approx((row["front_n"], row["rear_n"]))
    assert shares(expect["cg_from_front_m"], row["wheelbase_m"]) == pytest.approx(
        (row["rear_n"] / expect["weight_n"], row["front_n"] / expect["weight_n"])
    )


@pytest.mark.parametrize("row", [AXLE["AX2"]])
def test_a_whole_car(row):
    wheelbase, expect = row["wheelbase_m"], row["expect"]
    front, rear = axle_change(row["mass_kg"], wheelbase - row["cg_from_front_m"], wheelbase)
    assert (front, rear) == pytest.approx((expect["front_kg"], expect["rear_kg"]), abs=6e-4)
    per_wheel = (front * row["g"] / 2, rear * row["g"] / 2)
    assert per_wheel == pytest.approx((expect["per_front_wheel_n"], expect["per_rear_wheel_n"]), abs=6e-3)


@pytest.mark.parametrize(
    ("row", "load", "unit"), [
        pytest.param(*AXLE["AX3"].values, "load_lb", "lb", id=AXLE["AX3"].id),
        pytest.param(*AXLE["AX4"].values, "load_kg", "kg", id=AXLE["AX4"].id),
        pytest.param(*AXLE["AX5"].values, "load_kg", "kg", id=AXLE["AX5"].id),
    ],
)  # fmt: skip
def test_a_load_on_two_axles(row, load, unit):
    """AX3's page prints 38.86 for the front, an arithmetic slip: its rear and the load leave 37.85."""
    wheelbase = row.get("wheelbase_m") or row["wheelbase_in"]
    behind_front = row.get("distance_from_front_m") or row["distance_from_front_in"]
    front, rear = axle_change(row[load], wheelbase - behind_front, wheelbase)
    assert front == pytest.approx(row["expect"][f"front_{unit}"], abs=6e-3)
    assert rear == pytest.approx(row["expect"][f"rear_{unit}"], abs=6e-3)


masses = st.floats(-200, 200)
places = st.floats(-1.5, 4.5)
wheelbases = st.floats(2.0, 3.5)


@given(masses, places, wheelbases)
def test_the_axles_carry_all_of_it_and_its_moment(mass, x, wheelbase):
    front, rear = axle_change(mass, x, wheelbase)
    assert front + rear == pytest.approx(mass, abs=1e-9)
    assert front * wheelbase == pytest.approx(mass * x, abs=1e-9)


@given(masses, masses, places, places, wheelbases)
def test_ballast_at_two_stations_meets_both_axles(front, rear, x1, x2, wheelbase):
    assume(abs(x1 - x2) > 0.1)
    m1, m2 = ballast(front, rear, (x1, x2), wheelbase)
    got = [a + b for a, b in zip(axle_change(m1, x1, wheelbase), axle_change(m2, x2, wheelbase), strict=True)]
    assert got == pytest.approx([front, rear], abs=1e-6)


@given(masses, masses, places, wheelbases, st.floats(-20, 20))
def test_ballast_at_one_station_is_the_best_there_is(front, rear, x, wheelbase, other):
    def miss(m: float) -> float:
        f, r = axle_change(m, x, wheelbase)
        return math.hypot(f - front, r - rear)

    (best,) = ballast(front, rear, (x,), wheelbase)
    assert miss(best) <= miss(best + other) + 1e-9


@given(masses, places, wheelbases)
def test_ballast_where_the_mass_is_missing_is_that_mass(mass, x, wheelbase):
    assert ballast(*axle_change(mass, x, wheelbase), (x,), wheelbase) == pytest.approx((mass,), abs=1e-9)


@pytest.mark.parametrize(
    ("call", "word"),
    [
        (lambda: shares(1.0, 0.0), "wheelbase"),
        (lambda: ballast(10, 10, (), 2.7), "one or two stations, there are 0"),
        (lambda: ballast(10, 10, (0.0, 1.0, 2.0), 2.7), "there are 3"),
        (lambda: ballast(10, 10, (1.0, 1.0), 2.7), "two places"),
    ],
)
def test_what_is_refused(call, word):
    with pytest.raises(ValueError, match=word):
        call()

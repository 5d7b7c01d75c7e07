"""Wheel heights from tyre pressures: the formula by hand, `uncertainties` and Monte Carlo (numpy) as oracles.

T. Rhyne, Development of a vertical stiffness relationship for belted radial tires, Tire Science and
Technology 33 (2005); the formula from memory, written out here once more.
"""

from __future__ import annotations

from math import sqrt

import numpy as np
import pytest
from hypothesis import given as any_of
from hypothesis import strategies as st
from msgspec.structs import replace as changed
from uncertainties import ufloat
from uncertainties.umath import sqrt as usqrt

from readiness.checks.tyres import radius
from readiness.job import WHEELS, AxleLoads, Axles, Placard, Pressures
from readiness.measure.springs import compression
from readiness.measure.tyre import parse_size, vertical_stiffness
from tests.scenes import NOW, SHEET, check, visit

LOADED = changed(SHEET, axle_loads=AxleLoads(front=800.0, rear=700.0))
TYRES = check("tyres", {"pressure_below": 5, "pressure_above": 5, "side_difference": 5, "least_tread": 1.6,
                        "tread_difference": 2})  # fmt: skip
STANCE = check("stance", {"height": 12, "roll": 0.4, "pitch": 0.3, "warp": 10})
G = 9.80665
SIZE = parse_size("205/55 R16 91V")


def stiffness(p, width=205, aspect=55, rim=16 * 25.4, root=sqrt):
    """N/mm, written out from the formula in kgf/mm."""
    return (0.00028 * p * root((-0.004 * aspect + 1.03) * width * (width * aspect / 50 + rim)) + 3.45) * G


def pressures(lf=230, lr=250, rr=250, rf=230):
    read = dict(zip(WHEELS, (lf, lr, rr, rf), strict=True))
    return {
        "parked": "s",
        "air": "20",
        "sizes": "y",
        **{f"pressure.{w}": f"{p} kPa" for w, p in read.items()},
    }


def deviations(answers, sheet=LOADED):
    made = visit(TYRES, STANCE, readings={"tyres": answers}, sheet=sheet)
    return radius.deviations(made.scene(STANCE, "", NOW))


def test_the_formula_by_hand():
    # 0.81 x 205 = 166.05; 205 x 55 / 50 + 406.4 = 631.9; root of the product 323.92; x 0.00028 x 230 = 20.860;
    # + 3.45 = 24.310 kgf/mm
    assert vertical_stiffness(SIZE, 230) == pytest.approx(24.310 * G, rel=1e-4)


@pytest.mark.parametrize(
    "size", ["155/65 R14", "205/55 R16", "225/45 R18", "215/65 R16", "255/50 R19", "275/35 R20"]
)
@pytest.mark.parametrize("pressure", [180, 220, 260, 320])
def test_car_tyres_are_as_stiff_as_car_tyres_are(size, pressure):
    # 150 to 350 N/mm at usual pressures, for 1 to 3 cm under a wheel's load: common practice, no published source
    kz = vertical_stiffness(parse_size(size), pressure)
    assert 130 < kz < 400
    assert 8 < compression(400, kz) < 30


@any_of(st.integers(0, 600), st.integers(1, 100))
def test_a_harder_tyre_is_stiffer_and_a_flat_one_still_carries(pressure, more):
    assert vertical_stiffness(SIZE, pressure + more) > vertical_stiffness(SIZE, pressure) > 0


def test_a_pressure_below_zero_and_a_rate_of_nothing_are_refused():
    with pytest.raises(ValueError, match="carries no tyre"):
        vertical_stiffness(SIZE, -1)
    with pytest.raises(ValueError, match="more than zero"):
        compression(1, 0)


def test_at_the_placard_s_pressure_the_wheels_stand_where_they_should():
    assert [t.value for t in deviations(pressures()).values()] == pytest.approx([0.0] * 4, abs=1e-12)


def test_a_soft_tyre_lowers_its_wheel_by_hand():
    # 400 kg at 180 kPa instead of 230: 3922.7 N / 194.0 N/mm - 3922.7 / 238.4 = 20.2 - 16.5 mm
    off = deviations(pressures(lf=180))
    assert off["lf"].value == pytest.approx(-400 * G * (1 / stiffness(180) - 1 / stiffness(230)))
    assert off["lf"].value == pytest.approx(-3.8, abs=0.1)
    assert [off[w].value for w in ("lr", "rr", "rf")] == pytest.approx([0, 0, 0], abs=1e-12)


@any_of(st.integers(110, 480), st.integers(1, 20))
def test_more_pressure_raises_the_wheel(pressure, more):
    low, high = (deviations(pressures(lf=p))["lf"].value for p in (pressure, pressure + more))
    assert high > low
    assert (low < 0) == (pressure < 230)


@any_of(st.tuples(*(st.integers(150, 350) for _ in WHEELS)))
def test_mirroring_left_and_right_mirrors_the_wheels(read):
    lf, lr, rr, rf = read
    one, other = deviations(pressures(lf, lr, rr, rf)), deviations(pressures(rf, rr, lr, lf))
    for left, right in (("lf", "rf"), ("lr", "rr")):
        assert one[left].value == pytest.approx(other[right].value, abs=1e-12)
        assert one[left].u == pytest.approx(other[right].u)


def test_uncertainty_agrees_with_the_uncertainties_library():
    off = deviations(pressures(lf=180, rf=210))
    # gauge: 1 kPa and steps of 1 kPa; air at the tyre within 1 °C of 20 °C, altitude 0 m within 1.2 kPa
    gauge = sqrt(1 / 3 + 1 / 12)
    dt, atmosphere = ufloat(0, 1 / sqrt(3)), ufloat(101.325, 1.2)
    load, formula = ufloat(400, 0.05 * 400 / sqrt(3)), ufloat(1, 0.1)

    def raised(read):
        cold = (read + atmosphere) * 293.15 / (293.15 + dt) - atmosphere
        return load * G * (1 / stiffness(230) - 1 / stiffness(cold, root=usqrt)) / formula

    lf, rf = raised(ufloat(180, gauge)), raised(ufloat(210, gauge))
    assert off["lf"].value == pytest.approx(lf.n)
    assert off["lf"].u == pytest.approx(lf.s, rel=5e-3)
    assert off["rf"].u == pytest.approx(rf.s, rel=5e-3)
    # the formula's error and the axle's load are shared, so that left against right they drop out in part; the
    # air and the weather are shared here and taken apart there, which the house does on purpose: a little wider
    assert off["lf"].minus(off["rf"]).u == pytest.approx((lf - rf).s, rel=0.1)


def test_first_order_agrees_with_monte_carlo():
    off = deviations(pressures(lf=180))["lf"]
    rng, n = np.random.default_rng(11), 100_000
    cold = 180 + rng.uniform(-1, 1, n) + rng.uniform(-0.5, 0.5, n)
    air = 293.15 + rng.uniform(-1, 1, n)
    cold = (cold + 101.325) * 293.15 / air - 101.325
    load = 400 * (1 + rng.uniform(-0.05, 0.05, n))
    scale = 1 + 0.1 * rng.standard_normal(n)
    drawn = load * G * (1 / stiffness(230) - 1 / stiffness(cold)) / scale
    assert off.u == pytest.approx(drawn.std(), rel=0.05)
    assert off.value == pytest.approx(drawn.mean(), rel=0.02)


def test_without_axle_loads_the_load_index_says_it_widely():
    known, guessed = deviations(pressures(lf=180)), deviations(pressures(lf=180), SHEET)
    # load index 91: 615 kg (ISO 4000-1), of which a tyre carries 40 to 90 %
    assert guessed["lf"].value == pytest.approx(known["lf"].value * 615 * 0.65 / 400)
    assert abs(guessed["lf"].effects["load on the front axle"]) > 4 * abs(
        known["lf"].effects["load on the front axle"]
    )


def test_without_a_load_index_there_is_still_an_answer():
    size = Axles(front="205/55 R16", rear="205/55 R16")
    bare = changed(SHEET, placard=Placard(size=size, pressure=Pressures(front=230.0, rear=250.0)))
    off = deviations(pressures(lf=180), bare)["lf"]
    assert off.value == pytest.approx(-450 * G * (1 / stiffness(180) - 1 / stiffness(230)))
    assert off.u > 0.2 * abs(off.value)


def test_a_missing_pressure_and_a_checklist_without_tyres_tell_nothing():
    answers = pressures()
    del answers["pressure.rr"]
    assert deviations(answers) is None
    alone = visit(STANCE, sheet=LOADED)
    assert radius.deviations(alone.scene(STANCE, "", NOW)) is None

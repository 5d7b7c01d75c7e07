"""Tyre pressure by temperature: reference cases, published problems, and rules that are wrong but told."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from readiness.measure.gas import gauge_at
from tests.outside import given as outside
from tests.outside import level, rows, table

PSI = 6.894757293168
"""kPa; exact to these digits, 0.45359237 * 9.80665 / 0.0254^2 / 1000."""


def celsius(f: float, zero_f: float = 459.67) -> float:
    """°C of a temperature in F, with the absolute zero that the problem uses."""
    return (f + zero_f) / 1.8 - 273.15


@pytest.mark.parametrize("row", rows("tyre_pressure_temperature"))
def test_ideal_gas(row):
    got = gauge_at(row["gauge_1_kpa"], row["p_atm_1_kpa"], row["t1_c"], row["p_atm_2_kpa"], row["t2_c"])
    expect, tolerance = row["expect"], row["tolerance_kpa"]["ideal"]
    assert got == pytest.approx(expect["ideal_gauge_2_kpa"], abs=tolerance)
    assert got / PSI == pytest.approx(expect["ideal_gauge_2_psi"], abs=tolerance / PSI + 5e-4)
    assert got / 100 == pytest.approx(expect["ideal_gauge_2_bar"], abs=tolerance / 100)


@pytest.mark.parametrize("gas", ["Air", "Nitrogen"])
@pytest.mark.parametrize("row", rows("tyre_pressure_temperature"))
def test_real_gas_departs_by_less_than_a_gauge_shows(row, gas):
    """CoolProp: density from p and T, then p at that density and the new T."""
    cool = pytest.importorskip("CoolProp.CoolProp")
    t1, t2 = row["t1_c"] + 273.15, row["t2_c"] + 273.15
    density = cool.PropsSI("D", "P", (row["gauge_1_kpa"] + row["p_atm_1_kpa"]) * 1e3, "T", t1, gas)
    real = cool.PropsSI("P", "D", density, "T", t2, gas) / 1e3 - row["p_atm_2_kpa"]
    ideal = gauge_at(row["gauge_1_kpa"], row["p_atm_1_kpa"], row["t1_c"], row["p_atm_2_kpa"], row["t2_c"])
    assert ideal == pytest.approx(real, abs=row["tolerance_kpa"]["real_gas_vs_ideal"])
    printed = row["expect"]["coolprop_air_gauge_2_kpa" if gas == "Air" else "coolprop_n2_gauge_2_kpa"]
    assert real == pytest.approx(printed, abs=0.01)


def problem(name: str, *values: object):
    """The parameter of a published problem, by id, with more values after its row."""
    row = next(p for p in rows("tyre_pressure_published_problems") if p.values[0]["id"] == name)
    return pytest.param(*row.values, *values, id=row.id)


@pytest.mark.parametrize(
    ("row", "args"),
    [
        problem("PP1", (250, 101.3, 35, 101.3, -40)),
        problem("PP2", (210, 101.325, 25, 101.325, 0)),
        problem("PP5", (164, 101, 0, 101, 21.8, 0.0168 / 0.0162)),
        problem("PP6", (167, 101.3, 13, 101.3, 48, 1.07)),
    ],
)
def test_published_problems_in_kpa(row, args):
    got_kpa = gauge_at(*args)
    assert got_kpa == pytest.approx(row["expect_gauge_kpa"], abs=row["tolerance_kpa"])
    assert got_kpa == pytest.approx(row["computed_kpa"], abs=0.2)


@pytest.mark.parametrize("row", [problem("PP3")])
def test_published_problem_in_psi_with_zero_at_273(row):
    # the printed answer takes 0 °C as 273 K
    got = gauge_at(42.5 * PSI, 14.7 * PSI, -16 - 0.15, 14.7 * PSI, 44.2 - 0.15) / PSI
    assert got == pytest.approx(row["expect_gauge_psi"], abs=row["tolerance_psi"])


@pytest.mark.parametrize("row", [problem("PP4")])
@pytest.mark.parametrize(("k", "to_f"), [(0, 50), (1, 130)])
def test_published_problem_in_psi_with_zero_at_460_f(row, k, to_f):
    got = gauge_at(20 * PSI, 14.7 * PSI, celsius(70, 460), 14.7 * PSI, celsius(to_f, 460)) / PSI
    assert got == pytest.approx(row["expect_gauge_psi"][k], abs=row["tolerance_psi"])
    assert got == pytest.approx(row["computed_psi"][k], abs=1e-3)


CONTROLS = {
    "NC1": lambda: gauge_at(30 * PSI, 14.696 * PSI, 11, 14.696 * PSI, 54) / PSI,
    "NC2": lambda: gauge_at(24.2 * PSI, 14.696 * PSI, -2.6, 14.696 * PSI, 25.6, 1020 / 988) / PSI,
}


@pytest.mark.parametrize("row", rows("tyre_pressure_negative_controls"))
def test_wrong_results_that_circulate_are_not_ours(row):
    got = CONTROLS[row["id"]]()
    assert got == pytest.approx(row["right_value_psi"], abs=0.01)
    assert abs(got - row["wrong_value_psi"]) > 1.0


@pytest.mark.parametrize("row", [p for p in rows("tyre_rules") if p.values[0]["id"] == "TR1"])
def test_the_rule_of_thumb_has_the_slope_of_the_gas_law(row):
    def fall(psi: float) -> float:
        return psi - gauge_at(psi * PSI, 101.325, celsius(70), 101.325, celsius(60)) / PSI

    assert fall(33) == pytest.approx(row["exact_slope_psi_per_10f_at_33_psi_70_f"], abs=1e-3)
    assert fall(row["gauge_for_exactly_1_psi_per_10f_at_70_f_psi"]) == pytest.approx(1.0, abs=1e-3)
    per_kelvin = gauge_at(230, 101.325, 20, 101.325, 21) - 230
    assert per_kelvin == pytest.approx(row["kpa_per_k_at_230_kpa_20_c"], abs=1e-4)


def test_every_control_of_the_table_is_run():
    assert {r["id"] for r in table()["tyre_pressure_negative_controls"]} == set(CONTROLS)


# --- laws ----------------------------------------------------------------------------------------

pressure = st.floats(0, 500)
atmosphere = st.floats(60, 106)
warmth = st.floats(-40, 90)


@given(pressure, atmosphere, warmth, atmosphere, warmth, st.floats(0.8, 1.2))
def test_there_and_back_changes_nothing(p, a1, t1, a2, t2, ratio):
    there = gauge_at(p, a1, t1, a2, t2, ratio)
    assert gauge_at(there, a2, t2, a1, t1, 1 / ratio) == pytest.approx(p, abs=1e-9)


@given(pressure, atmosphere, warmth, warmth, warmth)
def test_by_way_of_a_third_temperature_is_the_same(p, a, t1, t2, t3):
    direct = gauge_at(p, a, t1, a, t3)
    assert gauge_at(gauge_at(p, a, t1, a, t2), a, t2, a, t3) == pytest.approx(direct, abs=1e-9)


@given(pressure, atmosphere, warmth, st.floats(0.1, 50))
def test_warmer_is_never_less(p, a, t, rise):
    assert gauge_at(p, a, t, a, t + rise) > p


@pytest.mark.parametrize(
    ("args", "ratio"),
    [((230, 101, -274, 101, 20), 1.0), ((230, 101, 20, 101, -300), 1.0), ((230, 101, 20, 101, 20), 0.0)],
)
def test_what_no_gas_can_do_is_refused(args, ratio):
    with pytest.raises(ValueError, match="no gas law"):
        gauge_at(*args, ratio)


def test_a_source_and_a_level_stand_in_every_id():
    param = outside("X1", "a standard, table 3 'quoted'", "text seen (twice) + hand", 1)
    assert param.id == "X1 | a standard, table 3 quoted | text seen+hand"


def test_a_remark_in_brackets_lifts_no_level():
    assert level("from memory (W = 270 text seen)") == "from memory"
    assert level("text seen (secondary pages) + library") == "text seen (secondary)+library"

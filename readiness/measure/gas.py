"""Pressure of a closed volume of gas at another temperature and under another atmosphere.

Ideal gas, p V / T constant, absolute pressures and temperatures. Real air departs from it by less
than 0.6 kPa over the pressures and temperatures of car tyres (CoolProp 8.0.0), below what a gauge shows.
"""

from __future__ import annotations

ZERO_C_IN_K = 273.15


def gauge_at(
    p_gauge: float, p_atm_1: float, t1_c: float, p_atm_2: float, t2_c: float, volume_ratio: float = 1.0
) -> float:
    """Gauge pressure in kPa at t2_c under p_atm_2, read as p_gauge at t1_c under p_atm_1.

    Pressures in kPa, temperatures in °C, `volume_ratio` V2 / V1. Raises ValueError at or below
    absolute zero and for a volume that is not positive.
    """
    t1, t2 = t1_c + ZERO_C_IN_K, t2_c + ZERO_C_IN_K
    if t1 <= 0 or t2 < 0 or volume_ratio <= 0:
        raise ValueError(
            f"no gas law from {t1_c} °C to {t2_c} °C at a volume ratio of {volume_ratio}: "
            "temperatures lie above -273.15 °C and the ratio is positive"
        )
    return (p_gauge + p_atm_1) * (t2 / t1) / volume_ratio - p_atm_2

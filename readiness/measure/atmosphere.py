"""The standard atmosphere, and how to tell a barometer's figure from a weather report's.

ISO 2533:1975 (the same troposphere as ICAO Doc 7488 and the US Standard Atmosphere 1976):
p = p0 (1 - L h / T0)^n with n = g M / (R L), h the geopotential altitude. Up to 3000 m the geometric
altitude differs by less than 2 m, which changes p by less than 0.02 kPa.
"""

from __future__ import annotations

P0_KPA = 101.325
T0_K = 288.15
LAPSE_K_PER_M = 0.0065
EXPONENT = 9.80665 * 28.9644e-3 / (8.31432 * LAPSE_K_PER_M)
TROPOSPHERE_M = (-2000.0, 11000.0)

WEATHER_SWING_KPA = 4.0
"""How far the weather seldom lifts the pressure over standard; common practice, no published source."""
LOW_ALTITUDE_M = 250.0
"""Below it the two figures differ by less than 3 kPa, which the weather alone can do; a tyre's cold
pressure then changes by less than 0.3 kPa even over 30 K, so confusing them does no harm."""
SEA_LEVEL_KPA = (95.0, 106.0)
"""Sea-level figures that weather reports give, outside the eye of a storm; from memory."""


def standard_pressure(altitude_m: float) -> float:
    """Standard atmospheric pressure in kPa at a geopotential altitude in m.

    Raises ValueError outside -2000 to 11000 m, where the formula ends.
    """
    low, high = TROPOSPHERE_M
    if not low <= altitude_m <= high:
        raise ValueError(f"altitude {altitude_m:g} m lies outside {low:g} to {high:g} m")
    return P0_KPA * float((1.0 - LAPSE_K_PER_M * altitude_m / T0_K) ** EXPONENT)


def pressure_altitude(p: float) -> float:
    """Altitude in m at which the standard atmosphere has the pressure p in kPa."""
    if p <= 0:
        raise ValueError(f"a pressure of {p:g} kPa has no altitude: it must be positive")
    return T0_K / LAPSE_K_PER_M * (1.0 - float((p / P0_KPA) ** (1.0 / EXPONENT)))


def reduced_to_station(p_sea_level: float, altitude_m: float) -> float:
    """Station pressure in kPa for a weather report's sea-level figure in kPa.

    Takes the figure as reduced by the standard atmosphere (QNH, ICAO Doc 8896, from memory). One
    reduced with the air's true temperature (QFF) comes out up to about 1 kPa different at 1000 m.
    """
    return standard_pressure(pressure_altitude(p_sea_level) + altitude_m)


def looks_like_sea_level(p: float, altitude_m: float) -> bool:
    """Is p in kPa more likely a weather report's sea-level figure than the pressure here?

    True where p is a figure weather reports give (95 to 106 kPa) and lies more than 4 kPa above the
    standard pressure at this altitude. False below 250 m: there they cannot be told apart.
    """
    low, high = SEA_LEVEL_KPA
    if altitude_m < LOW_ALTITUDE_M or not low <= p <= high:
        return False
    return p > standard_pressure(altitude_m) + WEATHER_SWING_KPA

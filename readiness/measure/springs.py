"""How far a spring gives under a load."""

from __future__ import annotations

STANDARD_GRAVITY = 9.80665
"""m/s^2, so also N a kg; ISO 80000-3, exact by definition. On the Earth it differs by 0.3 % at most."""


def compression(mass: float, rate: float) -> float:
    """How far in mm a spring of this rate in N/mm is pressed together by a mass in kg.

    Raises ValueError for a rate that is not more than zero.
    """
    if not rate > 0:
        raise ValueError(f"a spring rate of {rate:g} N/mm carries nothing: it is more than zero")
    return mass * STANDARD_GRAVITY / rate

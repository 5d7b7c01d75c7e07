"""Density of petrol and diesel at their temperature.

ASTM D1250-80 / API MPMS 11.1 table 54B: alpha = K0 / rho15^2 + K1 / rho15,
rho(t) = rho15 exp(-alpha dt (1 + 0.8 alpha dt)) with dt = t - 15 °C.
"""

from __future__ import annotations

import math

from readiness.measure.uncertain import Estimate, from_half_width, propagated

_PETROL = (346.4228, 0.4388)
_JET_ZONE = (594.5418, 0.0)
_FUEL_OIL = (186.9696, 0.4862)
_FUEL_OIL_FROM = 838.5
"""kg/m3; lighter diesel falls into the table's jet fuel zone."""

RANGE_15C = {"petrol": (720.0, 775.0), "diesel": (820.0, 845.0)}
"""Density at 15 °C in kg/m3 that EN 228 and EN 590 allow."""


def alpha15(rho15: float, kind: str) -> float:
    """Thermal expansion per °C at 15 °C for a density at 15 °C in kg/m3.

    Petrol above 770 keeps the petrol constants, although the table changes to a transition formula
    there; the density differs by less than 1 kg/m3. Raises ValueError for another kind of fuel.
    """
    _known(kind)
    if kind == "petrol":
        k0, k1 = _PETROL
    else:
        k0, k1 = _FUEL_OIL if rho15 >= _FUEL_OIL_FROM else _JET_ZONE
    return k0 / rho15**2 + k1 / rho15


def density(rho15: float, t_c: float, kind: str) -> float:
    """Density in kg/m3 at t_c °C of 'petrol' or 'diesel' with rho15 kg/m3 at 15 °C."""
    expansion = alpha15(rho15, kind) * (t_c - 15.0)
    return rho15 * math.exp(-expansion * (1.0 + 0.8 * expansion))


def default_density15(kind: str) -> Estimate:
    """Density at 15 °C in kg/m3 where no delivery note says more: the standard's range."""
    _known(kind)
    low, high = RANGE_15C[kind]
    return Estimate((low + high) / 2.0, from_half_width((high - low) / 2.0))


def mass_kg(litres: Estimate, t_c: Estimate, kind: str, rho15: Estimate | None = None) -> Estimate:
    """Mass in kg of so many litres of fuel at t_c °C, with what the unknown density adds to u."""
    rho15 = rho15 or default_density15(kind)
    return propagated(lambda v, t, rho: v / 1000.0 * density(rho, t, kind), litres, t_c, rho15)


def _known(kind: str) -> None:
    if kind not in RANGE_15C:
        raise ValueError(f"fuel {kind!r} has no density here: expected petrol or diesel")

"""Axle loads of a mass at a place, and ballast that makes up for what is missing.

Statics of a beam on two supports. x is measured from the rear axle, forward positive; the front axle
carries x / wheelbase of the mass and the rear the rest, so a mass behind the rear axle lifts the front.
"""

from __future__ import annotations

from collections.abc import Sequence


def shares(x_from_rear: float, wheelbase: float) -> tuple[float, float]:
    """Shares (front, rear) that the axles carry of a mass at x; they add up to 1."""
    if not wheelbase > 0:
        raise ValueError(f"a wheelbase of {wheelbase} cannot be: it is positive")
    front = x_from_rear / wheelbase
    return front, 1.0 - front


def axle_change(mass: float, x_from_rear: float, wheelbase: float) -> tuple[float, float]:
    """Change of load (front, rear) in the unit of the mass, both lengths in one unit."""
    front, rear = shares(x_from_rear, wheelbase)
    return mass * front, mass * rear


def ballast(
    front_kg: float, rear_kg: float, stations: Sequence[float], wheelbase: float
) -> tuple[float, ...]:
    """Masses in kg at one or two stations (x from the rear axle) that change the axle loads by this much.

    Two stations meet both changes exactly; one station meets them as well as it can (least squares). A
    negative mass is to be taken out there. Raises ValueError for other numbers of stations and for
    two at the same place.
    """
    if len(stations) == 1:
        front, rear = shares(stations[0], wheelbase)
        return ((front * front_kg + rear * rear_kg) / (front**2 + rear**2),)
    if len(stations) != 2:
        raise ValueError(f"ballast goes to one or two stations, there are {len(stations)}")
    x1, x2 = stations
    if x1 == x2:
        raise ValueError(f"both stations lie at x = {x1}: two places are needed to meet both axle loads")
    total = front_kg + rear_kg
    first = (front_kg * wheelbase - total * x2) / (x1 - x2)
    return first, total - first

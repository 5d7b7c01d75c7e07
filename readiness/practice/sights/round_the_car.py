"""With the tape round the car: ride heights and centre marks."""

from __future__ import annotations

from readiness.practice.body import height
from readiness.practice.sights.spot import Found, Quantity, Spot, State


def stance(spot: Spot) -> Found:
    if spot.key == "estimate":
        return State("A tape can be held at all four wheels.", "no")
    return Quantity(height(spot.world, spot.parts[1]), "mm", "length")


def centre_marks(spot: Spot) -> Found:
    end, side = spot.parts
    return Quantity(spot.world.tape(end, side), "mm", "length")

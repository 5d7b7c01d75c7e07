"""The catalogue of faults: what goes wrong in a workshop, each with the habit that misses it."""

from __future__ import annotations

from readiness.practice.faults import around, body, desk, floor, inside, light, sensor, wheels
from readiness.practice.faults.fault import Fault, Planted
from readiness.practice.faults.habits import HABITS

__all__ = ["CATALOGUE", "HABITS", "VERSION", "Fault", "Planted"]

CATALOGUE: dict[str, Fault] = {
    fault.id: fault
    for family in (desk, wheels, inside, body, floor, light, sensor, around)
    for fault in family.FAULTS
}
"""Every fault by its id."""

VERSION = "1"
"""Of the catalogue and of how cars are drawn: a seed gives the same car as long as this stays the same."""

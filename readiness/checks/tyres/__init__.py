"""The tyres: size, load index, tread and cold pressure (`check`), and how far they hold the car up (`radius`)."""

from readiness.checks.tyres.check import KIND, Limits, ask, cold_pressures, judge

__all__ = ["KIND", "Limits", "ask", "cold_pressures", "judge"]

"""The tyres: `check` asks and judges, `cold` is their cold pressure, `radius` how far they hold the car up."""

from readiness.checks.tyres.check import KIND, Limits, ask, judge

__all__ = ["KIND", "Limits", "ask", "judge"]

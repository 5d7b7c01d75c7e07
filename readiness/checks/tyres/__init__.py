"""The tyres: `check` asks and judges, `cold` is their cold pressure, `radius` how far they hold the car up."""

from readiness.checks.tyres.check import KIND, Limits, alike, ask, judge, read_beside

__all__ = ["KIND", "Limits", "alike", "ask", "judge", "read_beside"]

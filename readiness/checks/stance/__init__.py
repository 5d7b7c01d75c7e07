"""How the body sits: from ride heights against the sheet (`check`), or from load and springs (`estimate`)."""

from readiness.checks.stance.check import KIND, Limits, ask, body_kind, demanded, deviations, judge

__all__ = ["KIND", "Limits", "ask", "body_kind", "demanded", "deviations", "judge"]

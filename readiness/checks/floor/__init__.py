"""The floor under wheels and target feet: slope, flatness, twist, and every foot against the wheel plane.

`check` asks and judges; heights come `from_survey`, by laser (`heights`) or by level (`levels`); `surveyed`
works out a bay's survey, `net_problems` says what does not fit in a net of runs. What was put under a foot is `packed`.
"""

from readiness.checks.floor.check import KIND, Limits, ask, fix_brings, heights_of, judge
from readiness.checks.place import KIND as STANDING

NEEDS = (STANDING,)
"""Kinds of check that are to be answered before this one."""

__all__ = ["KIND", "NEEDS", "Limits", "ask", "fix_brings", "heights_of", "judge"]

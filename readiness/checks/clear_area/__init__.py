"""The place round the car: keep-clear zones against everything that lies in it.

`check` asks and judges. What lies there: `things` (the bay's, and how well it is known where), `own` (what a person
tells of), placed as `placing`, `two_tapes` and `known` places allow. What must stay clear: `zones`, `people`, the
`edge` of the bay. What comes of it: `clearances`, the least of all `moves`, and the `plan_view`.
"""

from readiness.checks.clear_area.check import KIND, Limits, ask, judge

__all__ = ["KIND", "Limits", "ask", "judge"]

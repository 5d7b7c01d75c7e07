"""Where the car stands in the bay: on its marks, on chalk, or measured with tapes.

`check` asks and judges; `words` say where a car stands, `tapes` what the tapes say, `view` is the picture. What the
other checks get of it is in `checks/place`.
"""

from readiness.checks.standing.check import KIND, Limits, ask, judge

__all__ = ["KIND", "Limits", "ask", "judge"]

"""Where each sensor sees its targets, from all that the other checks measured.

`check` asks and judges; `inputs` gathers what the others know, `pairs` works out each sensor with each target,
`causes` and `view` put it into words and a picture, `layout` gives the tape distances of a sheet.
"""

from readiness.checks.aim.check import KIND, Limits, ask, demanded, judge

__all__ = ["KIND", "Limits", "ask", "demanded", "judge"]

"""The place round the car: keep-clear zones against everything that lies in it.

`check` asks and judges; `things` are what lies there, `clearances` how far each is from each zone, `plan_view` the picture.
"""

from readiness.checks.clear_area.check import KIND, Limits, ask, judge

__all__ = ["KIND", "Limits", "ask", "judge"]

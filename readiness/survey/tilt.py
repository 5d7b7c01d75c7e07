"""How the floor lies so far, in one sentence, while a survey is being taken."""

from __future__ import annotations

from collections.abc import Mapping

from readiness import units
from readiness.job import Bay, System
from readiness.measure.surface import Surface
from readiness.survey.result import slopes
from readiness.survey.surveying import Surveying

ENOUGH = 4
"""Places at least; three always give a plane, and one misread place any."""


def tilt_so_far(surveying: Surveying, bay: Bay, heights: Mapping[str, float], system: System) -> str:
    """'So far it rises 3.1 mm/m to the rear and 0.4 mm/m to the left.'; empty while too little is known.

    `heights`: place -> mm. A first impression, without its uncertainty: the result has that.
    """
    at = {n.name: (n.x, n.y) for n in surveying.nodes if n.name in heights}
    if len(at) < ENOUGH:
        return ""
    try:
        along, across = slopes(Surface(at, heights, {n: {} for n in at}), bay.standing)
    except ValueError:
        return ""
    way, side = "front" if along.value >= 0 else "rear", "left" if across.value >= 0 else "right"
    size, wide = (units.show(abs(s.value), "mm/m", system) for s in (along, across))
    return f"So far it rises {size} to the {way} and {wide} to the {side}."

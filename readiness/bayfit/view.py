"""The place found as a picture: the plan as the car sees it, with the tightest clearance and its number."""

from __future__ import annotations

from collections.abc import Sequence

from readiness import units
from readiness.bayfit.found import Binding
from readiness.checks.clear_area.plan_view import plan_view
from readiness.checks.clear_area.things import bay_things
from readiness.checks.picture import XY, Line, Picture
from readiness.checks.place import Where
from readiness.job import Bay, Sheet, Standing, System

Gap = tuple[XY, XY]


def view(
    sheet: Sheet, bay: Bay, standing: Standing, sides: Sequence[str], binds: Sequence[Binding], gap: Gap,
    tapes_from: frozenset[str], system: System,
) -> Picture:  # fmt: skip
    """The bay as it is for this place, in car axes; what binds stands out, with the `gap` of the tightest pair."""
    first = binds[0]
    things = bay_things(bay, Where(standing))
    against = {b.against for b in binds}
    marked = frozenset((*(b.what for b in binds), *(t.key for t in things if t.name in against)))
    corners = any(p.startswith("corner ") for p in tapes_from)
    clear = first.clearance
    inches = system == "us" and clear >= 0.0
    label = units.tape(clear, system) if inches else units.show(clear, "m", system)
    line = Line("clearance", gap, label, clear < first.asked)
    return (*plan_view(sheet, bay, standing, sides, things, marked, corners=corners), line)

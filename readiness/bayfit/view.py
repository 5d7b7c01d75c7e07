"""The place found as a picture: the plan as the car sees it, with the tightest clearance and its number."""

from __future__ import annotations

from collections.abc import Sequence

from readiness import units
from readiness.bayfit.axes import in_car
from readiness.bayfit.demands import things_of
from readiness.bayfit.found import Binding
from readiness.checks.car import car_outline, wheel_places
from readiness.checks.clear_area.plan_view import bay_outline, drawn
from readiness.checks.clear_area.things import zone_shape
from readiness.checks.picture import XY, Line, Outline, Picture, Spot
from readiness.job import Bay, Sheet, Standing, System
from readiness.measure.plan import moved

Gap = tuple[XY, XY]


def view(
    sheet: Sheet, bay: Bay, standing: Standing, sides: Sequence[str], binds: Sequence[Binding], gap: Gap, system: System
) -> Picture:  # fmt: skip
    """The bay as it is for this place, in car axes; what binds stands out, with the `gap` of the tightest pair."""
    first = binds[0]
    marked = frozenset(name for b in binds for name in (b.what, b.against))
    label = units.show(first.clearance, "m", system)
    line = Line("clearance", gap, label, first.clearance < first.asked)
    return (*_plan(sheet, bay, standing, sides, marked), line)


def _plan(
    sheet: Sheet, bay: Bay, standing: Standing, sides: Sequence[str], marked: frozenset[str]
) -> Picture:
    mirrors = [-1.0 if side == "right" else 1.0 for side in sides]
    things = [
        moved(moved(t.shape, -standing.x, -standing.y), 0.0, 0.0, -standing.heading)
        for _, t in things_of(bay)
    ]
    return (
        Outline("bay", bay_outline(bay.outline, standing), bay.title),
        *(Spot("mark", in_car(standing, (m.at.x, m.at.y)), m.name) for m in bay.marks),
        car_outline(sheet),
        *(Spot("wheel", at) for at in wheel_places(sheet).values()),
        *(drawn("zone", zone_shape(z, s), z.id, z.id in marked) for s in sides for z in sheet.zones),
        *(drawn("obstacle", t, o.name, o.name in marked) for t, o in zip(things, bay.obstacles, strict=True)),
        *(Spot("sensor", (s.at.x, m * s.at.y), s.id) for m in mirrors for s in sheet.sensors),
        *(Spot("target", (t.at.x, m * t.at.y), t.id, t.id in marked) for m in mirrors for t in sheet.targets),
    )

"""The sheet from above while it is written: the car, its sensors, targets and zones, with the mirror image of the other side."""

from __future__ import annotations

from dataclasses import replace

from readiness.checks.car import car_outline, wheel_places
from readiness.checks.clear_area.plan_view import zone_drawn
from readiness.checks.clear_area.zones import zones_of
from readiness.checks.picture import Picture, Shape, Spot
from readiness.job import Sheet, System
from readiness.sheetmaking.checked import Looked

CAR = ("dimensions.",)


def plan(looked: Looked, sides: tuple[str, ...], system: System, here: str = "") -> Picture:
    """What is known of the sheet as a picture in car axes; nothing before the car's dimensions are.

    `here` is the id of the sensor, target or zone that is being asked about; on the right side of two everything
    is called '(right)', as nobody typed it.
    """
    sheet = looked.sheet
    if sheet is None or any(key.startswith(CAR) for key in looked.stood_in):
        return ()
    marks = () if any(key.startswith("marks.") for key in looked.stood_in) else (
        Spot("mark", (sheet.marks.front, 0.0), "front mark"), Spot("mark", (sheet.marks.rear, 0.0), "rear mark"),
    )  # fmt: skip
    shapes: list[Shape] = [
        car_outline(sheet),
        *(Spot("wheel", at) for at in wheel_places(sheet).values()),
        *marks,
    ]
    for side in sides or ("left",):
        shapes += _side(sheet, side, system, here)
    return tuple(shapes)


def _side(sheet: Sheet, side: str, system: System, here: str) -> list[Shape]:
    right = side == "right"
    m, called = (-1.0, " (right)") if right else (1.0, "")
    shapes: list[Shape] = []
    for zone, shape in zones_of(sheet.zones, side):
        drawn = zone_drawn(zone, shape, False, "", system)
        shapes.append(replace(drawn, label=f"{drawn.label}{called}"))
    for target in sheet.targets:
        shapes += [Spot("height", (f.x, m * f.y)) for f in target.feet]
    for kind, things in (("sensor", sheet.sensors), ("target", sheet.targets)):
        for thing in things:
            role = "here" if thing.id == here and not right else kind
            shapes.append(Spot(role, (thing.at.x, m * thing.at.y), f"{thing.id}{called}"))  # type: ignore[arg-type]
    return shapes

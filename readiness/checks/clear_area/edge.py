"""Zones that reach out of the bay, where nobody has looked what stands."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from functools import lru_cache

from readiness.checks.clear_area.plan_view import bay_outline, farthest
from readiness.checks.clear_area.zones import zone_name, zone_shape
from readiness.checks.kind import Part, Scene
from readiness.checks.parts import number_part
from readiness.checks.place import Where
from readiness.checks.words import capital
from readiness.job import Point, Standing, Zone
from readiness.measure.overlap import XY
from readiness.measure.plan import Area, PointAt, reach_beyond
from readiness.measure.uncertain import Estimate

FIX = "Choose a larger bay, or another place or way round in this one."


def edge_parts(scene: Scene, stands: Where) -> Iterator[Part]:
    """A part for each zone that reaches out of the bay, or too near to its edge to say.

    The heading counts with the lever of the zone's farthest place, the most that it can do.
    """
    pivot = stands.turns_about
    for zone in scene.sheet.zones:
        beyond, lever = _beyond(zone, scene.side, scene.bay.outline, stands.standing, pivot.at)
        u = math.hypot(pivot.u, math.radians(stands.u_heading) * lever)
        part = number_part(
            scene,
            f"{zone.id}/bay",
            f"{capital(zone.id)} in the bay",
            Estimate(beyond, u),
            "m",
            high=0.0,
            remedy=FIX,
        )
        if part.outcome != "pass":
            yield replace(part, reason=_reason(scene, zone, beyond, part))


def _reason(scene: Scene, zone: Zone, beyond: float, part: Part) -> str:
    name, size = capital(zone_name(zone)), scene.show(abs(beyond), "m")
    if part.outcome == "fail":
        return f"{name} reaches {size} out of {scene.bay.title}: it has no room there."
    where = f"reaches {size} out of" if beyond > 0 else f"ends {size} within"
    guard = scene.show(part.guard or 0.0, "m")
    return f"{name} {where} {scene.bay.title}: too close to call, with ±{guard} for where the car stands."


@lru_cache(maxsize=256)  # sheet and bay stay the same from answer to answer
def _beyond(
    zone: Zone, side: str, outline: tuple[Point, ...], standing: Standing, about: XY
) -> tuple[float, float]:
    """How far a zone reaches out of the bay, and how far its farthest place lies from what the car turns about, m."""
    shape = zone_shape(zone, side)
    return reach_beyond(shape, Area(bay_outline(outline, standing))), farthest(shape, PointAt(*about))

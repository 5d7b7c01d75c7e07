"""What a floor's finding says beside its numbers: notes that decide nothing, how it was worked out, a picture."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from readiness.checks.car import car_outline, foot_places
from readiness.checks.common import signed_height
from readiness.checks.floor.from_survey import AT_POINT
from readiness.checks.floor.heights import Heights, place_name, point_name
from readiness.checks.floor.numbers import extremes, in_degrees, peak_to_valley, residuals, slopes, twist
from readiness.checks.kind import Part, Scene
from readiness.checks.picture import XY, Picture, Role, Spot
from readiness.checks.words import capital
from readiness.job import WHEELS
from readiness.measure.plane import fit_plane
from readiness.measure.surface import Surface
from readiness.measure.uncertain import Estimate

# --- how it was worked out -----------------------------------------------------------------------


def details(scene: Scene, heights: Heights, surface: Surface, feet: Sequence[str]) -> tuple[str, ...]:
    """Every number of the floor with its standard uncertainty, then how the heights came about."""
    return (
        *_plane_lines(scene, surface), *_flatness_lines(scene, heights, surface), *_twist_lines(scene, surface),
        *_foot_lines(scene, heights, surface, feet), *heights.details,
    )  # fmt: skip


def _said(scene: Scene, number: Estimate, unit: str) -> str:
    sign = "+" if number.value >= 0 else ""
    return f"{sign}{scene.show(number.value, unit)}, u {scene.show(number.u, unit)}"


def _plane_lines(scene: Scene, surface: Surface) -> Iterator[str]:
    yield "Plane of the wheels: least squares through the four contacts; x ahead, y to the left."
    for slope, words in zip(slopes(surface), ("along, up ahead", "across, up to the left"), strict=True):
        yield f"Slope {words}: {_said(scene, slope, 'mm/m')}; {_said(scene, in_degrees(slope), 'deg')}"


def _flatness_lines(scene: Scene, heights: Heights, surface: Surface) -> Iterator[str]:
    if len(heights.points) < 4:
        return
    top, bottom = (point_name(p) for p in extremes(surface, heights.points))
    yield (
        f"Flatness is peak to valley about the least-squares plane of {len(heights.points)} points: {top} over "
        f"{bottom}, {_said(scene, peak_to_valley(surface, heights.points), 'mm')}"
    )


def _twist_lines(scene: Scene, surface: Surface) -> Iterator[str]:
    if len({surface.places[w] for w in WHEELS}) < 4:
        return
    largest = max(residuals(surface, WHEELS), key=abs)
    yield (
        f"Twist is one corner off the plane of the other three: {_said(scene, twist(surface), 'mm')}. On equal tracks "
        f"that is four times the largest residual about the best plane, here {scene.show(abs(largest), 'mm')}."
    )


def _foot_lines(scene: Scene, heights: Heights, surface: Surface, feet: Sequence[str]) -> Iterator[str]:
    for foot in feet:
        if foot in surface.heights:
            known = heights.known.get(foot, "measured there")
            over = surface.over_plane(foot, WHEELS)
            yield f"{capital(place_name(foot))} over the plane of the wheels: {_said(scene, over, 'mm')}; {known}"


# --- picture -------------------------------------------------------------------------------------


def height_map(scene: Scene, heights: Heights, surface: Surface, parts: Sequence[Part]) -> Picture:
    """Height map: every measured point, every wheel and foot, in mm over the plane of the wheels.

    A point that was measured under a wheel or foot stands once, as that.
    """
    failed = {p.key for p in parts if p.outcome == "fail"}
    marked = {f for f in surface.places if f"target.{f}" in failed}
    if "flatness" in failed:
        marked |= set(extremes(surface, heights.points))
    if "twist" in failed:
        marked |= set(WHEELS)
    plane = fit_plane([(*surface.places[w], surface.heights[w]) for w in WHEELS])
    feet = foot_places(scene.sheet, scene.job.sides)
    named = {p: at for p, at in surface.places.items() if p in WHEELS or p in feet}
    spots: list[tuple[str, Role, XY, float]] = []
    for name, (x, y) in surface.places.items():
        twins = [] if name in named else [p for p, at in named.items() if math.dist(at, (x, y)) <= AT_POINT]
        if twins:
            marked |= {*twins} if name in marked else set()
            continue
        over = surface.heights[name] - (plane.a + plane.b * x + plane.c * y)
        role: Role = "wheel" if name in WHEELS else "target" if name in feet else "height"
        spots.append((name, role, (x, y), over))
    drawn = (Spot(role, at, signed_height(scene, over), name in marked) for name, role, at, over in spots)
    return (car_outline(scene.sheet), *drawn)

"""The numbers of a floor, judged: slopes, flatness, twist, and each target foot over the plane of the wheels."""

from __future__ import annotations

from dataclasses import replace
from statistics import NormalDist

from readiness.checks.car import LYING
from readiness.checks.floor.from_survey import stands_on
from readiness.checks.floor.heights import Heights, level_foot, place_name, point_name
from readiness.checks.floor.numbers import extremes, in_degrees, peak_to_valley, residuals, slopes, twist
from readiness.checks.kind import Part, Scene
from readiness.checks.parts import magnitude_part, missing_part
from readiness.checks.words import capital
from readiness.job import WHEELS
from readiness.measure.surface import Surface
from readiness.measure.uncertain import Estimate

ONLY_THREE = "not tested: three points always lie in a plane"


# --- slope ---------------------------------------------------------------------------------------


def slope_parts(scene: Scene, limits: tuple[float, float], heights: Heights, surface: Surface) -> list[Part]:
    """Slopes of the least-squares plane through the wheel contacts, along and across, in mm/m and in degrees."""
    d = scene.sheet.dimensions
    along, across = slopes(surface)
    low_end = "rear" if along.value > 0 else "front"
    low_side = "right" if across.value > 0 else "left"
    track = (d.track_front + d.track_rear) / 2
    return [
        _slope_part(scene, "along", low_end, along, limits[0], d.wheelbase, heights),
        _slope_part(scene, "across", low_side, across, limits[1], track, heights),
    ]


def _slope_part(
    scene: Scene, way: str, low: str, slope: Estimate, limit: float, span: float, heights: Heights
) -> Part:
    part = magnitude_part(
        scene, f"slope_{way}", f"Slope {way} the car ({low} low)", slope, "mm/m", limit,
        readings=heights.readings, remedy=_plates(scene, low, abs(slope.value) * span),
    )  # fmt: skip
    size, angle = scene.show(abs(slope.value), "mm/m"), in_degrees(slope)
    both = f"{size} ({scene.show(abs(angle.value), 'deg')})"
    return replace(part, reason=part.reason.replace(f" is {size}", f" is {both}", 1))


def _plates(scene: Scene, low: str, height: float) -> str:
    return (
        f"Move the car to a more level place, or put plates of {scene.show(height, 'mm')} under both {low} wheels "
        "where the procedure allows it; then measure again."
    )


# --- flatness and twist --------------------------------------------------------------------------


def flatness_part(scene: Scene, limit: float, heights: Heights, surface: Surface) -> Part:
    """Peak to valley of all measured points about their own plane."""
    key, label = "flatness", "Flatness, highest to lowest point about the best plane,"
    if not _four_or_more(heights, surface):
        return _untested(heights, key, "Flatness")
    if set(heights.points) <= set(WHEELS):
        label = "Flatness at the four wheels (nothing between them was measured)"
    part = magnitude_part(
        scene, key, label, peak_to_valley(surface, heights.points), "mm", limit, readings=heights.readings,
        remedy=_even_out(scene, surface, heights.points),
    )  # fmt: skip
    return _less_sure_of_a_fail(part, limit, scene.factor, surface, heights.points)


def _even_out(scene: Scene, surface: Surface, points: tuple[str, ...]) -> str:
    """A foot that is the highest or lowest place may be packed or screwed in; a floor cannot."""
    top, bottom = (stands_on(surface, p) for p in extremes(surface, points))
    for place, wrong_side in ((bottom, -1.0), (top, 1.0)):
        if place in WHEELS or place.startswith("#") or place.endswith(f".{LYING}"):
            continue
        over = surface.over_plane(place, WHEELS).value
        if over * wrong_side > 0:
            todo = capital(level_foot(place, over, scene.show(abs(over), "mm")))
            return f"{todo} if the procedure allows it, and enter it as packed. Otherwise use another place."
    return (
        f"Clean the floor at the highest place, {point_name(top)}, and the lowest, {point_name(bottom)}, and measure "
        "both again. If it stays, use another place."
    )


def _less_sure_of_a_fail(
    part: Part, limit: float, factor: float, surface: Surface, points: tuple[str, ...]
) -> Part:
    """Highest to lowest of many readings comes out too large: errors choose which point is highest.

    Where n pairs of points could be the extremes, a fail takes one n-th of the risk for each (Bonferroni).
    """
    if part.outcome != "fail" or part.value is None or not part.u:
        return part
    normal, near = NormalDist(), factor * part.u
    over = residuals(surface, points)
    pairs = sum(r >= max(over) - near for r in over) * sum(r <= min(over) + near for r in over)
    if float(part.value) > limit - normal.inv_cdf(normal.cdf(-factor) / pairs) * part.u:
        return part
    reason = f"{part.reason} But {pairs} pairs of points lie nearly as far apart, and reading errors alone make the "
    return replace(part, outcome="too_close", reason=f"{reason}largest of many too large: too close to call.")


def _four_or_more(heights: Heights, surface: Surface) -> bool:
    return len({surface.places[p] for p in heights.points}) > 3


def _untested(heights: Heights, key: str, label: str) -> Part:
    return Part(key, label, "not_done", f"{label} {ONLY_THREE}.", readings=heights.readings,
                remedy="Measure at least one more point of the floor.")  # fmt: skip


def twist_part(scene: Scene, limit: float, heights: Heights, surface: Surface) -> Part:
    if not _four_or_more(heights, surface):
        return _untested(heights, "twist", "Twist")
    found = twist(surface)
    low = _low_corners(found)
    return magnitude_part(
        scene, "twist", f"Twist ({twist_form(found)})", found, "mm", limit, readings=heights.readings,
        remedy=f"Move the car to a more even place, or put a plate of {scene.show(abs(found.value), 'mm')} under the "
               f"{low[0]} or the {low[1]} wheel where the procedure allows it; then measure again.",
    )  # fmt: skip


def twist_form(twist: Estimate) -> str:
    """Which corner is off; four heights cannot tell the two ends of a diagonal apart."""
    if abs(twist.value) <= 2 * twist.u:
        return "no corner clearly off the plane of the other three"
    return f"{' or '.join(_low_corners(twist))} corner below the plane of the other three"


def _low_corners(twist: Estimate) -> tuple[str, str]:
    return ("left rear", "right front") if twist.value > 0 else ("left front", "right rear")


# --- target feet ---------------------------------------------------------------------------------


def foot_label(foot: str) -> str:
    return capital(place_name(foot))


def foot_part(scene: Scene, limit: float, heights: Heights, surface: Surface, foot: str) -> Part:
    key, label = f"target.{foot}", foot_label(foot)
    own = heights.feet.get(foot, ())
    if foot not in surface.heights:
        return missing_part(key, label, *own[:1])
    over = surface.over_plane(foot, WHEELS)
    way, known = "over" if over.value >= 0 else "under", heights.known.get(foot, "")
    rests = f" ({known})" if known else ""
    return magnitude_part(
        scene, key, f"Floor at {place_name(foot)}, {way} the plane of the wheels{rests},", over, "mm",
        limit, remedy=_foot_remedy(scene, foot, over.value),
        readings=(*heights.readings, *(r for a in own for r in a.readings if r not in heights.readings)),
    )  # fmt: skip


def _foot_remedy(scene: Scene, foot: str, over: float) -> str:
    size, name = scene.show(abs(over), "mm"), place_name(foot)
    if foot.endswith(f".{LYING}"):
        pack = (
            f", or pack it by {size} if the procedure allows it, and enter it as packed" if over < 0 else ""
        )
        return f"Lay {name} where the floor is even with the wheels{pack}."
    if over < 0:
        return (
            f"Put a plate of {size} under {name}, or screw that foot out by as much, and enter it as packed."
        )
    return f"Screw {name} in by {size} and enter it as packed, with a minus."

"""The plan of a bay while it is surveyed, as plain shapes in bay axes."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from readiness import units
from readiness.checks.clear_area.plan_view import drawn
from readiness.checks.clear_area.things import obstacle_shape
from readiness.checks.picture import Line, Outline, Picture, Spot
from readiness.job import Bay, System
from readiness.survey.readings import read_of
from readiness.survey.surveying import Surveying, nodes_of, run_keys


def picture(
    surveying: Surveying, bay: Bay, heights: Mapping[str, float], suspect: Collection[str], current: str,
    system: System,
) -> Picture:  # fmt: skip
    """Bay, obstacles, level runs that were read, and places with their names, or heights once known.

    The places of the current question and of suspect ones are marked.
    """
    at = {n.name: (n.x, n.y) for n in surveying.nodes}
    read = read_of(surveying)
    marked = {name for key in (current, *suspect) for name in nodes_of(key, surveying)}
    lines = [
        Line("height", (at[run[0]], at[run[1]]), "", any(k in suspect for k in run_keys(run)))
        for run in surveying.runs
        if any(k in read for k in run_keys(run))
    ]
    spots = [Spot("height", at[n], _label(n, heights, system), n in marked, n not in heights) for n in at]
    return (*plan(bay), *lines, *spots)


def plan(bay: Bay) -> Picture:
    """Outline and obstacles."""
    outline = Outline("bay", tuple((p.x, p.y) for p in bay.outline), bay.title)
    return (outline, *(drawn("obstacle", obstacle_shape(o), o.name) for o in bay.obstacles))


def _label(name: str, heights: Mapping[str, float], system: System) -> str:
    return name if name not in heights else f"{name}: {units.show(heights[name], 'mm', system)}"

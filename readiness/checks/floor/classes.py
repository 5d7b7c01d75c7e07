"""What the standards of building would say of a floor; for comparison only, it decides nothing here.

DIN 18202 (gaps over a chord), BS 8204 (gaps under a straightedge of 2 m), ASTM E1155 (F-numbers of points a foot
apart). All look at flatness and not at slope, and at what lies between the points none of them can look.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import lru_cache
from itertools import combinations
from typing import NamedTuple

from readiness.checks.floor.heights import Heights, point_name
from readiness.checks.kind import Scene
from readiness.checks.picture import XY
from readiness.measure.floor_standards import din18202_limit
from readiness.measure.regularity import BS_8204_LENGTH, Gap, bs8204, din18202, f_lines, lines
from readiness.measure.surface import Surface

ROW = 3
"""Row of DIN 18202 table 3: finished floors."""
MOST = 100
"""Points that straight lines are looked for among: those nearest to the car, so that no answer takes long."""
SHORTEST = 0.1
"""m; DIN 18202 says nothing of less."""
LAST_CLASS = "SR3"


class _Classes(NamedTuple):
    """What the standards say of a survey's straight lines of points; None where no line tells."""

    bs: tuple[str, Gap] | None = None
    din: tuple[Gap, float] | None = None
    f: tuple[tuple[tuple[str, ...], float, float], ...] = ()


def class_notes(scene: Scene, heights: Heights, surface: Surface) -> tuple[str, ...]:
    """Sentences of information: of a survey its gaps, of a few measured places what would be allowed."""
    found = _classes(surface, heights.points) if heights.known else _Classes()
    din = _din_note(scene, *found.din) if found.din else _din_limit_note(scene, heights, surface)
    return (*din, *_bs_note(scene, found), *_f_notes(found))


@lru_cache(maxsize=16)  # a survey stays the same from answer to answer
def _classes(surface: Surface, points: tuple[str, ...]) -> _Classes:
    near = sorted(points, key=lambda p: math.hypot(*surface.places[p]))[:MOST]
    found = lines({p: (*surface.places[p], surface.heights[p]) for p in near})
    return _Classes(bs8204(found), din18202(found, ROW), tuple(f_lines(found)))


def _bs_note(scene: Scene, found: _Classes) -> Iterator[str]:
    if found.bs is None:
        return
    name, gap = found.bs
    which = f"BS 8204 class {name}" if name else f"more than BS 8204 allows in its last class, {LAST_CLASS}"
    yield (
        f"For comparison only: a straightedge of {scene.show(BS_8204_LENGTH, 'm')} finds a gap of "
        f"{scene.show(gap.mm, 'mm')} at {point_name(gap.under)}: {which}."
    )


def _f_notes(found: _Classes) -> Iterator[str]:
    for names, flat, level in found.f:
        yield (
            f"For comparison only: along {point_name(names[0])} to {point_name(names[-1])} the floor has FF {flat:.0f} "
            f"and FL {level:.0f} (ASTM E1155)."
        )


def _din_note(scene: Scene, gap: Gap, limit: float) -> Iterator[str]:
    yield (
        f"For comparison only: a straight line over {scene.show(round(gap.length, 1), 'm')} finds a gap of "
        f"{scene.show(gap.mm, 'mm')} at {point_name(gap.under)}; DIN 18202 table 3 row {ROW} allows {limit:g} mm."
    )


def _din_limit_note(scene: Scene, heights: Heights, surface: Surface) -> Iterator[str]:
    span = _longest(tuple(surface.places[p] for p in heights.points))
    if span >= SHORTEST:
        yield (
            f"For comparison only: DIN 18202 table 3 row {ROW} allows a finished floor {din18202_limit(ROW, span):g} mm "
            f"under a line of {scene.show(round(span, 1), 'm')}; it bounds flatness, not slope."
        )


@lru_cache(maxsize=16)
def _longest(places: tuple[XY, ...]) -> float:
    """The greatest distance in m between two places."""
    return max((math.dist(a, b) for a, b in combinations(places, 2)), default=0.0)

"""What must make sense in the survey of a bay: places, heights or level runs, and where it lies."""

from __future__ import annotations

from collections.abc import Sequence
from math import dist

from readiness import job
from readiness.checklist import outline
from readiness.checklist.mistakes import near, one_of, shown
from readiness.checklist.numbers import more_than_zero
from readiness.checklist.spot import Spot
from readiness.checklist.walk import Rules
from readiness.measure.level_net import Pair, adjust_levels, check_net

APART = 0.001
"""Survey points nearer than this are one point, m."""
NEAR = 3.0
"""Survey points may lie this far outside the outline, m; common practice, no published source."""
STEEPEST = 100.0
"""mm/m that the floor of a bay can have; common practice, no published source."""
ACROSS = 0.05
"""Survey points must spread at least this far from a straight line, m."""
OVERHANG = 0.05
"""By so much a run may seem longer than its straightedge, m: what its two places are good to."""

Places = dict[str, outline.XY]


def survey_in(corners: Sequence[outline.XY], survey: job.Survey, spot: Spot) -> None:
    """Floor outside the outline may be surveyed as well, floor far from the bay is a slip of unit or sign."""
    (x1, y1), (x2, y2) = (tuple(f(c[k] for c in corners) for k in (0, 1)) for f in (min, max))
    for point, here in zip(survey.points, spot.at("points").items(), strict=True):
        if not (x1 - NEAR <= point.x <= x2 + NEAR and y1 - NEAR <= point.y <= y2 + NEAR):
            found = f"a point at {point.x:.2f} m, {point.y:.2f} m, far outside the bay"
            expected = f"x from {x1:.2f} to {x2:.2f} m and y from {y1:.2f} to {y2:.2f} m, or little beyond"
            here.wrong(found, expected)


def _survey(value: job.Survey, spot: Spot) -> None:
    _own_file(spot)
    if value.straightedge is not None:
        more_than_zero(value, spot, "straightedge")
    apart = _points(value, spot)
    _heights(value, spot)
    known = {p.name: (p.x, p.y) for p in value.points}
    sound = [
        _run(run, here, known, value) for run, here in zip(value.runs, spot.at("runs").items(), strict=False)
    ]
    if apart and value.runs and all(sound) and len(known) == len(value.points):
        _net(value, spot.at("runs"), known)


def _own_file(spot: Spot) -> None:
    """A survey in a file of its own says whose it is; one in a bay's file need not."""
    if spot.where:
        return
    for key, expected in (("survey", "the id of the survey"), ("bay", "the id of its bay")):
        if not spot.at(key).text.strip():
            here = spot.at(key) if spot.has(key) else spot.named(key)
            here.wrong("nothing", expected)


def _points(value: job.Survey, spot: Spot) -> bool:
    """Whether all points lie at different places."""
    if len(value.points) < 3:
        count = f"{len(value.points)} point{'' if len(value.points) == 1 else 's'}"
        spot.at("points").wrong(count, "at least 3")
    first: dict[tuple[int, int], str] = {}
    apart = True
    for point, here in zip(value.points, spot.at("points").items(), strict=True):
        cell = (round(point.x / APART), round(point.y / APART))
        if cell in first:
            here.wrong(f"the same place as {shown(first[cell])}", "points at different places")
            apart = False
        first.setdefault(cell, point.name)
    places = [(p.x, p.y) for p in value.points]
    if apart and len(places) >= 3 and outline.spread_across(places) < ACROSS:
        hint = "Survey one beside that line; or put the unit of x and y right."
        spot.at("points").wrong("points on one straight line", "points that span an area", hint)
    return apart


def _heights(value: job.Survey, spot: Spot) -> None:
    """Every point has a height, or heights follow from level runs and none has."""
    by_level = bool(value.runs)
    for point, here in zip(value.points, spot.at("points").items(), strict=True):
        if by_level and point.height is not None:
            found = f"a height, {shown(here.at('height').text)}, beside level runs"
            here.at("height").wrong(found, "heights at the points or level runs between them, not both")
        elif not by_level and point.height is None:
            here.named("height").wrong("nothing", "a height such as '1 mm', or level runs under 'runs'")
    if not by_level:
        _steep(value, spot)


def _steep(survey: job.Survey, spot: Spot) -> None:
    """No floor rises like a stair: heights that do are in another unit than it says, or one is mistyped."""
    places = [(p.x, p.y, p.height) for p in survey.points if p.height is not None]
    middle = sorted(height for *_, height in places)[len(places) // 2] if places else 0.0
    xs, ys = [x for x, _, _ in places] or [0.0], [y for _, y, _ in places] or [0.0]
    most = max(STEEPEST * dist((min(xs), min(ys)), (max(xs), max(ys))), STEEPEST)
    for point, here in zip(survey.points, spot.at("points").items(), strict=True):
        if point.height is not None and abs(point.height - middle) > most:
            found = (
                f"{shown(here.at('height').text)}, {abs(point.height - middle):.0f} mm off most of the others"
            )
            hint = "Put the height or its unit right."
            here.at("height").wrong(found, f"a floor no steeper than {STEEPEST:g} mm/m", hint)


def _run(run: job.LevelRun, spot: Spot, known: Places, survey: job.Survey) -> bool:
    """Whether a run goes from one point to another within reach."""
    there = [_end(spot.at(key), name, known) for key, name in (("from", run.start), ("to", run.end))]
    if not all(there):
        return False
    if run.start == run.end:
        spot.at("to").wrong(f"{shown(run.end)}, where the run begins", "another point")
        return False
    read = [_plausible(run, spot, key) for key in ("first", "turned")]
    length, longest = dist(known[run.start], known[run.end]), survey.straightedge
    if longest is not None and 0 < longest < length - OVERHANG:
        found = f"a run of {length:.2f} m on a straightedge of {longest:.2f} m"
        spot.wrong(
            found, "a run that the straightedge reaches across", "Put a point between, or correct x and y."
        )
        return False
    return length > 0 and all(read)


def _plausible(run: job.LevelRun, spot: Spot, key: str) -> bool:
    reading: float | None = getattr(run, key)
    if reading is None or abs(reading) <= STEEPEST:
        return True
    here = spot.at(key)
    here.wrong(shown(here.text), f"a reading from -{STEEPEST:g} to {STEEPEST:g} mm/m")
    return False


def _end(spot: Spot, name: str, known: Places) -> bool:
    if name not in known:
        spot.wrong(f"no such point, {shown(name)}", one_of(known, "point"), near(name, known))
    return name in known


def _net(value: job.Survey, spot: Spot, known: Places) -> None:
    """Whether the runs fix the heights of all points: no piece apart, no zero error left open."""
    reached = {name for run in value.runs for name in (run.start, run.end)}
    lost = [name for name in known if name not in reached]
    if lost:
        spot.wrong(f"no run to {', '.join(map(shown, lost))}", "at least one run to every point")
        return
    pairs = [
        Pair(
            r.start,
            r.end,
            dist(known[r.start], known[r.end]),
            r.first,
            r.turned,
            1.0,
            r.instrument or value.instrument,
        )
        for r in value.runs
    ]
    try:
        check_net(pairs, value.runs[0].start, u_foot=1.0)
        if any(
            p.turned is None for p in pairs
        ):  # only then can a zero error stay open; it takes numpy to know
            adjust_levels(pairs, value.runs[0].start, u_foot=1.0)
    except ValueError as fault:
        why = f"{str(fault)[:1].upper()}{str(fault)[1:].rstrip('.')}."
        spot.wrong(
            "runs that do not give all heights", "runs that join all points, read both ways round", why
        )


SURVEY_RULES: Rules = {job.Survey: _survey}

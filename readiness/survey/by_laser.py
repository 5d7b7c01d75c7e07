"""Heights from a laser and a staff: what the readings say of each place, and whether the laser has moved.

A staff reading grows downwards: the floor is high where the staff reads little.
"""

from __future__ import annotations

from collections.abc import Mapping

from readiness import units
from readiness.checks.kind import Part
from readiness.checks.picture import XY
from readiness.job import Instrument, Reading, System
from readiness.measure.surface import plane_weights
from readiness.measure.uncertain import CRITICAL_RANGE, Estimate
from readiness.survey.readings import Findings, far_apart, read_of, reading_u, series
from readiness.survey.surveying import Surveying, again_key, staff_key

STEP = 25.0
"""mm; a place that lies so far off the plane of the others is misread sooner than it is so; common practice,
no published source."""
ENOUGH = 5
"""Places at least before one of them can be said to lie off the others."""


def findings(surveying: Surveying, instruments: Mapping[str, Instrument], system: System) -> Findings:
    """What is found so far; never raises for what is not read yet."""
    try:
        means = levels(surveying, instruments)
        moved = has_moved(surveying, instruments)
    except ValueError as fault:
        return Findings(problems=(str(fault),))
    heights = over_lowest(means)
    odd = _odd_places(surveying, heights, system)
    parts = {staff_key(n): _place_part(surveying, n, means, odd.get(n, ""), system) for n in means}
    unlike = {n: said for n in means if (said := _unlike(surveying, n, instruments, system))}
    suspect = {staff_key(n) for n in (*odd, *unlike)}
    problems = list(unlike.values())
    if moved is not None:
        first = surveying.nodes[0].name
        part = parts[again_key(first)] = _again_part(first, moved, system)
        if part.outcome == "fail":
            problems.insert(0, part.reason)
            suspect.add(again_key(first))
    details = tuple(f"{n}: {units.show(h, 'mm', system)} over the lowest place" for n, h in heights.items())
    return Findings(parts, tuple(problems), tuple(odd.values()), frozenset(suspect), heights, details)


def levels(surveying: Surveying, instruments: Mapping[str, Instrument]) -> dict[str, Estimate]:
    """Place -> mean staff reading in mm of those read so far, the one at the end counted with the first place's.

    Raises ValueError for readings with two lasers, or with none that the shop has.
    """
    read = read_of(surveying)
    mine = {n.name: read.get(staff_key(n.name), ()) for n in surveying.nodes}
    if surveying.nodes and mine[surveying.nodes[0].name]:
        first = surveying.nodes[0].name
        mine[first] += read.get(again_key(first), ())
    mine = {name: readings for name, readings in mine.items() if readings}
    lasers = sorted({r.instrument for readings in mine.values() for r in readings})
    if len(lasers) > 1:
        raise ValueError(
            f"The staff was read with {' and '.join(lasers)}: heights of two lasers cannot be compared. Read all "
            "places with one of them."
        )
    return {name: series(readings, instruments) for name, readings in mine.items()}


def over_lowest(means: Mapping[str, Estimate]) -> dict[str, float]:
    """Place -> height in mm over the lowest of them, up positive."""
    longest = max((e.value for e in means.values()), default=0.0)
    return {name: round(longest - e.value, 3) + 0.0 for name, e in means.items()}


def has_moved(surveying: Surveying, instruments: Mapping[str, Instrument]) -> Estimate | None:
    """How much more the first place reads at the end than at the beginning, in mm, and the u of one reading.

    None until both are read. Raises ValueError.
    """
    read = read_of(surveying)
    first = surveying.nodes[0].name if surveying.nodes else ""
    begin, end = read.get(staff_key(first), ()), read.get(again_key(first), ())
    if not begin or not end:
        return None
    u = max(reading_u(r, instruments) for r in (*begin, *end))
    return Estimate(_mean(end) - _mean(begin), u)


def allowed(moved: Estimate) -> float:
    """The difference of two readings that their u explains (critical range): the same as |E_n| = 1 at k = 2."""
    return CRITICAL_RANGE[2] * moved.u


def _mean(readings: tuple[Reading, ...]) -> float:
    return sum(float(r.value) for r in readings) / len(readings)


def _place_part(
    surveying: Surveying, name: str, means: Mapping[str, Estimate], odd: str, system: System
) -> Part:
    first = next(iter(means))
    over, u = means[first].value - means[name].value, means[name].u
    said = "higher" if over > 0 else "lower"
    reason = (
        f"Place {name} lies {units.show(abs(over), 'mm', system)} {said} than place {first}."
        if name != first
        else f"The other places are compared with place {name}."
    )
    readings = read_of(surveying).get(staff_key(name), ())
    return Part(
        f"place.{name}",
        name,
        "too_close" if odd else "pass",
        odd or reason,
        over,
        "mm",
        u=u,
        readings=readings,
    )


def still_there(first: str, moved: Estimate, system: System) -> tuple[bool, str]:
    """Whether the laser stands where it stood, and the sentence that says so."""
    limit = allowed(moved)
    size, most = units.show(abs(moved.value), "mm", system), units.show(limit, "mm", system)
    if abs(moved.value) <= limit:
        return True, f"Place {first} reads as at the beginning, within {most}: the laser has not moved."
    way = "more" if moved.value >= 0 else "less"
    return False, (
        f"Place {first} reads {size} {way} than at the beginning, where {most} would do: the laser has moved, or one "
        f"of the two was misread. Read place {first} once more; if it stays, set the laser up anew and read all "
        "places again."
    )


def _again_part(first: str, moved: Estimate, system: System) -> Part:
    limit = allowed(moved)
    still, reason = still_there(first, moved, system)
    return Part(
        f"again.{first}", f"{first} at the end", "pass" if still else "fail", reason, moved.value, "mm", -limit,
        limit, moved.u,
    )  # fmt: skip


def _unlike(surveying: Surveying, name: str, instruments: Mapping[str, Instrument], system: System) -> str:
    """What is wrong with the repeat readings of a place, if they contradict each other."""
    readings = read_of(surveying).get(staff_key(name), ())
    values = [float(r.value) for r in readings]
    if not far_apart(values, max((reading_u(r, instruments) for r in readings), default=0.0)):
        return ""
    spread = units.show(max(values) - min(values), "mm", system)
    return f"The readings of place {name} lie {spread} apart, more than the laser explains: read it again and take back the wrong one."


def _odd_places(surveying: Surveying, heights: Mapping[str, float], system: System) -> dict[str, str]:
    """The place that lies farthest off the plane of the others, if that is more than floors do."""
    at = {n.name: (n.x, n.y) for n in surveying.nodes if n.name in heights}
    if len(at) < ENOUGH:
        return {}
    off = {name: over for name in at if (over := _off(name, at, heights)) is not None}
    name = max(off, key=lambda n: abs(off[n]), default="")
    if not name or abs(off[name]) <= STEP:
        return {}
    way = "over" if off[name] > 0 else "under"
    size = units.show(abs(off[name]), "mm", system)
    return {
        name: f"Place {name} lies {size} {way} the plane of the other places: read it again, unless the floor has a step there."
    }


def _off(name: str, at: Mapping[str, XY], heights: Mapping[str, float]) -> float | None:
    """Height in mm of a place over the plane of the others; None where those lie on one line."""
    others = {n: xy for n, xy in at.items() if n != name}
    try:
        weights = plane_weights(others, *at[name])
    except ValueError:
        return None
    return heights[name] - sum(w * heights[n] for n, w in weights.items())

"""Invented bays, cars and floors, and surveys of them read without error unless a test puts one in."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from datetime import UTC, datetime, timedelta

from hypothesis import strategies as st
from msgspec.structs import replace

from readiness.job import Bay, Disc, Obstacle, Point, Reading, Standing, Target
from readiness.survey.net import runs
from readiness.survey.places import Use, propose
from readiness.survey.room import Room
from readiness.survey.surveying import CHECK, Surveying, Way, questions, run_keys
from tests.scenes import SHEET

AT = datetime(2026, 5, 4, 9, 0, tzinfo=UTC)
Floor = Callable[[float, float], float]
"""Height in mm at x, y in m of the bay."""
TOOLS = {"laser": "laser", "level": "level"}


def bay(outline=((0, 0), (10, 0), (10, 8), (0, 8)), standing=(4.5, 4.0, 0.0), obstacles=()) -> Bay:
    x, y, heading = standing
    return Bay(
        bay="bay-1", title="Invented bay", outline=tuple(Point(x=a, y=b) for a, b in outline),
        standing=Standing(x=x, y=y, heading=heading), obstacles=tuple(obstacles),
    )  # fmt: skip


ROOM = bay()
L_SHAPED = bay(((0, 0), (10, 0), (10, 5), (4, 5), (4, 10), (0, 10)), (5.0, 2.5, 0.0))
"""The second target of `BEHIND` lies round the corner."""

POST = Obstacle(name="post", disc=Disc(at=Point(x=2.9, y=4.0), radius=0.2), metal="yes")

metre = st.floats(-3.5, 3.5).map(lambda v: round(v, 2))


@st.composite
def rooms(draw: st.DrawFn) -> Bay:
    """A rectangle or an L, a car somewhere in it and any way round, sometimes a post."""
    wide, deep = draw(st.floats(6, 14)), draw(st.floats(6, 12))
    corners = [(0.0, 0.0), (wide, 0.0), (wide, deep), (0.0, deep)]
    if draw(st.booleans()):
        corners[2:3] = [(wide, deep / 2), (wide / 2, deep / 2), (wide / 2, deep)]
    posts = (POST,) if draw(st.booleans()) else ()
    return bay(corners, (wide / 2, deep / 3, draw(st.sampled_from([0.0, 90.0, 180.0, -37.5]))), posts)


@st.composite
def uses(draw: st.DrawFn) -> tuple[Use, ...]:
    """One to three sheets whose targets stand anywhere round the car, on one side or both."""
    found = []
    for n in range(draw(st.integers(1, 3))):
        targets = [
            Target(
                id=f"t{k}",
                at=replace(SHEET.targets[0].at, x=x, y=y),
                feet=(Point(x=x, y=y), Point(x=x + 0.4, y=y)),
            )
            for k, (x, y) in enumerate(draw(st.lists(st.tuples(metre, metre), max_size=2)))
        ]
        wide = replace(SHEET.dimensions, wheelbase=2.4 + 0.2 * n)
        sheet = replace(SHEET, sheet=f"s{n}", car=f"Car {n}", targets=tuple(targets), dimensions=wide)
        found.append(Use(sheet, draw(st.sampled_from([("left", "right"), ("single",), ("left",)]))))
    return tuple(found)


def surveying(
    way: Way, room: Bay = ROOM, straightedge: float | None = None, used: tuple[Use, ...] = ()
) -> Surveying:
    """A survey that is begun and not read."""
    used = used or (Use(SHEET, ("left", "right")),)
    length = (straightedge or 2.0) if way == "level" else None
    nodes = propose(room, used, way, length)
    planned = runs(nodes, length, Room(room)) if length else ()
    return Surveying(
        id="bay-1-2026-05-04",
        bay="bay-1",
        way=way,
        by="A. Test",
        opened=AT,
        straightedge=length,
        nodes=nodes,
        runs=planned,
    )


def read(
    survey: Surveying, floor: Floor, *, zero: float = 0.0, wrong: Mapping[str, float] | None = None,
    keys: tuple[str, ...] | None = None, tool: str = "", round_to: int = 6,
) -> Surveying:  # fmt: skip
    """The survey with every question answered as an exact instrument would; `wrong` adds to single answers."""
    values = exact(survey, floor, zero)
    taken = [q for q in questions(survey) if keys is None or q.key in keys]
    start = len(survey.readings)
    found = tuple(
        Reading(
            check=CHECK, question=q.key, value=round(values[q.key] + (wrong or {}).get(q.key, 0.0), round_to),
            unit=q.unit, text="", at=AT + timedelta(minutes=start + k), by="A. Test",
            instrument=tool or TOOLS[survey.way], number=start + k + 2,
        )
        for k, q in enumerate(taken)
    )  # fmt: skip
    return replace(survey, readings=(*survey.readings, *found))


def exact(survey: Surveying, floor: Floor, zero: float = 0.0, staff: float = 1500.0) -> dict[str, float]:
    """Question key -> what an exact instrument shows; a level with this zero error in mm/m."""
    at = {n.name: (n.x, n.y) for n in survey.nodes}
    found = {f"{kind}.{n}": staff - floor(*xy) for n, xy in at.items() for kind in ("staff", "again")}
    for run in survey.runs:
        a, b = (at[n] for n in run)
        slope = (floor(*b) - floor(*a)) / math.dist(a, b)
        found |= dict(zip(run_keys(run), (slope + zero, -slope + zero), strict=True))
    return found

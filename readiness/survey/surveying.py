"""A survey being taken, as plain data, and what it asks in walking order."""

from __future__ import annotations

from datetime import datetime
from typing import Literal, NamedTuple

from msgspec import Struct

from readiness import units
from readiness.checklist.survey_rules import STEEPEST
from readiness.checks.kind import Question
from readiness.job import Metre, Reading, SurveyPoint, System

Way = Literal["laser", "level"]
"""How: a laser with a staff or tape at every place, or a level laid from place to place."""
Run = tuple[str, str]
"""A level laid from one place to another."""

BETWEEN = "between"
"""What a place is called at which nothing stands."""
CHECK = "survey"
"""The check name under which the readings of a survey lie."""
SHORTEST, LONGEST = 0.5, 6.0
"""Straightedges in m that a person can handle."""
HIGHEST_READING = 4000.0
"""mm on a staff."""


class Surveying(Struct, frozen=True, kw_only=True):
    """A survey being taken: everything answered so far, corrections already taken out.

    `nodes` are the places in walking order, in bay axes and without heights; `runs` the level runs planned
    between them (way 'level'), in the order in which they are read.
    """

    id: str
    bay: str
    way: Way
    by: str
    opened: datetime
    straightedge: Metre | None = None
    nodes: tuple[SurveyPoint, ...]
    runs: tuple[Run, ...] = ()
    readings: tuple[Reading, ...] = ()
    finished: datetime | None = None
    """When its file was written; nothing is entered after that."""
    left_out: tuple[str, ...] = ()
    """What was taken out of the plan, with the reason; a sentence each, without its stop."""
    set_aside: datetime | None = None
    """When the bay's survey was begun anew instead; nothing is entered after that."""


class Planned(Struct, frozen=True, kw_only=True):
    """Other places and level runs from now on, kept as an entry that can be withdrawn."""

    nodes: tuple[SurveyPoint, ...]
    runs: tuple[Run, ...] = ()
    at: datetime
    by: str
    why: str = ""
    number: int = 0


class Plan(NamedTuple):
    """The places to read in walking order, and the level runs between them."""

    nodes: tuple[SurveyPoint, ...]
    runs: tuple[Run, ...] = ()


def staff_key(node: str) -> str:
    """Question key of the staff reading at a place."""
    return f"staff.{node}"


def again_key(node: str) -> str:
    """Question key of reading a place once more at the end."""
    return f"again.{node}"


def run_keys(run: Run) -> tuple[str, str]:
    """Question keys of a level run: as laid first, and turned end for end."""
    return f"run.{run[0]}-{run[1]}.1", f"run.{run[0]}-{run[1]}.2"


def nodes_of(key: str, surveying: Surveying) -> tuple[str, ...]:
    """The places that a question is about."""
    for run in surveying.runs:
        if key in run_keys(run):
            return run
    return tuple(n.name for n in surveying.nodes if key in (staff_key(n.name), again_key(n.name)))


def questions(surveying: Surveying, system: System = "metric") -> list[Question]:
    """What a survey asks, in walking order."""
    if surveying.way == "level":
        names = {n.name: n for n in surveying.nodes}
        return [q for a, b in surveying.runs for q in _ask_run(names[a], names[b])]
    asked = [_ask_staff(node, system) for node in surveying.nodes]
    if len(surveying.nodes) > 1:
        asked.append(_ask_again(surveying.nodes[0]))
    return asked


def _ask_staff(node: SurveyPoint, system: System) -> Question:
    return Question(
        staff_key(node.name), f"{node.name}: {node.what or 'staff'}", unit="mm", measures="height", low=0.0,
        high=HIGHEST_READING, hint=f"staff upright at {where(node, system)} from the bay's corner", part=f"place.{node.name}",
    )  # fmt: skip


def _ask_again(node: SurveyPoint) -> Question:
    return Question(
        again_key(node.name), f"{node.name}: again at the end", unit="mm", measures="height", low=0.0,
        high=HIGHEST_READING, hint="staff on the first place once more: shows whether the laser has moved",
        optional=True, part=f"again.{node.name}",
    )  # fmt: skip


def _ask_run(a: SurveyPoint, b: SurveyPoint) -> tuple[Question, Question]:
    first, turned = run_keys((a.name, b.name))
    label, part = f"{a.name} to {b.name}", f"run.{a.name}-{b.name}"
    ends = f" ({b.what})" if b.what not in ("", BETWEEN) else ""
    return (
        Question(first, label, unit="mm/m", measures="slope", low=-STEEPEST, high=STEEPEST, part=part,
                 hint=f"straightedge from {a.name} to {b.name}: plus if the end at {b.name} is higher{ends}"),
        Question(turned, f"{label}, turned", unit="mm/m", measures="slope", low=-STEEPEST, high=STEEPEST,
                 optional=True, part=part,
                 hint=f"turned end for end on the same blocks: plus now if the end at {a.name} is higher"),
    )  # fmt: skip


def where(node: SurveyPoint, system: System = "metric") -> str:
    """Where a place lies in the bay, in words; both lengths count from the bay's corner, 0, 0."""
    return f"x {units.show(node.x, 'm', system)}, y {units.show(node.y, 'm', system)}"

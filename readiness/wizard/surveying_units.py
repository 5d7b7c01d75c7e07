"""In which unit a reading of a survey is typed and shown: the shop's, or the divisions of the level's vial."""

from __future__ import annotations

from collections.abc import Sequence

from readiness import units
from readiness.checks.entry import understood
from readiness.job import Instrument, Reading, System
from readiness.wizard.rows import Row

DIVISIONS = "div"


def typed_unit(row: Row, before: Sequence[Reading], tool: Instrument | None, system: System) -> str:
    """What a bare number of this row is in: divisions where it, or else the last reading, was typed in them."""
    like = row.readings or before
    if tool is not None and tool.division and like and units.in_divisions(like[-1].text):
        return DIVISIONS
    return units.entry_unit(row.question.unit, system)


def shown(row: Row, unit: str, tool: Instrument | None, system: System) -> str:
    """The mean of a row's readings in its unit, and of how many; empty without any."""
    if row.mean is None:
        return ""
    times = f" ×{len(row.readings)}" if len(row.readings) > 1 else ""
    if unit != DIVISIONS or tool is None:
        return units.number(row.mean, row.question.unit, system) + times
    one, _ = understood(row.question, "1 div", system, tool.division)
    return f"{round(row.mean / float(one), 2) + 0.0:g}{times}"

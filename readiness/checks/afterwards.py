"""What comes after the calibration comes after its result: a scan or a drive from before says nothing of it."""

from __future__ import annotations

from datetime import datetime

from readiness.checks.kind import Part, Scene
from readiness.checks.words import clock
from readiness.job import Reading

RESULT = "result"
"""The kind of check that asks for a calibration's result."""


def result_read_at(scene: Scene) -> datetime | None:
    """When the last result was read: of this side, or of all sides for a check of the whole job; None without any."""
    asking = {c.id for c in scene.checks if c.kind == RESULT}
    sides = (scene.side, "") if scene.side else ("", *scene.job.sides)
    times = [
        rs[-1].at for (check, side, _), rs in scene.readings.items() if check in asking and side in sides
    ]
    return max(times, default=None)


def from_before(scene: Scene, key: str, label: str, *readings: Reading) -> Part | None:
    """The part that says that this was answered before the result was read; None where it was not."""
    result = result_read_at(scene)
    first = min((r.at for r in readings), default=None)
    if result is None or first is None or first >= result:
        return None
    reason = (
        f"{label}: it is from {clock(first, scene.now)}, before the result was read at {clock(result, scene.now)}; "
        "it has to come after it."
    )
    return Part(key, label, "lapsed", reason, readings[-1].value, readings=readings)

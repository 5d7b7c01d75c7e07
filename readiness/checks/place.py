"""Where the car stands in the bay, for every check that looks at both: floor, clear area, aim."""

from __future__ import annotations

from dataclasses import dataclass

from readiness.checks.kind import Answer, Scene
from readiness.job import Reading, Standing

ON_MARKS_U = 0.02
"""m; standard uncertainty of laying out the car's axes by eye, or of parking on the bay's marks; common
practice, no published source."""


@dataclass(frozen=True, slots=True)
class Where:
    """Where the car stands, and how well that is known."""

    standing: Standing
    u: float = ON_MARKS_U
    """Standard uncertainty of the place of the middle of the rear axle, m in each direction."""
    u_heading: float = 0.0
    """Standard uncertainty of the heading, degrees."""
    readings: tuple[Reading, ...] = ()
    missing: tuple[Answer, ...] = ()
    """Answers without which it is not known; `standing` is then the bay's own."""


def where(scene: Scene) -> Where:
    """Where the car of this visit stands: on the bay's own marks."""
    return Where(scene.bay.standing)

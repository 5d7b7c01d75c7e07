"""What a search says while it goes on, and how it is told to end."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from readiness.measure.poses import Cancelled

Told = Callable[[str, float], bool]
"""What is worked on, and the share of all that is done, 0 to 1; returns False to end the search."""


@dataclass
class Progress:
    """One of several pieces of work, from share `done` on; every search within it takes a part of what is left."""

    told: Told | None
    text: str
    done: float
    end: float

    def search(self, part: float = 0.5) -> Callable[[float], bool] | None:
        """For the next search (measure.poses.Heard), which takes that part of what is left. Raises Cancelled."""
        if self.told is None:
            return None
        told, start, span = self.told, self.done, part * (self.end - self.done)
        self.done = start + span
        if not told(self.text, start):
            raise Cancelled
        return lambda share: told(self.text, start + span * share)

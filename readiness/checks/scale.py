"""The scale of a number line, which terminal and paper share: its limits with room on both sides."""

from __future__ import annotations

from dataclasses import dataclass

from readiness.checks.kind import Part


@dataclass(frozen=True, slots=True)
class Scale:
    """Which values the ends of the line stand for."""

    start: float
    stop: float

    def share(self, value: float) -> float:
        """How far along the line a value lies, 0 to 1; at an end if it lies beyond."""
        if self.stop <= self.start:
            return 0.0
        return min(1.0, max(0.0, (value - self.start) / (self.stop - self.start)))

    def cell(self, value: float, width: int) -> int:
        """The cell in which a value lies; the first or last one if it lies beyond."""
        return min(width - 1, int(self.share(value) * width))


def scale_of(part: Part) -> Scale | None:
    """A scale that shows the limits with room on both sides; None without limits."""
    low, high = part.low, part.high
    if low is None and high is None:
        return None
    if low is not None and high is not None:
        room = 0.5 * (high - low) or 1.0
        return Scale(low - room, high + room)
    limit = low if low is not None else high
    assert limit is not None
    reach = max(abs(limit), 4.0 * (part.guard or 0.0), 1e-9)
    if high is not None and limit >= 0 and (not isinstance(part.value, float) or part.value >= 0):
        return Scale(0.0, 1.5 * reach)
    return (
        Scale(limit - 0.5 * reach, limit + reach)
        if low is not None
        else Scale(limit - reach, limit + 0.5 * reach)
    )

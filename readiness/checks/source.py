"""What a finding rests on beside the readings of a visit."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True)
class Source:
    """What was written down before this visit and counts in it: the survey of a floor, the plan of a bay."""

    name: str
    by: str = ""
    on: date | None = None
    tools: tuple[str, ...] = ()
    """Ids of the instruments that it was made with."""

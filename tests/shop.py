"""The demo shop, copied for a test, and a clock that a test moves."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

from readiness.records.demo import copy_demo
from readiness.records.shop import ShopFolder

MOMENT = datetime(2026, 11, 25, 10, 0, tzinfo=UTC)


@dataclass
class Clock:
    """Goes on by `step` at every look."""

    at: datetime = MOMENT
    step: timedelta = timedelta(seconds=5)

    def __call__(self) -> datetime:
        self.at += self.step
        return self.at


def demo_shop(to: Path, now: datetime = MOMENT) -> ShopFolder:
    """A copy of the demo shop in a new folder below `to`, at its own moment."""
    return copy_demo(to / "shop", now)

"""Names, words and times as they stand in a sentence."""

from __future__ import annotations

from datetime import datetime

from readiness.job import VOID_EVENTS


def the(name: str) -> str:
    """'the tool trolley', and a name of its own as it is."""
    return f"the {name}" if name[:1].islower() else name


def capital(words: str) -> str:
    """With a capital letter in front, for the beginning of a sentence."""
    return words[:1].upper() + words[1:]


def happening(event: str, side: str = "") -> str:
    """An event as a clause: 'the sensor, its bracket or cover was touched on the left'."""
    where = f" on the {side}" if side in ("left", "right") else ""
    return f"{VOID_EVENTS.get(event, event)}{where}"


def clock(at: datetime, now: datetime) -> str:
    """A time to the minute; its date only where it is another day's than `now`."""
    return f"{at:%H:%M}" if at.date() == now.astimezone(at.tzinfo).date() else f"{at:%Y-%m-%d %H:%M}"

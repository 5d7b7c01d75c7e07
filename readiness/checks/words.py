"""Names, words and times as they stand in a sentence."""

from __future__ import annotations

from datetime import datetime


def the(name: str) -> str:
    """'the tool trolley', and a name of its own as it is."""
    return f"the {name}" if name[:1].islower() else name


def capital(words: str) -> str:
    """With a capital letter in front, for the beginning of a sentence."""
    return words[:1].upper() + words[1:]


def clock(at: datetime, now: datetime) -> str:
    """A time to the minute; its date only where it is another day's than `now`."""
    return f"{at:%H:%M}" if at.date() == now.astimezone(at.tzinfo).date() else f"{at:%Y-%m-%d %H:%M}"

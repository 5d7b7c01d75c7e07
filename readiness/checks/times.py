"""Times of day as people type them."""

from __future__ import annotations

import re
from datetime import datetime

from readiness.job import YEARS

_OF_TODAY = re.compile(r"(\d{1,2}):(\d{2})(?::(\d{2}))?")
_WITH_ITS_DAY = re.compile(r"\d{4}-\d{2}-\d{2}[T ]\d{2}:\d{2}")


def moment_typed(text: str, now: datetime) -> datetime:
    """'14:05' or '9:40' of today, or '2026-03-31 14:05'; without a zone it is this machine's.

    A date alone is refused: it would mean midnight. Raises ValueError, OverflowError, OSError.
    """
    written = text.strip()
    if of_today := _OF_TODAY.fullmatch(written):
        hour, minute, second = (int(part or 0) for part in of_today.groups())
        return now.replace(hour=hour, minute=minute, second=second, microsecond=0)
    if not _WITH_ITS_DAY.match(written):
        raise ValueError(written)
    at = datetime.fromisoformat(written)
    at = at if at.tzinfo else at.astimezone()  # summer time as it was then
    if at.year not in YEARS:
        raise ValueError(written)
    return at

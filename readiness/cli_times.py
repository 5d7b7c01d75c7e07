"""Times and days as they are typed after a command."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from datetime import date, datetime

    from readiness.checks.finding import Visit


def moment(text: str | None) -> datetime:
    """The time named, or now; a time without a date is today's, one without zone this machine's.

    A date alone is refused: it would mean midnight, at which hardly any finding holds.
    """
    from datetime import datetime

    from readiness.checks.times import moment_typed

    now = datetime.now().astimezone()
    if text is None or text.strip().lower() == "now":
        return now
    try:
        return moment_typed(text, now)
    except (ValueError, OverflowError, OSError):
        raise click.UsageError(
            f"--at takes a date and time such as '2026-03-31 14:05', or a time of today such as 14:05, "
            f"not '{text}'."
        ) from None


def moment_for(visit: Visit, at: str | None) -> datetime:
    """The time named for a job, or now; never before its last entry, which another machine's clock may have given."""
    from readiness.faults import say

    now = moment(at)
    if at is not None or visit.last_entry <= now:
        return now
    say(
        f"Note: its last entry is of {visit.last_entry:%Y-%m-%d %H:%M}, and by this machine's clock it is {now:%Y-%m-%d %H:%M}; "
        "it is judged as of its last entry."
    )
    return visit.last_entry


def day_of(text: str | None) -> date:
    """The date named, or today; not one that is still to come."""
    from datetime import date, datetime

    today = datetime.now().astimezone().date()
    if text is None:
        return today
    try:
        day = date.fromisoformat(text.strip())
    except ValueError:
        raise click.UsageError(f"--date takes a date such as 2026-03-31, not '{text}'.") from None
    if day > today:
        raise click.UsageError(f"--date {day} is still to come; today is {today}.")
    return day

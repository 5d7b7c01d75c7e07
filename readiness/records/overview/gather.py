"""From a shop's folder to its page, at one moment."""

from __future__ import annotations

from datetime import datetime

from readiness.records.index import Heard, JobIndex
from readiness.records.journal import JournalError
from readiness.records.listing import JobLine
from readiness.records.overview.bays import bays
from readiness.records.overview.drift import floors, zeros
from readiness.records.overview.jobs import jobs, reasons, wanted
from readiness.records.overview.model import Jobs, ShopPage
from readiness.records.overview.sheets import sheets
from readiness.records.overview.tools import tools
from readiness.records.shop import ShopFolder

WITHIN = 30
"""Days ahead that a date counts as due soon: time to send a tool away. Common practice, no published source."""
WEEKS = 8
IDLE = 3
"""Days after which nobody comes back to an open job by himself. Common practice, no published source."""


def shop_page(
    folder: ShopFolder, at: datetime, *, weeks: int = WEEKS, within: int = WITHIN, index: JobIndex | None = None,
    heard: Heard = lambda what, share: True,
) -> ShopPage:  # fmt: skip
    """Everything that the page shows. Raises ShopError for a shop's own file that is missing or cannot be read.

    Any other file that cannot be read is told on the page, and the rest stands without it.
    """
    shop = folder.shop
    index = index or JobIndex(folder)
    lines, problem = _lines(index, heard)
    looked_at, recent = wanted(lines, at, weeks)
    states = index.states(looked_at, at, heard)
    pasts = index.pasts(recent, heard)
    return ShopPage(
        shop.shop, shop.units, at, within, weeks, IDLE,
        tools(folder, at, within), bays(folder, at, within), sheets(folder, at, recent, pasts),
        Jobs(problem=problem) if problem else jobs(lines, states, at, weeks, IDLE),
        reasons(recent, pasts), floors(folder), zeros(folder, lines, at),
    )  # fmt: skip


def _lines(index: JobIndex, heard: Heard) -> tuple[list[JobLine], str]:
    """All jobs, the latest first; or why there are none to be seen."""
    try:
        return index.lines(heard=heard), ""
    except JournalError as fault:
        return [], str(fault)

"""Times are told by one clock, that of the machine, whichever zone they were entered in."""

from __future__ import annotations

import os
import time
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta

import pytest

from readiness.records.account import account
from readiness.records.dossier import dossier
from readiness.records.shop import ShopFolder
from readiness.records.wall_clock import on_the_wall
from readiness.report.html import html_page
from tests.shop import MOMENT

pytestmark = pytest.mark.skipif(os.name == "nt", reason="the zone of a process cannot be changed there")


@pytest.fixture
def east(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Nine hours before Greenwich, all the year round (POSIX writes the sign the other way round)."""
    monkeypatch.setenv("TZ", "<+09>-9")
    time.tzset()
    yield
    monkeypatch.undo()
    time.tzset()


@pytest.mark.usefixtures("east")
def test_a_job_from_elsewhere_is_told_by_the_clock_here(shop: ShopFolder) -> None:
    now = MOMENT.astimezone()
    found = dossier("HB-0409", shop.path)  # entered in Greenwich's time
    told = account(found.visit, now, at=now)
    opened = found.visit.job.opened
    assert opened.utcoffset() == timedelta(hours=9)
    closed = told.sides["right"].verdict.finding("closed")
    assert f"taken at {opened:%Y-%m-%d %H:%M} and holds" in closed.reason
    page = html_page(told, found)
    assert f"{opened:%H:%M}" in page
    assert f"{opened.astimezone(UTC):%H:%M}" not in page


@pytest.mark.usefixtures("east")
def test_a_year_that_no_clock_has_stays_as_it_is(shop: ShopFolder) -> None:
    job = shop.journal("HB-0409", write=False).job
    last = datetime.max.replace(tzinfo=UTC)
    moved = on_the_wall(type(job)(job="X", sheet="s", bay="b", sides=("single",), opened=last, by="Odo"))
    assert moved.opened == last
    assert on_the_wall(job) == job  # the same moments

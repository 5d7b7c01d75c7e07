"""Bays whose floor is to be surveyed."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta

from readiness.checks.floor.from_survey import why_not_now, why_not_these_tools
from readiness.checks.floor.surveyed import surveyed
from readiness.job import Bay, Survey
from readiness.records.overview.model import BayDue, Bays
from readiness.records.shop import ShopError, ShopFolder


def bays(folder: ShopFolder, at: datetime, within: int) -> Bays:
    """How long a survey holds stands in it: `renew_after`. A bay whose files cannot be read is told."""
    due: list[BayDue] = []
    rest = 0
    for name in folder.bays:
        try:
            bay = folder.bays[name]
        except ShopError as fault:
            file = folder.bays.paths[name].stem  # what it says of its id may be part of the mistake
            due.append(BayDue(file, file, "unread", told=str(fault)))
            continue
        found = list(_of_bay(folder, bay, at, within))
        due += found
        rest += not found
    return Bays(tuple(sorted(due, key=lambda d: (d.why == "soon", d.days, d.bay))), rest)


def _of_bay(folder: ShopFolder, bay: Bay, at: datetime, within: int) -> Iterator[BayDue]:
    survey = bay.survey
    if survey is None:
        yield BayDue(bay.bay, bay.title, "never")
        return
    until = survey.date + timedelta(days=survey.renew_after)
    days = (until - at.date()).days
    if survey.date > at.date():
        yield BayDue(bay.bay, bay.title, "to come", survey.date, until, days, why_not_now(survey, at))
    elif days <= within:
        yield BayDue(bay.bay, bay.title, "past" if days < 0 else "soon", survey.date, until, days)
    yield from _unfit(folder, bay, survey)


def _unfit(folder: ShopFolder, bay: Bay, survey: Survey) -> Iterator[BayDue]:
    """A survey that counts in no job, however fresh it is: made with a tool past due, or not fitting together."""
    try:
        tools = folder.instruments
    except ShopError:
        return
    if told := why_not_these_tools(survey, tools):
        yield BayDue(bay.bay, bay.title, "tool", survey.date, told=told)
        return
    try:
        problems = surveyed(survey, tools, folder.shop.units).problems
    except ValueError as fault:
        problems = (f"It cannot serve: {str(fault).rstrip('.')}.",)
    if problems:
        yield BayDue(bay.bay, bay.title, "unfit", survey.date, told=problems[0])

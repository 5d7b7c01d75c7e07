"""What moves slowly: the floor of a bay from survey to survey, the zero of a level from job to job."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from datetime import UTC, datetime, time

from readiness import units
from readiness.checklist.mistakes import FileMistakes
from readiness.checks.floor.from_survey import why_not_these_tools
from readiness.checks.floor.surveyed import Surveyed, surveyed
from readiness.job import Instrument, Survey
from readiness.measure.moved import moved
from readiness.measure.trend import Trend, trend
from readiness.records.listing import JobLine
from readiness.records.overview.model import FloorDrift, ZeroDrift, ZeroPoint, ZeroState
from readiness.records.shop import ShopError, ShopFolder
from readiness.records.zeros import UNIT

MONTH = 365.25 / 12.0
"""Days."""


# --- floors --------------------------------------------------------------------------------------


def floors(folder: ShopFolder) -> tuple[FloorDrift, ...]:
    """For each bay with two surveys or more the newest against the one before; and against the oldest, if it moved since."""
    found: list[FloorDrift] = []
    for name, path in folder.bays.paths.items():
        surveys = surveys_of(folder, name)
        title = _title(folder, name, path.stem)
        if len(surveys) > 1:
            found.append(_floor(folder, name, title, *surveys[-2:]))
        if len(surveys) > 2:
            slow = replace(_floor(folder, name, title, surveys[0], surveys[-1]), last=False)
            found += [slow] if slow.found is not None and slow.found.moved else []
    return tuple(sorted(found, key=lambda f: (not f.last, -(f.found.ratio if f.found else 0.0))))


def surveys_of(folder: ShopFolder, bay: str) -> list[Survey]:
    """Every survey of a bay that can be read, the oldest first, in its own file or in one of theirs."""
    from readiness.checklist.files import read_bay

    found: list[Survey] = []
    try:
        own = read_bay(folder.bays.paths[bay]).survey
        found += [own] if own is not None else []
    except FileMistakes:  # told under bays
        pass
    found += [survey for survey in folder.surveys.good().values() if survey.bay == bay]
    return sorted(found, key=lambda s: (s.date, s.survey))


def _title(folder: ShopFolder, bay: str, otherwise: str) -> str:
    try:
        return folder.bays[bay].title
    except ShopError:
        return otherwise


def _floor(folder: ShopFolder, bay: str, title: str, older: Survey, newer: Survey) -> FloorDrift:
    try:
        was, now = (_sound(folder, survey) for survey in (older, newer))
        found = moved(was.surface, now.surface)
    except (ValueError, ShopError) as fault:
        return FloorDrift(bay, title, older.date, newer.date, why=str(fault))
    what = next((p.what for p in newer.points if p.name == found.worst.after), "")
    return FloorDrift(bay, title, older.date, newer.date, found, what)


def _sound(folder: ShopFolder, survey: Survey) -> Surveyed:
    """The floor of a survey that counts for what it says; its age does not matter here. Raises ValueError."""
    if why := why_not_these_tools(survey, folder.instruments):
        # an instrument that was sent away since has a later date; of the one on that day nothing is known
        raise ValueError(why)
    found = surveyed(survey, folder.instruments, folder.shop.units)
    if found.problems:
        raise ValueError(f"the survey of {survey.date} does not fit together")
    return found


# --- zeros ---------------------------------------------------------------------------------------


def zeros(folder: ShopFolder, lines: Iterable[JobLine], at: datetime) -> tuple[ZeroDrift, ...]:
    """A trace for each instrument that shows its zero, in jobs or surveys; those that drifted first."""
    try:
        tools = folder.instruments
    except ShopError:
        tools = {}
    found: dict[str, list[ZeroPoint]] = {}
    for level, point in (*_in_jobs(lines), *_in_surveys(folder)):
        if point.at <= at:
            found.setdefault(level, []).append(point)
    order: tuple[ZeroState, ...] = ("drifted", "unsure", "steady", "few")
    told = [zero_drift(level, tools.get(level), points) for level, points in found.items()]
    return tuple(sorted(told, key=lambda z: (order.index(z.state), z.instrument)))


def _in_jobs(lines: Iterable[JobLine]) -> Iterator[tuple[str, ZeroPoint]]:
    for line in lines:
        for seen in line.zeros:
            yield seen.level, ZeroPoint(seen.at, seen.zero, line.id, seen.pairs)


def _in_surveys(folder: ShopFolder) -> Iterator[tuple[str, ZeroPoint]]:
    """The mean of a survey's pairs, for each level that read some; a survey says its day and no hour."""
    for survey in _all_surveys(folder):
        pairs: dict[str, list[float]] = {}
        for run in survey.runs:
            if run.turned is not None:
                pairs.setdefault(run.instrument or survey.instrument, []).append(
                    (run.first + run.turned) / 2.0
                )
        at = datetime.combine(survey.date, time.min, UTC)
        for level, seen in pairs.items():
            yield level, ZeroPoint(at, sum(seen) / len(seen), survey.survey or survey.bay, len(seen))


def _all_surveys(folder: ShopFolder) -> Iterator[Survey]:
    yield from folder.surveys.good().values()
    own = (bay.survey for bay in folder.bays.good().values())
    yield from (survey for survey in own if survey is not None and not survey.survey)


def zero_drift(instrument: str, tool: Instrument | None, points: Sequence[ZeroPoint]) -> ZeroDrift:
    """The trace of one instrument, from points in mm/m in any order."""
    points = sorted(points, key=lambda p: (p.at, p.source))
    line, change = _line(points)
    accuracy = _stated(tool)
    state = _state(points, line, change, accuracy)
    title = tool.title if tool else instrument
    return ZeroDrift(instrument, title, UNIT, accuracy, tuple(points), line, change, state)


def _line(points: Sequence[ZeroPoint]) -> tuple[Trend | None, float]:
    """The trend per month, None for fewer than three days; and what changed from the first to the last."""
    if len(_days(points)) < 3:
        return None, points[-1].value - points[0].value
    first = points[0].at
    months = [(p.at - first).total_seconds() / 86_400.0 / MONTH for p in points]
    line = trend(months, [p.value for p in points])
    return line, line.slope * months[-1]


def _state(
    points: Sequence[ZeroPoint], line: Trend | None, change: float, accuracy: float | None
) -> ZeroState:
    if len(_days(points)) < 2:
        return "few"
    if not accuracy or abs(change) <= accuracy:
        return "steady"
    return "drifted" if line is None or line.sure else "unsure"


def _days(points: Sequence[ZeroPoint]) -> set[object]:
    return {p.at.date() for p in points}


def _stated(tool: Instrument | None) -> float | None:
    """Its accuracy where its zero is, as half a width in mm/m; None where it says nothing of it."""
    if tool is None:
        return None
    try:
        return units.accuracy(tool.accuracy, UNIT, 0.0) or None
    except units.UnitsError:
        return None

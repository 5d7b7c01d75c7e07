"""From the readings of a survey to the survey that the bay keeps."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping

from msgspec.structs import replace

from readiness.checks.floor.surveyed import surveyed
from readiness.job import Instrument, LevelRun, Survey, SurveyPoint, System
from readiness.survey.by_laser import has_moved, levels, over_lowest, still_there
from readiness.survey.by_level import read_pairs
from readiness.survey.surveying import Surveying

DIGITS = 3
"""Decimals of a millimetre, or of mm/m, that are kept."""


def finished(
    surveying: Surveying, instruments: Mapping[str, Instrument], note: str = "", system: System = "metric"
) -> Survey:
    """The survey of the readings: staff readings as heights over the lowest place, or level runs as read.

    Repeat readings count with their mean. Raises ValueError, one sentence, for what is not read yet, for a
    laser that moved, and for all that `surveyed` refuses.
    """
    if not surveying.nodes:
        raise ValueError("The survey has no places: add some.")
    survey = (
        _by_level(surveying, instruments)
        if surveying.way == "level"
        else _by_laser(surveying, instruments, system)
    )
    left = " ".join(f"{said[:1].upper()}{said[1:].rstrip('.')}." for said in surveying.left_out)
    survey = replace(survey, note=" ".join(filter(None, (survey.note, left, note))))
    try:
        surveyed(survey, instruments)
    except ValueError as fault:
        raise ValueError(f"The survey cannot serve: {str(fault).rstrip('.')}.") from None
    return survey


def why_not_finished(
    surveying: Surveying, instruments: Mapping[str, Instrument], system: System = "metric"
) -> str:
    """Why the survey cannot be finished yet, as a sentence; empty when it can."""
    try:
        finished(surveying, instruments, system=system)
    except ValueError as fault:
        return str(fault)
    return ""


def _by_laser(surveying: Surveying, instruments: Mapping[str, Instrument], system: System) -> Survey:
    means = levels(surveying, instruments)
    _all_read(n.name for n in surveying.nodes if n.name not in means)
    moved = has_moved(surveying, instruments)
    first = surveying.nodes[0].name
    if moved is not None:
        still, said = still_there(first, moved, system)
        if not still:
            raise ValueError(said)
    unsure = f"Place {first} was not read again at the end: nothing shows whether the laser moved."
    note = unsure if moved is None else ""
    heights = over_lowest(means)
    points = tuple(replace(n, height=heights[n.name]) for n in surveying.nodes)
    return _survey(surveying, points, note=note)


def _by_level(surveying: Surveying, instruments: Mapping[str, Instrument]) -> Survey:
    pairs = read_pairs(surveying, instruments, one_way=True)
    reached = {name for pair in pairs for name in (pair.start, pair.end)}
    _all_read(n.name for n in surveying.nodes if n.name not in reached)
    usual = _most_used(surveying)
    runs = tuple(
        LevelRun(
            start=p.start, end=p.end, first=round(p.first, DIGITS),
            turned=None if p.turned is None else round(p.turned, DIGITS),
            instrument=p.level if p.level != usual else "",
        )
        for p in pairs
    )  # fmt: skip
    unread = len(surveying.runs) - len(pairs)
    were = "was" if unread == 1 else "were"
    note = [f"{unread} of the {len(surveying.runs)} planned level runs {were} not read."] if unread else []
    one_way = [f"{p.start} to {p.end}" for p in pairs if p.turned is None]
    listed = ", ".join(one_way) if len(one_way) <= 6 else f"{len(one_way)} of the {len(pairs)} level runs"
    note += [f"Read one way only: {listed}."] if one_way else []
    return _survey(surveying, surveying.nodes, runs, " ".join(note))


def _survey(
    surveying: Surveying, points: tuple[SurveyPoint, ...], runs: tuple[LevelRun, ...] = (), note: str = ""
) -> Survey:
    last = max((r.at for r in surveying.readings), default=surveying.opened)
    return Survey(
        survey=surveying.id, bay=surveying.bay, date=last.date(), by=surveying.by,
        instrument=_most_used(surveying), straightedge=surveying.straightedge if runs else None, points=points,
        runs=runs, note=note,
    )  # fmt: skip


def _most_used(surveying: Surveying) -> str:
    counts = Counter(r.instrument for r in surveying.readings)
    return counts.most_common(1)[0][0] if counts else ""


def _all_read(missing: Iterable[str]) -> None:
    names = list(missing)
    if not names:
        return
    shown = ", ".join(names[:6]) + (f" and {len(names) - 6} more" if len(names) > 6 else "")
    which, it = (f"Place {shown} is", "it") if len(names) == 1 else (f"Places {shown} are", "them")
    raise ValueError(f"{which} not read yet: read {it}, or leave {it} out.")

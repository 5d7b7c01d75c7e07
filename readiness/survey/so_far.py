"""What is found of a bay's floor so far, as readings come in; nothing here needs the survey to be complete."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from readiness.checks.kind import Part, Question
from readiness.checks.picture import Picture
from readiness.job import Bay, Instrument, Shop
from readiness.survey import by_laser, by_level
from readiness.survey.finish import why_not_finished
from readiness.survey.picture import picture
from readiness.survey.readings import Findings, read_of
from readiness.survey.surveying import Surveying, questions


@dataclass(frozen=True)
class SoFar:
    """What is found so far.

    `parts`: question key -> what stands beside its answer. `problems`: sentences on what does not fit and what
    to read again; `doubts`: what is odd and may be so. `open`: keys of the questions without a reading, in
    walking order.
    """

    done: int
    of: int
    sentence: str
    parts: Mapping[str, Part] = field(default_factory=dict)
    problems: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()
    suspect: frozenset[str] = frozenset()
    """Keys of the questions that a problem or doubt is about."""
    heights: Mapping[str, float] = field(default_factory=dict)
    """Place -> height in mm, as far as they are known."""
    picture: Picture = ()
    details: tuple[str, ...] = ()
    open: tuple[str, ...] = ()
    why_not: str = ""
    """Why the survey cannot be finished yet, as a sentence; empty when it can."""


COMPARED = 3
"""Places at least of which it can be said that their readings fit together."""


def standing(
    surveying: Surveying, bay: Bay, instruments: Mapping[str, Instrument], shop: Shop, current: str = ""
) -> SoFar:
    """What is found so far; `current` is the key of the question that the cursor is on.

    Never raises for what is not read yet or does not fit.
    """
    asked = questions(surveying, shop.units)
    read = read_of(surveying)
    open_ = tuple(q.key for q in asked if q.key not in read)
    way = by_level if surveying.way == "level" else by_laser
    found = way.findings(surveying, instruments, shop.units)
    why_not = why_not_finished(surveying, instruments, shop.units)
    done = len(asked) - len(open_)
    return SoFar(
        done, len(asked), _sentence(asked, open_, found, why_not), found.parts, found.problems, found.doubts,
        found.suspect, found.heights,
        picture(surveying, bay, found.heights, found.suspect, current, shop.units),
        found.details, open_, why_not,
    )  # fmt: skip


def _sentence(asked: list[Question], open_: tuple[str, ...], found: Findings, why_not: str) -> str:
    """The one thing to know now."""
    if found.problems or found.doubts:
        return (*found.problems, *found.doubts)[0]
    if not open_:
        return why_not or "Everything is read and fits together."
    label = next(q.label for q in asked if q.key == open_[0])
    more = "1 reading is" if len(open_) == 1 else f"{len(open_)} readings are"
    if len(open_) == len(asked):
        return f"{more} to be taken, first {label}."
    if len(found.heights) < COMPARED:
        return f"{more} still to be taken, next {label}."
    return f"What is read fits together; {more} still to be taken, next {label}."

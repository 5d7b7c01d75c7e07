"""Why a floor is surveyed, how, and what goes wrong: the two ways, as checks that a row can stand under."""

from __future__ import annotations

import itertools
import math
import re
from collections.abc import Mapping
from datetime import date
from functools import cache

from readiness import units
from readiness.checklist.model import Check
from readiness.job import Instrument, SurveyPoint, System
from readiness.survey.readings import read_of
from readiness.survey.surveying import CHECK, Run, Surveying, Way, questions, where

WHY = (
    "A car and its targets stand on the same floor, but not on the same piece of it. Where the floor falls or dips "
    "under a wheel or a stand, the sensor looks past the target by that much, and nothing on the screen of the scan "
    "tool says so. A floor changes slowly: measured well once, it serves every job in this bay until the survey is "
    "due again."
)
CAUTIONS = (
    "Never look into the laser, nor at its reflection in paint or glass.",
    "Keep cars and people out of the bay while the instruments stand on the floor.",
)
LASER_HOW = (
    "Clear the bay. Set the laser up firmly, near the middle and off the ways that you walk, and let it level itself. "
    "Chalk the numbers of the plan on the floor as you come to them. At each place hold the staff upright on the floor "
    "and read it where the beam falls: a higher floor gives a smaller reading. Read the first place once more at the "
    "end: if it reads the same, the laser has not moved. x counts along the bay and y across it, both from the bay's "
    "corner, 0, 0 on its plan (Ctrl+L)."
)
LASER_MISTAKES = (
    "The laser was knocked or moved on the way: every reading after that is off by the same amount.",
    "The staff leans: the reading comes out too large.",
    "The staff stands on a weld bead, a cable or dirt and not on the floor.",
    "Far places read at the edge of the laser's range, where the beam is wide.",
)
LASER_REMEDY = (
    "Read the place that is named once more. If only the first place differs at the end, the laser has moved: set it "
    "up anew, press F6, and read all places again."
)
LEVEL_HOW = (
    "Chalk the numbers of the plan on the floor; x counts along the bay and y across it, both from the bay's corner, "
    "0, 0 on its plan (Ctrl+L). Put two equal blocks, such as big nuts, on the two places of the row and lay the "
    "straightedge with the level on them: so it rests on these two places alone. Read: plus where the second end is "
    "higher. Then turn straightedge and level together end for end on the same blocks, and type what it shows now: a "
    "level without an error shows the same number with the other sign, plus where the first end is higher. A vial is "
    "read in divisions: type '2.5 div' once, then numbers alone do; mark one end of the level, lay it to the second place and then to the first, and "
    "count plus where the bubble lies towards it. A digital level is read in mm/m, % or degrees."
)
LEVEL_MISTAKES = (
    "The second reading typed with the sign of the slope and not as the level showed it after it was turned.",
    "Only the level turned and not the straightedge with it.",
    "The straightedge bridges a hump between the two marks and rocks: it needs higher blocks.",
    "The marks moved between the two readings: chalk both ends.",
    "The bubble read before it came to rest.",
)
LEVEL_REMEDY = (
    "Read the run that is named again, both ways round. Where a walk round does not close and no run is named, read "
    "the diagonal that is asked for (Ctrl+N): it tells which run is wrong."
)


@cache
def checks() -> dict[Way, Check]:
    """The survey as a check, by way."""
    return {
        "laser": _check(LASER_HOW, LASER_MISTAKES, LASER_REMEDY),
        "level": _check(LEVEL_HOW, LEVEL_MISTAKES, LEVEL_REMEDY),
    }


# --- before it begins ----------------------------------------------------------------------------

PACE = 9
"""Readings whose pace says how long the rest takes."""
A_PLACE = 1.0
"""Minutes to find a place with the tape and to chalk it; common practice, no published source."""
A_READING: dict[Way, float] = {"laser": 0.5, "level": 0.75}
"""Minutes; common practice, no published source."""
TAKE: dict[Way, str] = {
    "laser": "laser, staff, tape and chalk",
    "level": "level, straightedge, two equal blocks, tape and chalk",
}


def way_words(surveying: Surveying, system: System) -> str:
    """How it is surveyed."""
    length = surveying.straightedge
    if surveying.way == "laser" or length is None:
        return "laser and staff"
    return f"level on a straightedge of {units.show(length, 'm', system)}"


def place_words(node: SurveyPoint, system: System) -> str:
    """'7: foot 1 of the reflector, left side, at x 3.4 m, y 1.2 m'."""
    what = f"{node.what}, " if node.what else ""
    return f"{node.name}: {what}at {where(node, system)}"


def two_places(text: str) -> Run:
    """'1 3', '1 to 3' or '1-3' as the names of two places. Raises ValueError."""
    names = [name for name in re.findall(r"\w+", text) if name.casefold() != "to"]
    if len(names) != 2:
        raise ValueError(f"'{text[:40]}' does not name two places; write such as 1 3.")
    return names[0], names[1]


def before_words(surveying: Surveying, tool: Instrument | None, today: date) -> str:
    """How much there is to read, about how long it takes, what to bring, and that the tool is out of date."""
    places, readings = len(surveying.nodes), len(questions(surveying))
    minutes = 5 * math.ceil((A_PLACE * places + A_READING[surveying.way] * readings) / 5)
    late = tool is not None and tool.due < today
    warning = (
        f"{tool.title} is out of date, so what is read with it will not count. " if tool and late else ""
    )
    return (
        f"{warning}{places} places, {readings} readings, about {minutes} min. Bring {TAKE[surveying.way]}. "
        "F1 says how; every reading is kept at once, so leave and go on when you like."
    )


def minutes_left(surveying: Surveying, open_: int) -> int:
    """The rest at the pace of the last readings; pauses do not count. 0 where nothing tells."""
    times = [r.at for r in surveying.readings][-PACE:]
    gaps = sorted((b - a).total_seconds() for a, b in itertools.pairwise(times))
    return math.ceil(open_ * gaps[len(gaps) // 2] / 60) if len(gaps) >= 2 and open_ else 0


def so_far_in_words(surveying: Surveying) -> str:
    """'5 of 11 readings by laser, begun 2026-11-25 by Odo Brack'."""
    asked = {q.key for q in questions(surveying)}
    done = len(asked & read_of(surveying).keys())
    day = surveying.opened.astimezone().date()
    return f"{done} of {len(asked)} readings by {surveying.way}, begun {day} by {surveying.by}"


def tool_for(measures: str, instruments: Mapping[str, Instrument], today: date) -> str:
    """The tool that would be read with; that the shop has none for it, or none in date."""
    fitting = [i for i in instruments.values() if i.measures == measures]
    good = [i.title for i in fitting if i.due >= today]
    if good:
        return good[0]
    return f"{fitting[0].title}, out of date" if fitting else "the shop has none"


def _check(how: str, mistakes: tuple[str, ...], remedy: str) -> Check:
    year = 365.0 * 24 * 60
    return Check(
        id=CHECK, kind=CHECK, title="Survey of the floor", hold=year, why=WHY, how=how, mistakes=mistakes,
        remedy=remedy, cautions=CAUTIONS,
    )  # fmt: skip

"""Why a floor is surveyed, how, and what goes wrong: the two ways, as checks that a row can stand under."""

from __future__ import annotations

from functools import cache

from readiness.checklist.model import Check
from readiness.survey.surveying import CHECK, Way

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
    "end: if it reads the same, the laser has not moved."
)
LASER_MISTAKES = (
    "The laser was knocked or moved on the way: every reading after that is off by the same amount.",
    "The staff leans: the reading comes out too large.",
    "The staff stands on a weld bead, a cable or dirt and not on the floor.",
    "Far places read at the edge of the laser's range, where the beam is wide.",
)
LASER_REMEDY = (
    "Read the place that is named once more. If only the first place differs at the end, the laser has moved: set it "
    "up anew and read all places again."
)
LEVEL_HOW = (
    "Chalk the numbers of the plan on the floor. Lay the straightedge with the level on it from the first place of the "
    "row to the second and read: plus where the second end is higher. Then turn straightedge and level together end "
    "for end on the same two marks, and type what it shows now: a level without an error shows the same number with "
    "the other sign. A vial is read in divisions: '2.5 div'; a digital level in mm/m, % or degrees."
)
LEVEL_MISTAKES = (
    "The second reading typed with the sign of the slope and not as the level showed it after it was turned.",
    "Only the level turned and not the straightedge with it.",
    "The straightedge bridges a hump between the two marks and rocks.",
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


def _check(how: str, mistakes: tuple[str, ...], remedy: str) -> Check:
    year = 365.0 * 24 * 60
    return Check(
        id=CHECK, kind=CHECK, title="Survey of the floor", hold=year, why=WHY, how=how, mistakes=mistakes,
        remedy=remedy, cautions=CAUTIONS,
    )  # fmt: skip

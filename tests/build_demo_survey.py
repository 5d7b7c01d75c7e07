"""Rebuild the survey of the demo shop's bay 4: python -m tests.build_demo_survey

An invented floor is levelled by the program's own records, reading by reading: places proposed for the sheet
used there, a level on a straightedge from place to place, turned end for end. The floor rises a little ahead and has
a hollow round its drain; the level's zero is off, its feet find a rough floor.
"""

from __future__ import annotations

import random
from datetime import UTC, datetime, timedelta
from math import dist, exp
from pathlib import Path

from readiness.job import Reading
from readiness.records import places
from readiness.records.shop import ShopFolder
from readiness.records.surveys import SurveyJournal, finish, uses_of
from readiness.survey.finish import finished
from readiness.survey.net import runs
from readiness.survey.places import propose
from readiness.survey.room import Room
from readiness.survey.surveying import CHECK, Plan, Surveying, run_keys

BAY, SHEET, ID = "bay-4", "pipit-front", "bay-4-by-level"
BEGUN = datetime(2026, 11, 17, 16, 10, tzinfo=UTC)
WHO, LEVEL, STRAIGHTEDGE = "Tamsin Vale", "level-1", 2.0
DRAIN, DEPTH, WIDTH = (7.2, 2.85), 10.0, 0.25
"""Where the hollow is, how deep in mm, how wide in m."""
INVENTED = (
    "# Invented: no such floor exists. See README.md; made anew by python -m tests.build_demo_survey.\n"
)
ZERO = 0.35
"""mm/m that the level shows on level ground."""


def floor(x: float, y: float) -> float:
    """Height in mm."""
    return 1.1 * x - 0.6 * y - DEPTH * exp(-((dist((x, y), DRAIN) / WIDTH) ** 2))


def build(shop: Path) -> Path:
    """Write the journal and the file of the survey of a shop; those already there are replaced."""
    folder = ShopFolder(shop)
    for old in (shop / "surveys").glob(f"{ID}*"):
        old.unlink()
    bay, uses = folder.bays[BAY], uses_of(folder, [SHEET])
    nodes = propose(bay, uses, "level", STRAIGHTEDGE)
    plan = Plan(nodes, runs(nodes, STRAIGHTEDGE, Room(bay)))
    with SurveyJournal.create(
        shop / "surveys", id=ID, bay=BAY, way="level", plan=plan, by=WHO, at=BEGUN, straightedge=STRAIGHTEDGE
    ) as journal:
        for reading in readings(journal.surveying):
            journal.record(reading)
        end = journal.surveying.readings[-1].at + timedelta(minutes=1)
        written = finish(folder, journal, finished(journal.surveying, folder.instruments), by=WHO, at=end)
    written.write_text(INVENTED + written.read_text(encoding="utf-8"), encoding="utf-8", newline="\n")
    for lock in (shop / "surveys").glob("*.lock"):
        lock.unlink()
    return written


def readings(surveying: Surveying) -> list[Reading]:
    """Every run, first and turned, as such a level would show it."""
    chance, at = random.Random(4), BEGUN
    where = {n.name: (n.x, n.y) for n in surveying.nodes}
    found = []
    for run in surveying.runs:
        a, b = (where[n] for n in run)
        slope = (floor(*b) - floor(*a) + chance.gauss(0, 0.3)) / dist(a, b)
        for key, shown in zip(run_keys(run), (slope + ZERO, ZERO - slope), strict=True):
            at += timedelta(seconds=40)
            value = round(shown, 1) + 0.0
            found.append(
                Reading(check=CHECK, question=key, value=value, unit="mm/m", text=f"{value:g}", at=at, by=WHO, instrument=LEVEL)
            )  # fmt: skip
    return found


if __name__ == "__main__":
    print(build(places.demo()))

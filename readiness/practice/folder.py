"""The practice shop as a folder: a copy of the demo shop with what this car needs changed in its files.

Changed are texts that come with the program, so their lines are known; a line that is not found where it has to be is
a mistake of the program, not of a person.
"""

from __future__ import annotations

import re
import shutil
from datetime import datetime
from pathlib import Path

from readiness.practice.car import Car
from readiness.practice.ground import moment
from readiness.records import places
from readiness.records.demo import copy_demo
from readiness.records.shop import ShopFolder, said_in
from readiness.units.typed import plain

LEFT_OUT = ("jobs", "answers", "papers", "pictures")
"""What the demo shop has and practice does not: other people's work."""


def folder_for(exercise: Car, to: Path, now: datetime | None = None) -> ShopFolder:
    """Write the practice shop into the folder `to`, which must be new or empty, as if it were `now`.

    Raises ShopError if there is something in the folder already.
    """
    now = now or datetime.now().astimezone()
    copy_demo(to, now)
    for name in LEFT_OUT:
        shutil.rmtree(to / name, ignore_errors=True)
    (to / "jobs").mkdir()
    _write_instruments(exercise, to / "instruments.yaml", now)
    _write_bay(exercise, to)
    return ShopFolder(to)


def _write_instruments(exercise: Car, path: Path, now: datetime) -> None:
    """Dates of calibration that differ in this car's shop, as far from now as they are from the demo's moment."""
    text = path.read_text(encoding="utf-8")
    usual = ShopFolder(places.demo()).instruments
    for id_, tool in exercise.world.instruments.items():
        if tool.due != usual[id_].due:
            due = now.date() + (tool.due - moment().date())
            text = _changed(text, rf"(- id: {re.escape(id_)}\n(?:    .*\n)*?    due: )\S+", rf"\g<1>{due}")
    path.write_text(text, encoding="utf-8", newline="\n")


def _write_bay(exercise: Car, to: Path) -> None:
    bay = exercise.world.bay
    path = to / "bays" / f"{bay.bay}.yaml"
    text = path.read_text(encoding="utf-8")
    x, y, heading = (plain(v) for v in (bay.standing.x, bay.standing.y, bay.standing.heading))
    text = _changed(text, r"\nstanding: .*\n", f"\nstanding: {{x: {x} m, y: {y} m, heading: {heading} °}}\n")
    if bay.survey is None:
        text = re.sub(r"(?s)\nsurvey:.*", "\n", text)
        for survey in (to / "surveys").glob("*.yaml"):
            if said_in(survey, "bay") == bay.bay:
                survey.unlink()
    path.write_text(text, encoding="utf-8", newline="\n")


def _changed(text: str, pattern: str, by: str) -> str:
    changed, times = re.subn(pattern, by, text, count=1)
    if times != 1:
        raise AssertionError(f"the demo shop's files hold nothing like {pattern}")
    return changed

"""Surveys of the shop's bays: one being taken is a journal, a finished one a YAML file beside it."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from datetime import date, datetime
from pathlib import Path
from typing import cast

import msgspec

from readiness.checklist.mistakes import UNPRINTABLE, near
from readiness.checks.floor.from_survey import why_not_now, why_not_these_tools
from readiness.checks.floor.surveyed import surveyed
from readiness.job import Bay, Survey
from readiness.records.chained import SUFFIX, Chained, JournalError, check_name, disk
from readiness.records.lines import glance
from readiness.records.replay_survey import SurveyReplay
from readiness.records.shop import ShopError, ShopFolder
from readiness.records.survey_file import survey_text, write_new, write_over
from readiness.survey.net import runs
from readiness.survey.places import Use, propose
from readiness.survey.result import result
from readiness.survey.room import Room
from readiness.survey.surveying import Plan, Planned, Surveying, Way

ENDING = ".yaml"
FOR_HEIGHTS = ("height", "length", "distance")
"""What an instrument may measure that reads heights of a floor: laser and staff, a tape, a distance meter."""
LONGEST_BAY = 40
"""Characters of a bay's id that stand in the id of its surveys."""


class SurveyJournal(Chained[SurveyReplay]):
    """The file of one survey being taken. Make one with `begin` or `resume`; close it when done."""

    WHAT = "survey"
    REPLAY = SurveyReplay

    @classmethod
    def create(
        cls, folder: Path, *, id: str, bay: str, way: Way, plan: Plan, by: str, at: datetime,
        straightedge: float | None = None, left_out: Sequence[str] = (),
    ) -> SurveyJournal:  # fmt: skip
        """Begin `<folder>/<id>.jsonl`, on the disk when this returns. Raises JournalError."""
        check_name(id, "A survey's id", "bay-1-2026-03-31")
        body = {"id": id, "bay": bay, "way": way, "by": by, "straightedge": straightedge, **_plan(plan)}
        if left_out:
            body["left_out"] = list(left_out)
        return cls._begin(folder / f"{id}{SUFFIX}", SurveyReplay.FIRST, at, body)

    def _check_loaded(self, replay: SurveyReplay) -> None:
        """A copy under another name is refused: two surveys of one id are none."""
        id = replay.surveying.id
        if id != self.path.stem:
            raise JournalError(
                f"{self.path} holds the survey {id}: name it {id}{SUFFIX} again, or take it away if it is a copy."
            )

    @property
    def surveying(self) -> Surveying:
        """The survey as it stands: withdrawn readings taken out, notes put into the others."""
        return self._replay.surveying

    def plan(self, plan: Plan, by: str, at: datetime, why: str = "") -> Planned:
        """Keep that other places or level runs are to be read from now on; withdrawing it brings the last ones back.

        Readings of places that are left out stay in the file.
        """
        planned = Planned(nodes=plan.nodes, runs=plan.runs, by=by, at=at, why=why)
        return cast(Planned, self._keep("planned", planned))

    def finish(self, by: str, at: datetime) -> None:
        """Keep that the survey is finished; nothing can be entered after that."""
        self._append("finished", at, {"by": by})

    def set_aside(self, by: str, at: datetime, why: str = "") -> None:
        """Keep that the survey was begun anew: this one stays on the disk and is not offered again."""
        self._append("set-aside", at, {"by": by, "why": why})


def is_survey(path: Path) -> bool:
    """Whether a file begins like the journal of a survey."""
    with disk(path, "read"), path.open("rb") as stream:
        first = glance(stream.readline(1_000_000))
    return first is not None and first.get("kind") == SurveyReplay.FIRST


def _plan(plan: Plan) -> dict[str, object]:
    return {"nodes": [msgspec.to_builtins(n) for n in plan.nodes], "runs": [list(r) for r in plan.runs]}


# --- beginning, resuming, finishing --------------------------------------------------------------


def begin(
    folder: ShopFolder, bay: str, way: Way, uses: Sequence[Use], *, by: str, at: datetime,
    straightedge: float | None = None,
) -> SurveyJournal:  # fmt: skip
    """A new survey of a bay with the places proposed for these sheets. Raises ShopError, JournalError."""
    there = folder.bays.named(bay, "The survey")
    nodes = propose(there, uses, way, straightedge)
    plan = Plan(nodes, runs(nodes, straightedge, Room(there)) if straightedge and way == "level" else ())
    at = at if at.tzinfo else at.astimezone()
    return SurveyJournal.create(
        folder.surveys_folder, id=next_id(folder, bay, at.date()), bay=bay, way=way, plan=plan, by=by, at=at,
        straightedge=straightedge,
    )  # fmt: skip


def unfinished(folder: ShopFolder, bay: str) -> Path | None:
    """The journal of the bay's survey begun last, if there is an unfinished one; see `damaged` for those passed over."""
    found: list[tuple[datetime, Path]] = []
    for path in _journals(folder):
        with suppress(JournalError), SurveyJournal.open(path, write=False) as journal:
            surveying = journal.surveying
            if surveying.bay == bay and surveying.finished is None and surveying.set_aside is None:
                found.append((surveying.opened, path))
    return max(found, default=(None, None))[1]


def damaged(folder: ShopFolder, bay: str) -> tuple[str, ...]:
    """What is wrong with journals of this bay's surveys, by their names, that cannot be read; a sentence each."""
    said = []
    for path in _journals(folder):
        if path.name.startswith(f"{_stem(bay)}-"):
            try:
                SurveyJournal.open(path, write=False).close()
            except JournalError as fault:
                said.append(str(fault))
    return tuple(said)


def _journals(folder: ShopFolder) -> list[Path]:
    return sorted(folder.surveys_folder.glob(f"*{SUFFIX}"))


def resume(
    folder: ShopFolder, bay: str, *, by: str = "", at: datetime | None = None, or_read: bool = False
) -> SurveyJournal | None:
    """The newest unfinished survey of a bay, held for writing; see `Chained.open`. Raises JournalError."""
    path = unfinished(folder, bay)
    return None if path is None else SurveyJournal.open(path, by=by, at=at, or_read=or_read)


def begin_anew(
    folder: ShopFolder, journal: SurveyJournal, *, by: str, at: datetime, why: str
) -> SurveyJournal:
    """A survey with the same places and none of the readings, in place of this one, which is set aside and closed.

    Raises JournalError; then this one goes on.
    """
    journal.must_write()
    old, at = journal.surveying, at if at.tzinfo else at.astimezone()
    new = SurveyJournal.create(
        folder.surveys_folder, id=next_id(folder, old.bay, at.date()), bay=old.bay, way=old.way,
        plan=Plan(old.nodes, old.runs), by=by, at=at, straightedge=old.straightedge,
        left_out=old.left_out,
    )  # fmt: skip
    if journal.units is not None:
        new.set_units(journal.units, by, at)
    put_aside(journal, by=by, at=at, why=why)
    return new


def put_aside(journal: SurveyJournal, *, by: str, at: datetime, why: str) -> None:
    """Set a survey aside, and close it; a disk that does not take that line stops nobody who has begun anew."""
    with suppress(JournalError):
        journal.set_aside(by, at, why)
    journal.close()


def finish(folder: ShopFolder, journal: SurveyJournal, survey: Survey, *, by: str, at: datetime) -> Path:
    """Write the survey's file, then close its journal; from then on the bay has this survey.

    If the program ends in between, finishing again writes the file again. Raises JournalError.
    """
    journal.must_write()
    path = journal.path.with_suffix(ENDING)
    write_over(path, survey_text(survey, f"Taken answer by answer; the readings are in {journal.path.name}."))
    journal.finish(by, at)
    folder.forget_surveys()
    return path


def survey_of_points(
    folder: ShopFolder, bay: str, path: Path, *, instrument: str, by: str, day: date
) -> Survey:
    """The survey that a table of points makes, not written yet. Raises ShopError, FileMistakes."""
    from readiness.records.points_csv import Head, read_points

    there = bay_of(folder, bay)
    _check_tool(folder, instrument, day)
    by = UNPRINTABLE.sub(" ", by)
    survey = read_points(path, Head(next_id(folder, bay, day), there, day, by, instrument))
    try:
        surveyed(survey, folder.instruments)
    except ValueError as fault:
        raise ShopError(f"The survey cannot serve: {str(fault).rstrip('.')}.") from None
    return survey


def bay_of(folder: ShopFolder, bay: str) -> Bay:
    """The bay that a person named. Raises ShopError; that there is no shop is a better message than no bay."""
    folder.shop  # noqa: B018
    return folder.bays.named(bay, "'readiness survey'")


def _check_tool(folder: ShopFolder, name: str, day: date) -> None:
    """Raises ShopError for an instrument that heights cannot have been read with on that day."""
    there = {i.id: i for i in folder.instruments.values() if i.measures in FOR_HEIGHTS}
    known = f"those for heights: {', '.join(there) or 'none'}"
    if name not in folder.instruments:
        raise ShopError(f"The shop has no instrument '{name}' ({known}). {near(name, there)}".rstrip())
    tool = folder.instruments[name]
    if name not in there:
        raise ShopError(f"{tool.title} ({name}) measures {tool.measures}, not heights ({known}).")
    if day > tool.due:
        raise ShopError(
            f"{tool.title} ({name}) was due for calibration on {tool.due}, so a survey of {day} cannot count: have it "
            "calibrated and read the floor again; or name the instrument or, with --date, the day that was meant."
        )


def keep_new(folder: ShopFolder, survey: Survey, where_from: str) -> Path:
    """Write a survey that was not taken here answer by answer; nothing is overwritten. Raises JournalError."""
    path = folder.surveys_folder / f"{survey.survey}{ENDING}"
    write_new(path, survey_text(survey, where_from))
    folder.forget_surveys()
    return path


def said_of(
    folder: ShopFolder, bay: str, survey: Survey | None = None, now: datetime | None = None
) -> tuple[str, ...]:
    """What a survey says of the bay's floor, by default its newest, and at `now` why it may not count. Raises ShopError."""
    there = bay_of(folder, bay)
    survey = survey or there.survey
    if survey is None:
        raise ShopError(f"{there.title} has no survey yet; 'readiness survey {bay}' takes one.")
    uses = uses_of(folder, sheets_used(folder, bay))
    said = result(survey, there, uses, folder.instruments, folder.shop.units)
    return (*said, *(f"It does not count. {why}" for why in why_not_counted(folder, survey, now)))


def why_not_counted(folder: ShopFolder, survey: Survey, now: datetime | None = None) -> tuple[str, ...]:
    """Why no job takes its floor from this survey, at `now` if that is given; a sentence each."""
    not_now = why_not_now(survey, now) if now is not None else ""
    return tuple(why for why in (not_now, why_not_these_tools(survey, folder.instruments)) if why)


def uses_of(folder: ShopFolder, names: Sequence[str]) -> tuple[Use, ...]:
    """These sheets with the sides of their checklists. Raises ShopError."""
    sheets = [folder.sheets.named(name, "The survey") for name in names]
    return tuple(Use(s, folder.checklist(s.checklist, f"The sheet {s.sheet}").sides) for s in sheets)


def sheets_used(folder: ShopFolder, bay: str) -> tuple[str, ...]:
    """Ids of the sheets of the jobs done in this bay; all readable ones of the shop if there were none."""
    from readiness.records.index import JobIndex

    good, used = folder.sheets.good(), set()
    with suppress(JournalError):
        used = {line.sheet for line in JobIndex(folder).lines() if line.bay == bay}
    return tuple(name for name in good if name in used) or tuple(good)


def next_id(folder: ShopFolder, bay: str, day: date) -> str:
    """'<bay>-<date>', with a letter for a second survey of that day."""
    first = f"{_stem(bay)}-{day.isoformat()}"
    taken = {*folder.surveys, *(p.stem for p in folder.surveys_folder.glob("*"))}
    letters = (f"{first}{a}{b}" for a in ("", *_LETTERS) for b in _LETTERS)
    return next(id for id in (first, *letters) if id not in taken)


def _stem(bay: str) -> str:
    """How the ids of a bay's surveys begin."""
    return bay[:LONGEST_BAY].rstrip("-_")


_LETTERS = "bcdefghijklmnopqrstuvwxyz"

"""The file of a bay's survey: a survey as the text of its YAML, written whole or not at all."""

from __future__ import annotations

import re
from decimal import Decimal
from pathlib import Path

import msgspec

from readiness.checklist.mistakes import UNPRINTABLE
from readiness.job import LevelRun, Survey, SurveyPoint
from readiness.records.on_disk import JournalError, disk, write_whole


def write_new(path: Path, text: str) -> None:
    """Write a file that is not there yet, whole or not at all. Raises JournalError."""
    with disk(path, "created"):
        path.parent.mkdir(parents=True, exist_ok=True)
        there = path.exists()
    if there:
        raise JournalError(f"{path} is there already, so nothing was written.")
    write_over(path, text)


def write_over(path: Path, text: str) -> None:
    """Whole or not at all: written beside it and on the disk before it takes the name. Raises JournalError."""
    with disk(path, "created"):
        write_whole(path, text.encode())


def survey_text(survey: Survey, where_from: str = "") -> str:
    """A survey as the text of its file; it reads back as the same survey."""
    head = [f"# The floor of {survey.bay}, in bay axes; heights are up-positive."]
    head += [f"# {UNPRINTABLE.sub(' ', where_from)}"] if where_from else []
    lines = [*head, f"survey: {_word(survey.survey)}", f"bay: {_word(survey.bay)}", f"date: {survey.date}"]
    fields = {"by": survey.by, "instrument": survey.instrument, "note": survey.note}
    lines += [f"{key}: {_word(value)}" for key, value in fields.items() if value]
    if survey.straightedge is not None:
        lines.append(f"straightedge: {_number(survey.straightedge)} m")
    if survey.renew_after != _USUAL:
        lines.append(f"renew_after: {survey.renew_after}")
    lines += ["points:", *(f"  - {{{_point(p)}}}" for p in survey.points)]
    if survey.runs:
        lines += ["runs:", *(f"  - {{{_run(r)}}}" for r in survey.runs)]
    return "\n".join(lines) + "\n"


_USUAL = next(f.default for f in msgspec.structs.fields(Survey) if f.name == "renew_after")


def _point(point: SurveyPoint) -> str:
    height = f", height: {_number(point.height)} mm" if point.height is not None else ""
    what = f", what: {_word(point.what)}" if point.what else ""
    return f"name: {_word(point.name)}, x: {_number(point.x)} m, y: {_number(point.y)} m{height}{what}"


def _run(run: LevelRun) -> str:
    turned = f", turned: {_number(run.turned)} mm/m" if run.turned is not None else ""
    tool = f", instrument: {_word(run.instrument)}" if run.instrument else ""
    return f"from: {_word(run.start)}, to: {_word(run.end)}, first: {_number(run.first)} mm/m{turned}{tool}"


def _number(value: float) -> str:
    """All its digits, and no exponent."""
    return format(Decimal(repr(value)).normalize() + 0, "f")


def _word(text: str) -> str:
    """Text as YAML: bare where nobody could take it for something else, otherwise in quotes."""
    plain = UNPRINTABLE.sub(" ", text)
    if _BARE.fullmatch(plain) and plain.casefold() not in _NO_WORDS:
        return plain
    return "'" + plain.replace("'", "''") + "'"


_BARE = re.compile(r"[A-Za-z][A-Za-z0-9_-]+( [A-Za-z0-9_-]+)*")
_NO_WORDS = ("null", "true", "false", "yes", "no", "on", "off")

"""The foreman's command about a job: some of its readings taken again, blind."""

from __future__ import annotations

import sys
from contextlib import suppress
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from readiness.cli_files import SHOP, default_shop
from readiness.faults import Exit, put, say

if TYPE_CHECKING:
    from collections.abc import Callable

    from readiness.records.shop import ShopFolder
    from readiness.records.spot_answers import FileAnswers
    from readiness.records.spot_checks import SpotChecking

COUNT = 5
"""Readings drawn unless another number is wanted."""
MOST_SEED = 2**32 - 1
FILE = click.Path(path_type=Path, dir_okay=False, exists=True)


@click.command("spot-check")
@click.argument("job")
@click.option("--count", type=click.IntRange(1, 100), help=f"Draw so many; {COUNT} otherwise.", metavar="N")
@click.option(
    "--seed", type=click.IntRange(0, MOST_SEED), help="Of the draw; by chance otherwise.", metavar="N"
)
@click.option("--by", default="", help="Who takes the readings again.", metavar="NAME")
@click.option(
    "--list", "only_list", is_flag=True, help="Draw, print what to measure at the car, and ask for nothing."
)
@click.option("--answers", type=FILE, help="Take the answers from this YAML file.", metavar="FILE")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object; prompts go to stderr.")
@SHOP
@click.pass_obj
def spot_check(
    shop: Path | None, job: str, count: int | None, seed: int | None, by: str, only_list: bool, answers: Path | None,
    as_json: bool, named: Path | None,
) -> int:  # fmt: skip
    """Take a sample of a job's readings again, without seeing the first ones. JOB is a journal or a job's number.

    Drawn are rather those near a limit, told by somebody, coarse for their limits, changed after the first entry, or of
    a check that was set aside. Take another instrument than the first. Two numbers agree where |E_n| <= 1, with
    E_n = (now - first) / sqrt(U_now^2 + U_first^2) and U = 2 u (ISO/IEC 17043, ISO 13528). The draw and each answer are
    kept in the job at once, ended or not; the next call goes on with what is still to come. No verdict changes.

    Answers are asked for one after the other, or read from lines piped in, or with --answers from the file that
    --list prints a blank of.

    Exit code: 0 drawn or all agree, 1 something does not agree, was not compared or is still to come, 2 input wrong, 3
    something failed on this machine.
    """
    if only_list and answers:
        raise click.UsageError("--list asks for nothing, so it takes no --answers.")
    given = _given(answers)
    who = _clean(by) or _clean(given.file.by if given is not None else "")
    from readiness.records.journal import Journal

    path, folder = _found(job, named or shop)
    now = datetime.now().astimezone()
    with Journal.open(path, by=who, at=now) as journal:
        from readiness.records.spot_checks import SpotChecking

        checking = SpotChecking(folder, journal, who, lambda: datetime.now().astimezone())
        for warning in journal.warnings:
            say(f"Note: {warning}")
        _begun(checking, count, seed, given)
        if only_list:
            return _listed(checking, as_json)
        return _taken(checking, given, as_json)


def _given(path: Path | None) -> FileAnswers | None:
    if path is None:
        return None
    from readiness.records.spot_answers import FileAnswers

    return FileAnswers(path)


def _clean(name: str) -> str:
    from readiness.checklist.mistakes import UNPRINTABLE

    return UNPRINTABLE.sub(" ", name).strip()


def _found(job: str, shop: Path | None) -> tuple[Path, ShopFolder]:
    """The journal's file and its shop."""
    from readiness.records.journals import journals
    from readiness.records.shop import ShopFolder
    from readiness.records.surveys import is_survey

    found = journals((job,), shop).paths
    if len(found) != 1 or is_survey(found[0]):
        raise click.UsageError(f"JOB is the journal of one job, or a job's number; {job} is neither.")
    folder = ShopFolder(shop) if shop else ShopFolder.find(found[0]) or ShopFolder(default_shop())
    return found[0], folder


def _begun(checking: SpotChecking, count: int | None, seed: int | None, given: FileAnswers | None) -> None:
    """Draw, unless a spot check is open: nobody draws another before that one is finished."""
    from readiness.report.text import wrapped
    from readiness.spotcheck.words import others_line

    there = checking.open
    checking.by = checking.by or (there.check.by if there is not None else "")
    if not checking.by:
        raise click.UsageError("Say who takes the readings again: --by NAME.")
    if there is not None:
        if count is not None or seed is not None:
            left = len(there.to_come)
            raise click.UsageError(
                f"A spot check is not finished: {left} of {len(there.rows)} readings {'is' if left == 1 else 'are'} still to "
                "come. Finish it, without --count and --seed, before another is drawn."
            )
        return
    if given is not None:
        raise click.UsageError("Nothing is drawn yet: --list draws, and prints a file to be filled in.")
    checking.draw(count or COUNT, seed)
    if checking.others:
        say("\n".join(wrapped(f"Note: not to be drawn: {others_line(checking.others)}.")))
    if any(r.by.casefold() == checking.by.casefold() for r in checking.visit.job.readings):
        say(f"Note: {checking.by} took readings of this job; somebody else would see more.")


def _listed(checking: SpotChecking, as_json: bool) -> int:
    from readiness.records.spot_answers import blank_file
    from readiness.report import spot_checks as report

    items = [(checking.asked_of(item), checking.needed(item)) for item in checking.items()]
    if as_json:
        _put_json(checking)
        return Exit.GO
    if not items:  # all that was still to come was voided or taken back meanwhile
        put("".join(f"{line}\n" for line in report.summary(checking.told)))
        return Exit.GO
    job, now = checking.journal.job.job, checking.now
    lines = [*report.head(checking.told, job, now), "", *report.to_come(items, now.date())]
    asked = [one for asked, beside in items for one in (*beside, asked)]
    lines += ["", "For --answers FILE, to be filled in:", ""]
    put("".join(f"{line}\n" for line in lines) + blank_file(job, checking.by, asked))
    return Exit.GO


def _taken(checking: SpotChecking, given: FileAnswers | None, as_json: bool) -> int:
    from readiness.report import spot_checks as report

    write = _to_stderr if as_json else put
    lines = report.head(checking.told, checking.journal.job.job, checking.now)
    write("".join(f"{line}\n" for line in lines))
    try:
        if given is None:
            _asked(checking, write)
        else:
            _from_file(checking, given, write)
    except KeyboardInterrupt:
        _to_stderr("\n")
        say("Stopped. What was answered is kept; the same command goes on with the rest.")
        raise
    if as_json:
        _put_json(checking)
    else:
        put("".join(f"{line}\n" for line in ("", *report.summary(checking.told))))
    return Exit.GO if checking.told.agrees else Exit.NO_GO


def _asked(checking: SpotChecking, write: Callable[[str], None]) -> None:
    """Line by line, until all is answered or nobody answers any more."""
    from readiness.cli_spot_lines import HOW, LineAnswers
    from readiness.records.spot_checks import Stopped
    from readiness.report.text import wrapped

    write("".join(f"{line}\n" for line in wrapped(HOW)))
    system, today = checking.visit.shop.units, checking.now.date()
    asker = LineAnswers(write, system, today, asks_twice=sys.stdin.isatty())
    try:
        for item in checking.items():
            checking.take(item, asker)
    except Stopped:
        say("Stopped. What was answered is kept; the same command goes on with the rest.")


def _from_file(checking: SpotChecking, given: FileAnswers, write: Callable[[str], None]) -> None:
    """All that the file answers is kept together, or nothing of it where it has a mistake."""
    from readiness.records.spot_checks import Skipped
    from readiness.report.spot_checks import outcome_lines

    job = checking.journal.job.job
    given.judge(job, checking.places)
    with checking.journal.together():
        for item in checking.items():
            with suppress(Skipped):
                checking.take(item, given)
        given.stop()
    system = checking.visit.shop.units
    for drawn, again in given.found:
        write("".join(f"{line}\n" for line in ("", again.what, *outcome_lines(drawn, again, system))))


def _to_stderr(text: str) -> None:
    sys.stderr.write(text)
    sys.stderr.flush()


def _put_json(checking: SpotChecking) -> None:
    import json

    from readiness.report.spot_data import as_list

    said = {"job": checking.journal.job.job, "spot_checks": as_list(checking.visit.job)}
    put(json.dumps(said, ensure_ascii=False, indent=2, allow_nan=False) + "\n")

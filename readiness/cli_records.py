"""The commands about what was kept: the jobs of a shop at a glance, whether journals are sound, signing one."""

from __future__ import annotations

import sys
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import click

from readiness.cli_files import SHOP, default_shop
from readiness.faults import Exit, put, say

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from readiness.jobstate import JobState, Word
    from readiness.records.index import JobIndex
    from readiness.records.listing import JobLine
    from readiness.records.selection import Wanted
    from readiness.records.shop import ShopFolder
    from readiness.records.verify import Wanted as WantedOfJournals

ON_A_SCREEN = 50
"""Jobs listed on a terminal unless more are asked for."""


STATES: dict[str, tuple[Word, str]] = {
    "go": ("go", "A side is a go."),
    "waivers": ("go-with-waivers", "A side is a go with waivers."),
    "lapsed": ("lapsed", "A side was a go, and that is over."),
    "no-go": ("no-go", "A side has something to be put right."),
    "unfinished": ("unfinished", "A side has checks not done yet."),
}


def _state_flags(command: Callable[..., int]) -> Callable[..., int]:
    for name, (_, meaning) in reversed(STATES.items()):
        command = click.option(f"--{name}", is_flag=True, help=meaning)(command)
    return command


def _ids_there(context: click.Context, option: click.Parameter, begun: str) -> list[str]:
    """For the shell: the ids of bays or sheets that begin so. A shop that cannot be read completes nothing."""
    from readiness.records.shop import ShopError, ShopFolder

    above = context.parent.params.get("shop") if context.parent else None
    folder = ShopFolder(context.params.get("named") or above or default_shop())
    try:
        there = folder.bays if option.name == "bay" else folder.sheets
        return [name for name in there if name.startswith(begun)]
    except ShopError:
        return []


@click.command()
@click.argument("words", nargs=-1, metavar="[WORD]...")
@click.option("--open", "open_", is_flag=True, help="Jobs that were not ended.")
@click.option("--ended", is_flag=True, help="Jobs that were ended.")
@_state_flags
@click.option("--bay", default="", help="In this bay.", metavar="BAY", shell_complete=_ids_there)
@click.option("--sheet", default="", help="With this sheet.", metavar="SHEET", shell_complete=_ids_there)
@click.option(
    "--by", default="", help="This person entered something; part of the name will do.", metavar="PERSON"
)
@click.option("--since", help="Worked on that day or later: 2026-03-31, today, yesterday.", metavar="DATE")
@click.option("--until", help="Worked on that day or earlier.", metavar="DATE")
@click.option(
    "--limit",
    type=click.IntRange(min=1),
    help=f"At most so many; on a terminal {ON_A_SCREEN} otherwise.",
    metavar="N",
)
@click.option("--json", "as_json", is_flag=True, help="Print one JSON array, one object a job.")
@SHOP
@click.pass_obj
def jobs(
    shop: Path | None, /, words: tuple[str, ...], open_: bool, ended: bool, bay: str, sheet: str, by: str,
    since: str | None, until: str | None, limit: int | None, as_json: bool, named: Path | None, **states: bool,
) -> int:  # fmt: skip
    """List the jobs of the shop, the latest touched first. WORDs are parts of number or plate.

    Filters narrow the list together; of --go, --waivers, --lapsed, --no-go and --unfinished any one will do. A job
    of both sides is listed where one of them is so. An ended job counts as it was when its result was read.

    Exit code: 0 listed, 2 input wrong, 3 something failed on this machine.
    """
    from readiness.records.index import JobIndex
    from readiness.records.selection import Wanted
    from readiness.records.shop import ShopFolder

    if open_ and ended:
        raise click.UsageError("--open and --ended leave no job: give one of them.")
    wanted = Wanted(
        ended=ended if open_ or ended else None, bay=bay, sheet=sheet, by=by.strip(), text=words,
        since=_date(since, "--since"), until=_date(until, "--until"),
        words=frozenset(word for name, (word, _) in STATES.items() if states[name.replace("-", "_")]),
    )  # fmt: skip
    folder = ShopFolder(named or shop or default_shop())
    folder.shop  # noqa: B018  # that there is no shop is a better message than no jobs
    most = limit or (ON_A_SCREEN if sys.stdout.isatty() and not as_json else None)
    now = datetime.now().astimezone()
    found, told, more = _found(JobIndex(folder), folder, wanted, most, now)
    if as_json:
        import json

        from readiness.report.jobs import as_list

        put(json.dumps(as_list(found, told), ensure_ascii=False, indent=2, allow_nan=False) + "\n")
    else:
        from readiness.report.jobs import table

        put("".join(f"{line}\n" for line in table(found, told, now, _width())))
    if more:
        say(
            f"{more} more {'job is' if more == 1 else 'jobs are'} not listed; --limit {len(found) + more} lists all."
        )
    return Exit.GO


def _found(
    index: JobIndex, folder: ShopFolder, wanted: Wanted, most: int | None, now: datetime
) -> tuple[list[JobLine], Mapping[str, JobState], int]:
    """The jobs to list, how each stands, and how many more there are."""
    from readiness.progress import Progress

    try:
        with Progress() as progress:
            lines = index.lines(heard=progress.heard)
            _known(lines, folder, wanted)
            found = [line for line in lines if wanted.line(line)]
            if wanted.asks_for_state:
                told = index.states(found, now, progress.heard)
                found = [line for line in found if wanted.state(told[line.id])]
                shown = found[:most]
            else:
                shown = found[:most]
                told = index.states(shown, now, progress.heard)
    except KeyboardInterrupt:
        say(
            "Ended before all jobs were looked at; what was found is kept, and the next look goes on from there."
        )
        raise
    _say_what_is_missing(lines, found, folder)
    return shown, told, len(found) - len(shown)


def _known(lines: Sequence[JobLine], folder: ShopFolder, wanted: Wanted) -> None:
    """Raises UsageError for a bay, sheet or person that no job has; one that merely has no job yet is no mistake."""
    from readiness.records.selection import unknown

    bays, sheets = {line.bay for line in lines}, {line.sheet for line in lines}
    people = {name for line in lines for name in line.people}
    if wanted.bay and wanted.bay not in bays | set(folder.bays):
        raise click.UsageError(unknown("the bay", wanted.bay, bays | set(folder.bays)))
    if wanted.sheet and wanted.sheet not in sheets | set(folder.sheets):
        raise click.UsageError(unknown("the sheet", wanted.sheet, sheets | set(folder.sheets)))
    everybody = people | set(folder.shop.people)
    if wanted.by and not any(wanted.by.casefold() in name.casefold() for name in everybody):
        raise click.UsageError(unknown("an entry by", wanted.by, everybody))


def _say_what_is_missing(lines: Sequence[JobLine], found: Sequence[JobLine], folder: ShopFolder) -> None:
    bad = [line for line in lines if line.problem]
    if not lines:
        say(f"There is no job in {folder.jobs_folder} yet.")
    elif not found:
        say("No job is of that kind.")
    if bad:
        which = bad[0].path.name if len(bad) == 1 else f"{len(bad)} journals"
        say(f"Note: {which} cannot be read; 'readiness verify' says what is wrong.")


def _date(text: str | None, option: str) -> date | None:
    today = datetime.now().astimezone().date()
    if text is None:
        return None
    said = text.strip().lower()
    if said in ("today", "yesterday"):
        return today - timedelta(days=said == "yesterday")
    try:
        return date.fromisoformat(said)
    except ValueError:
        raise click.UsageError(
            f"{option} takes a date such as 2026-03-31, today or yesterday, not '{text}'."
        ) from None


def _width() -> int | None:
    """Cells of the terminal; None where no terminal shows it, so that nothing is cut."""
    import shutil

    return shutil.get_terminal_size().columns if sys.stdout.isatty() else None


@click.command()
@click.argument("paths", nargs=-1, required=True, metavar="PATH...")
@click.option(
    "--head", help="The hash on a printed report, or how it begins; blanks do not count.", metavar="HASH"
)
@click.option(
    "--signed", is_flag=True, help="Count a journal only with a good signature under all its lines."
)
@click.option("--no-files", is_flag=True, help="Do not read the attached files.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
@SHOP
@click.pass_obj
def verify(
    shop: Path | None, paths: tuple[str, ...], head: str | None, signed: bool, no_files: bool, as_json: bool,
    named: Path | None,
) -> int:  # fmt: skip
    """Check that journals are as they were written, one or ten thousand of them.

    PATH is a journal, a folder, a shop, or a number of a job in the shop. Checked are the hashes that chain each
    line to the one before, numbers, times and contents of the lines, signatures, and the files attached to a job.

    Exit code: 0 all sound, 1 something was changed, cut off or does not match, 2 input wrong, 3 something failed on
    this machine.
    """
    from readiness.progress import Progress
    from readiness.records.journals import journals
    from readiness.records.verify import Wanted

    digits = _digits(head)
    with Progress() as progress:
        found = journals(paths, named or shop, progress.heard)
    if digits and len(found.paths) != 1:
        raise click.UsageError(f"--head goes with one journal, and these are {len(found.paths):,}.")
    wanted = Wanted(named or shop, files=not no_files, signed=signed)
    return _verify(found.paths, found.unread, wanted, digits, as_json)


def _verify(
    paths: Sequence[Path], unread: Sequence[str], wanted: WantedOfJournals, digits: str, as_json: bool
) -> int:
    from readiness.progress import Progress
    from readiness.records.verify import Tally, against_paper, verified
    from readiness.report import verified as report

    tally, kept, told = Tally(len(unread)), [], list(unread)
    try:
        with Progress() as progress:
            for n, found in enumerate(verified(paths, wanted), 1):
                held = against_paper(found, digits) if digits else found
                tally.add(held)
                told += report.one(held) if len(paths) == 1 else report.of_many(held)
                kept += [held] if as_json else []
                progress.heard(f"{n:,} of {len(paths):,} journals verified", n / len(paths))
    except KeyboardInterrupt:
        put("".join(f"{line}\n" for line in told))
        say(f"Ended after {tally.journals:,} of {len(paths):,} journals; nothing is said of the others.")
        raise
    if as_json:
        import json

        said = report.all_as_dict(kept, tally, unread)
        put(json.dumps(said, ensure_ascii=False, indent=2, allow_nan=False) + "\n")
    else:
        told += report.summary(tally) if len(paths) != 1 or unread else []
        put("".join(f"{line}\n" for line in told))
    return Exit.NO_GO if tally.not_sound else Exit.GO if tally.sound else Exit.MACHINE_TROUBLE


def _digits(head: str | None) -> str:
    from readiness.records.paper import as_digits

    try:
        return "" if head is None else as_digits(head)
    except ValueError as fault:
        raise click.UsageError(f"--head: {fault}") from None


@click.command()
@click.argument("job")
@click.option("--by", required=True, help="Who signs.", metavar="NAME")
@SHOP
@click.pass_obj
def sign(shop: Path | None, job: str, by: str, named: Path | None) -> int:
    """Sign a job's journal with the shop's SSH key, as the shop's file says. JOB is a journal or a job's number.

    The signature becomes one more line of the journal; 'readiness verify' checks it.
    """
    from readiness.checklist.mistakes import UNPRINTABLE
    from readiness.records import signing
    from readiness.records.journal import Journal
    from readiness.records.journals import journals
    from readiness.records.shop import ShopFolder
    from readiness.report.text import clean

    who = UNPRINTABLE.sub(" ", by).strip()
    if not who:
        raise click.UsageError("--by takes the name of the person who signs.")
    found = journals((job,), named or shop).paths
    if len(found) != 1:
        raise click.UsageError(f"JOB is one journal, or a job's number; {job} has {len(found):,}.")
    folder = ShopFolder(named) if named else ShopFolder.find(found[0]) or ShopFolder(shop or default_shop())
    with Journal.open(found[0], by=who) as journal:
        signed = signing.sign(journal, folder.path, folder.shop, who, datetime.now().astimezone())
        for warning in journal.warnings:
            say(f"Note: {warning}")
    put(clean(f"Signed: {journal.job.job}, lines 1 to {signed.number - 1}, by {signed.by}.") + "\n")
    return Exit.GO

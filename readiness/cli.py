"""The commands. Each opens what it names, hands it to the engine and shows the answer; see `faults.Exit`."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from readiness import __version__
from readiness.cli_files import EXISTING, SHOP, default_shop, lint, new_shop, schema, write_all
from readiness.cli_foreman import spot_check
from readiness.cli_papers import report, worksheet
from readiness.cli_practice import practise
from readiness.cli_records import jobs, sign, verify
from readiness.cli_sheet import sheet as about_sheets
from readiness.cli_shop import shop_page
from readiness.cli_times import day_of, moment, moment_for
from readiness.faults import Exit, guarded, need_terminal, put, say

if TYPE_CHECKING:
    from collections.abc import Callable

    from readiness.bayfit.found import BayFit, Headings, Mode
    from readiness.job import Bay
    from readiness.records.sheets import Opened


def main() -> None:
    """Run the command line; never lets a traceback through."""
    _tame_streams()
    sys.exit(guarded(lambda: commands.main(prog_name="readiness", standalone_mode=False)))


@click.group(invoke_without_command=True, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="readiness", message="%(prog)s %(version)s")
@click.option("--shop", type=EXISTING, envvar="READINESS_SHOP", help="Folder of the shop.", metavar="DIR")
@click.option("--job", help="Open this job at once.", metavar="ID")
@click.pass_context
def commands(context: click.Context, shop: Path | None, job: str | None) -> int:
    """Is the car, and is the bay, ready for the calibration? Without a command: the wizard.

    Exit code: 0 go, 1 no-go or go with waivers, 2 input wrong, 3 something failed on this machine.
    """
    context.obj = shop
    if context.invoked_subcommand is not None:
        return Exit.GO
    return _wizard(shop or default_shop, job)


for about_files in (
    new_shop,
    lint,
    schema,
    jobs,
    verify,
    sign,
    report,
    worksheet,
    practise,
    spot_check,
    about_sheets,
    shop_page,
):
    commands.add_command(about_files)


@commands.command()
@click.option("--keep", type=EXISTING, help="Copy the shop to this folder and keep it.", metavar="DIR")
def demo(keep: Path | None) -> int:
    """The wizard on a copy of the invented demo shop."""
    from contextlib import ExitStack

    with ExitStack() as until_the_end:

        def copy() -> Path:
            from readiness.records.demo import demo_copy

            return until_the_end.enter_context(demo_copy(keep)).path

        return _wizard(copy, None)


@commands.command()
@click.argument("job")
@click.option("--at", help="Judge as of this time: '2026-03-31 14:05', or 14:05 today.", metavar="TIME")
@click.option("--side", help="Judge this side only: left, right or single.", metavar="SIDE")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
@SHOP
@click.pass_obj
def check(
    shop: Path | None, job: str, at: str | None, side: str | None, as_json: bool, named: Path | None
) -> int:
    """Judge a job: go or no-go. JOB is a journal, a YAML file of answers, or a job's number.

    With a check that a person set aside it is at best a go with waivers.

    Exit code: 0 go, 1 no-go or go with waivers, 2 input wrong, 3 something failed on this machine.
    """
    from readiness.records.history import stories
    from readiness.records.opening import find_job
    from readiness.verdict import judge

    side = side.strip().lower() if side else None
    found = find_job(job, named or shop)
    visit, now = found.visit, moment_for(found.visit, at)
    entries = found.journal.entries if found.journal else ()
    for warning in found.warnings:
        say(f"Note: {warning}")
    if side is not None and side not in visit.job.sides:
        known = ", ".join(visit.job.sides)
        raise click.ClickException(f"The job {visit.job.job} has no side '{side}'; it has {known}.")
    verdict, told = judge(visit, now, (side,) if side else ()), stories(entries, now)
    if as_json:
        import json

        from readiness.report.data import as_dict

        put(json.dumps(as_dict(verdict, visit, told), ensure_ascii=False, indent=2, allow_nan=False) + "\n")
    else:
        from readiness.report.plain import plain

        put(plain(verdict, visit, told))
    return Exit.GO if verdict.go else Exit.NO_GO


@commands.command()
@click.argument("bay")
@click.option("--show", is_flag=True, help="Print what the bay's newest survey says of its floor.")
@click.option("--points", type=EXISTING, help="Make a survey of a table of points (CSV).", metavar="FILE")
@click.option(
    "--instrument", default="", help="With --points: what the heights were read with.", metavar="ID"
)
@click.option("--by", default="", help="With --points: who read them.", metavar="NAME")
@click.option("--date", "day", help="With --points: when, if not today: 2026-03-31.", metavar="DATE")
@SHOP
@click.pass_obj
def survey(
    shop: Path | None, bay: str, show: bool, points: Path | None, instrument: str, by: str, day: str | None,
    named: Path | None,
) -> int:  # fmt: skip
    """Survey a bay's floor, read a survey in, or show it. BAY is a bay's id.

    Without an option: full screen, reading by reading; left and taken up again at any time.

    A table of points names its columns in the first row: name, x, y, height and, if wanted, what.
    x and y are in m, heights in mm, unless the heading (x mm) or a cell (3 ft) says another unit. They count
    from the bay's corner as in its file; a higher floor has the greater height. Rows that begin with # are notes.
    """
    from readiness.records.shop import ShopFolder

    if points is None and (instrument or by or day):
        raise click.UsageError("--instrument, --by and --date go with --points FILE.")
    if points is None and not show:
        need_terminal("'readiness survey BAY --show' prints the survey there is.")
        from readiness.wizard.app import run_survey

        code = int(run_survey(named or shop or default_shop(), bay) or 0)
        return Exit.MACHINE_TROUBLE if code == Exit.NO_GO else code
    from readiness.records.surveys import keep_new, said_of, survey_of_points

    folder = ShopFolder(named or shop or default_shop())
    if points is None:
        put("".join(f"{line}\n" for line in said_of(folder, bay, now=moment(None))))
        return Exit.GO
    if not (instrument and by.strip()):
        raise click.UsageError("--points FILE needs --instrument ID and --by NAME.")
    made = survey_of_points(folder, bay, points, instrument=instrument, by=by.strip(), day=day_of(day))
    said = said_of(folder, bay, made)
    path = keep_new(folder, made, f"Made of {points.name}.")
    put("".join(f"{line}\n" for line in (*said, f"Written: {path}")))
    return Exit.GO


@commands.command()
@click.argument("sheet")
@SHOP
@click.pass_obj
def layout(shop: Path | None, sheet: str, named: Path | None) -> int:
    """Print the tape distances to a sheet's targets. SHEET is its file, or its id in the shop."""
    from functools import partial

    from readiness import units
    from readiness.checks.aim.layout import rows
    from readiness.records.sheets import open_sheet
    from readiness.report.layout import table

    found, sides, system = open_sheet(sheet, named or shop)
    put(table(found, rows(found, sides), partial(units.show, system=system)))
    return Exit.GO


@commands.command()
@click.argument("sheet")
@click.option(
    "--bay", "wanted", multiple=True, help="Look at this bay only; may be given again.", metavar="BAY"
)
@click.option("--side", type=click.Choice(["left", "right", "both"]), help="For this side only, or both.")
@click.option(
    "--heading",
    type=click.Choice(["axis", "any"]),
    default="axis",
    show_default=True,
    help="Along the bay's own line, either way round; or any way at all.",
)
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
@click.option("--svg", type=EXISTING, help="Write a plan of each bay to this folder.", metavar="DIR")
@SHOP
@click.pass_obj
def bays(
    shop: Path | None,
    sheet: str,
    wanted: tuple[str, ...],
    side: str | None,
    heading: Headings,
    as_json: bool,
    svg: Path | None,
    named: Path | None,
) -> int:
    """Which bay can take the car: where to park, which way round. SHEET is its file, or its id in the shop.

    Exit code: 0 a bay takes all sides asked for, 1 none does, 2 input wrong, 3 something failed on this machine.
    """
    from readiness.bayfit.rank import takes_all
    from readiness.records.sheets import bays_named, opened
    from readiness.report import bays as report

    found = opened(sheet, named or shop)
    there, left_out = bays_named(found.folder, wanted)
    modes, system = _modes(found, side), found.folder.shop.units
    for name in left_out:
        say(f"Note: {name} is left out, as its file has mistakes; 'readiness lint' tells them.")
    fits = _search(found, there, modes, heading)
    if as_json:
        import json

        said = report.as_dict(found.sheet, there, fits, system)
        put(json.dumps(said, ensure_ascii=False, indent=2, allow_nan=False) + "\n")
    else:
        put(report.page(found.sheet, there, fits, system))
    if svg is not None:
        write_all(svg, report.plans(found.sheet, fits, system))
    return Exit.GO if any(takes_all(b) for b in fits) else Exit.NO_GO


def _modes(found: Opened, side: str | None) -> tuple[Mode, ...]:
    """What to ask of each bay; everything there is unless one side is named."""
    from readiness.bayfit import modes_of
    from readiness.bayfit.rank import modes_for

    sides = found.checklist.sides
    if side in (None, "both"):
        return modes_of(found.checklist)
    if side not in sides:
        title = found.checklist.title
        raise click.UsageError(f"--side {side} does not apply: '{title}' is one calibration without sides.")
    return modes_for((side,))


def _search(found: Opened, bays: dict[str, Bay], modes: tuple[Mode, ...], headings: Headings) -> list[BayFit]:
    """What was found for each bay, one after the other; Ctrl-C ends it."""
    from readiness.bayfit import bay_fit
    from readiness.progress import Progress

    fits = []
    try:
        with Progress() as progress:
            for n, bay in enumerate(bays.values(), 1):
                progress.before = f"{n} of {len(bays)}"
                fits.append(
                    bay_fit(found.checklist, found.sheet, bay, modes, headings=headings, heard=progress.heard)
                )
    except KeyboardInterrupt:
        say("The search was ended, so nothing is said of any bay.")
        raise
    return fits


def _wizard(shop: Path | Callable[[], Path], job: str | None) -> int:
    """The wizard; a shop given as a function is made after the first paint."""
    need_terminal()
    from readiness.wizard.app import run_wizard

    code = int(run_wizard(shop, job) or 0)
    return Exit.MACHINE_TROUBLE if code == Exit.NO_GO else code  # an app that failed says 1 as well


def _tame_streams() -> None:
    """No character may end the program; what is piped on is UTF-8 on every system."""
    for stream in (sys.stdout, sys.stderr):
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(errors="replace", encoding=None if stream.isatty() else "utf-8")

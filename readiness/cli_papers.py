"""The commands that make papers: the report of a job, the worksheet for the clipboard."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from readiness.cli_files import EXISTING, SHOP
from readiness.cli_times import moment, moment_for
from readiness.faults import Exit, OutputGone, put, say

if TYPE_CHECKING:
    from collections.abc import Callable

    from readiness.records.account import Account
    from readiness.records.dossier import Dossier
    from readiness.records.sheets import Opened

FORMATS = {
    "text": "Plain lines, 78 columns wide.",
    "json": "One JSON object.",
    "csv": "A table for a spreadsheet, one row for each number or state.",
}


def _formats(command: Callable[..., int]) -> Callable[..., int]:
    for name, meaning in reversed(FORMATS.items()):
        command = click.option(f"--{name}", f"as_{name}", is_flag=True, help=meaning)(command)
    return command


@click.command()
@click.argument("job")
@click.option(
    "-o",
    "--output",
    type=EXISTING,
    metavar="FILE",
    help="Write to this file, or with - to standard output. Without: HTML to JOB.html here, the others to standard output.",
)
@click.option("--at", help="As it was at this time: '2026-03-31 14:05', or 14:05 today.", metavar="TIME")
@click.option("--side", help="Of this side only: left, right or single.", metavar="SIDE")
@_formats
@SHOP
@click.pass_obj
def report(
    shop: Path | None,
    /,
    job: str,
    output: Path | None,
    at: str | None,
    side: str | None,
    named: Path | None,
    **formats: bool,
) -> int:
    """Write the report of a job. JOB is a journal, a YAML file of answers, or a job's number.

    HTML in one file, unless another format is asked for: a page for the customer, a page for the trade, an annex. It asks
    for nothing from outside, and prints on A4 and Letter. Open it in a browser to look at it or to print it.

    A side with a result is judged as it stood when the result was read; a side without one as it stood at the last entry
    about the car, or at --at. An older report of the same name is replaced; nothing else is ever written over.

    Exit code: 0 written, whatever it says, 2 input wrong, 3 something failed on this machine.
    """
    from readiness.records.account import account
    from readiness.records.dossier import dossier

    wanted = [name for name in FORMATS if formats[f"as_{name}"]]
    if len(wanted) > 1:
        raise click.UsageError(f"One format at a time: {' or '.join(f'--{name}' for name in wanted)}.")
    then = moment(at) if at else None
    found = dossier(job, named or shop, then)
    now = moment_for(found.visit, None)
    for warning in found.warnings:
        say(f"Note: {warning}")
    told = account(found.visit, now, _sides(found, side), then)
    form = wanted[0] if wanted else "html"
    _deliver(_made(form, told, found), form, output, told.visit.job.job)
    return Exit.GO


@click.command()
@click.argument("sheet")
@click.option("--bay", help="For this bay: what stands in it, its floor survey, its plan.", metavar="BAY")
@click.option("--side", type=click.Choice(["left", "right", "both"]), help="For this side only, or both.")
@click.option(
    "-o",
    "--output",
    type=EXISTING,
    metavar="FILE",
    help="Write to this file, or with - to standard output. Without: HTML to worksheet-SHEET.html here, text to standard output.",
)
@click.option("--text", "as_text", is_flag=True, help=FORMATS["text"])
@SHOP
@click.pass_obj
def worksheet(
    shop: Path | None, /, sheet: str, bay: str | None, side: str | None, output: Path | None, as_text: bool,
    named: Path | None,
) -> int:  # fmt: skip
    """Write a sheet's questions to print and fill in by hand. SHEET is its file, or its id in the shop.

    They come in the order in which the wizard asks them, so that they are typed in from top to bottom, with the limits,
    what counts with the shop's instruments, and what sheet and bay know already. HTML for a browser's printer, on one or
    two sheets of A4 or Letter.

    Exit code: 0 written, 2 input wrong, 3 something failed on this machine.
    """
    from readiness.records.sheets import bays_named, opened
    from readiness.records.worksheet import worksheet as made

    found = opened(sheet, named or shop)
    there = bays_named(found.folder, (bay,))[0][bay] if bay is not None else None
    paper = made(found, there, _sides_of(found, side), moment(None))
    if as_text:
        from readiness.report.worksheet_text import worksheet_text

        text = worksheet_text(paper)
    else:
        from readiness.report.worksheet import worksheet_page

        text = worksheet_page(paper)
    _deliver(text, "text" if as_text else "html", output, f"worksheet-{found.sheet.sheet}")
    return Exit.GO


def _sides_of(found: Opened, side: str | None) -> tuple[str, ...]:
    """The side named, or all that the calibration has."""
    sides = found.checklist.sides
    if side is None or (side == "both" and len(sides) > 1):
        return sides
    if side not in sides:
        has = "without sides" if "single" in sides else f"of the {' and '.join(sides)} side only"
        raise click.UsageError(
            f"--side {side} does not apply: '{found.checklist.title}' is one calibration {has}."
        )
    return (side,)


def _sides(found: Dossier, side: str | None) -> tuple[str, ...]:
    """The side named, or none for all."""
    if side is None:
        return ()
    job, name = found.visit.job, side.strip().lower()
    if name not in job.sides:
        raise click.ClickException(f"The job {job.job} has no side '{name}'; it has {', '.join(job.sides)}.")
    return (name,)


def _made(form: str, told: Account, found: Dossier) -> str:
    if form == "html":
        from readiness.report.html import html_page

        return html_page(told, found)
    if form == "csv":
        from readiness.report.csv import table

        return table(told, found)
    if form == "json":
        import json

        from readiness.report.record import record

        return json.dumps(record(told, found), ensure_ascii=False, indent=2, allow_nan=False) + "\n"
    from readiness.report.report_text import report_text

    return report_text(told, found)


def _deliver(text: str, form: str, output: Path | None, name: str) -> None:
    """To the file named or to standard output. A spreadsheet knows UTF-8 in a file by its byte order mark only."""
    from readiness.report.files import Refused, file_name, write_report

    if str(output) == "-" or (output is None and form != "html"):
        put(text.replace("\r\n", "\n"))
        return
    path = output or Path(file_name(name))
    try:
        where = write_report(path, text.encode("utf-8-sig" if form == "csv" else "utf-8"))
    except Refused as fault:
        raise click.ClickException(str(fault)) from None
    except OSError as fault:
        raise OutputGone(f"{path}: {(fault.strerror or type(fault).__name__).lower()}") from fault
    put(f"Written: {where}\n")

"""The command about the whole shop: what is due, what was in the way, what drifts."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from readiness.cli_files import SHOP, default_shop
from readiness.cli_times import moment
from readiness.faults import Exit, OutputGone, put, say

if TYPE_CHECKING:
    from datetime import datetime

    from readiness.records.overview.model import ShopPage


@click.command("shop")
@click.option(
    "--html",
    "html",
    type=click.Path(path_type=Path),
    help="Write the page to this file instead.",
    metavar="FILE",
)
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
@click.option(
    "--weeks", type=click.IntRange(1, 520), default=8, show_default=True, metavar="N",
    help="Look at the jobs of so many weeks.",
)  # fmt: skip
@click.option(
    "--within", type=click.IntRange(0, 3650), default=30, show_default=True, metavar="DAYS",
    help="What is due in so many days counts as due soon.",
)  # fmt: skip
@click.option("--at", help="As of this time: '2026-03-31 14:05', or 14:05 today.", metavar="TIME")
@SHOP
@click.pass_obj
def shop_page(
    shop: Path | None, html: Path | None, as_json: bool, weeks: int, within: int, at: str | None, named: Path | None
) -> int:  # fmt: skip
    """The whole shop on one page: what is due, which jobs need somebody, what was in the way, what drifts.

    Exit code: 0 nothing is due, 1 something needs somebody, 2 input wrong, 3 something failed on this machine.
    """
    page = _gathered(named or shop or default_shop(), moment(at), weeks, within)
    if html is not None:
        _write(html, page)
    if as_json:
        import json

        from readiness.report.shop_data import as_dict

        put(json.dumps(as_dict(page), ensure_ascii=False, indent=2, allow_nan=False) + "\n")
    elif html is None:
        from readiness.report.shop_text import page_text

        put(page_text(page, _width()))
    return Exit.NO_GO if page.needs else Exit.GO


def _gathered(folder: Path, at: datetime, weeks: int, within: int) -> ShopPage:
    from readiness.progress import Progress
    from readiness.records.overview.gather import shop_page as gather
    from readiness.records.shop import ShopFolder

    try:
        with Progress() as progress:
            return gather(ShopFolder(folder), at, weeks=weeks, within=within, heard=progress.heard)
    except KeyboardInterrupt:
        say(
            "Ended before all jobs were looked at; what was found is kept, and the next look goes on from there."
        )
        raise


def _write(path: Path, page: ShopPage) -> None:
    from readiness.report.files import Refused, write_report
    from readiness.report.html_shop import html_page

    try:
        where = write_report(path, html_page(page).encode("utf-8"))
    except Refused as fault:
        raise click.ClickException(str(fault)) from None
    except OSError as fault:
        raise OutputGone(f"{path}: {(fault.strerror or type(fault).__name__).lower()}") from fault
    say(f"Written: {where}")


def _width() -> int | None:
    """Columns of the terminal; None where no terminal shows it."""
    import shutil

    return shutil.get_terminal_size().columns if sys.stdout.isatty() else None

"""The commands about sheets: write one with the procedure beside you, tell two apart."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import click

from readiness.cli_files import SHOP, default_shop
from readiness.faults import Exit, need_terminal, put, say


@click.group()
def sheet() -> None:
    """Write a sheet with the procedure beside you, or tell two sheets apart."""


@sheet.command("new")
@click.option(
    "--from",
    "source",
    default="",
    help="Begin with this sheet: its file, or its id in the shop.",
    metavar="SHEET",
)
@click.option("--id", "new_id", default="", help="Id of the new sheet.", metavar="ID")
@click.option(
    "--write",
    "at_once",
    is_flag=True,
    help="With --from and --id: write the copy at once, without the screen.",
)
@SHOP
@click.pass_obj
def new(shop: Path | None, source: str, new_id: str, at_once: bool, named: Path | None) -> int:
    """Write a sheet: asked for what the maker's procedure says, in its order, while the plan is drawn.

    What was typed is kept in the shop's folder after each answer. Without a terminal, --from SHEET --id ID
    writes a commented copy to be changed by hand.
    """
    where = named or shop or default_shop()
    if at_once and not (source and new_id):
        raise click.UsageError("--write needs --from SHEET and --id ID.")
    if at_once or (source and new_id and not _has_terminal()):
        return _copied(where, source, new_id)
    need_terminal("'readiness sheet new --from SHEET --id ID' writes a commented copy without one.")
    from readiness.wizard.sheet_start import run_sheet

    began = datetime.now().astimezone()
    code = int(run_sheet(where, source, new_id) or 0)
    _say_what_is_left(where, began)
    return Exit.MACHINE_TROUBLE if code == Exit.NO_GO else code


def _say_what_is_left(where: Path, began: datetime) -> None:
    """That what was typed and not written is kept."""
    from readiness.records.drafts import drafts
    from readiness.records.shop import ShopFolder

    left = next((d for d in drafts(ShopFolder(where)) if d.at is not None and d.at >= began), None)
    if left is not None:
        say(f"Kept with {left.answers} answers: {left.path}. 'readiness sheet new' goes on with it.")


def _has_terminal() -> bool:
    try:
        need_terminal()
    except click.ClickException:
        return False
    return True


def _copied(where: Path, source: str, new_id: str) -> int:
    from readiness.records.drafts import copy_sheet
    from readiness.records.shop import ShopFolder

    path = copy_sheet(ShopFolder(where), source, new_id)
    put(f"Written: {path}\n")
    put(
        f"Everything in it is what {source} says. Change what the other document says, its reference first, then lint it.\n"
    )
    return Exit.GO


@sheet.command("diff")
@click.argument("was", metavar="A")
@click.argument("now", metavar="B")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
@SHOP
@click.pass_obj
def diff(shop: Path | None, was: str, now: str, as_json: bool, named: Path | None) -> int:
    """Tell in words what B says otherwise than A. Each is a sheet's file, or its id in the shop.

    Only what differs in fact: 230 kPa and 2.3 bar are the same.

    Exit code: 0 both say the same, 1 they differ, 2 input wrong, 3 something failed on this machine.
    """
    from readiness.records.sheets import opened
    from readiness.report.text import harmless
    from readiness.sheetmaking.differences import as_dict, differences, in_words

    first, second = opened(was, named or shop), opened(now, named or shop)
    with_shop = next((f for f in (second, first) if f.has_shop), None)
    found = differences(first.sheet, second.sheet, with_shop.folder.shop.units if with_shop else "metric")
    if as_json:
        import json

        put(json.dumps(as_dict(found), ensure_ascii=False, indent=2) + "\n")
    else:
        put("".join(f"{harmless(line)}\n" for line in in_words(found)))
    return Exit.NO_GO if found else Exit.GO

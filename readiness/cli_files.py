"""The commands about files: begin a shop, find mistakes, describe the files to editors."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import click

from readiness.faults import Exit, OutputGone, put

EXISTING = click.Path(path_type=Path)
SHOP = click.option("--shop", "named", type=EXISTING, help="Folder of the shop.", metavar="DIR")
"""The same before and after the command's name, since people write it at either place."""


@click.command("new-shop")
@click.argument("folder", required=False, type=EXISTING, metavar="[DIR]")
@click.pass_obj
def new_shop(shop: Path | None, folder: Path | None) -> int:
    """Begin a shop of your own: commented files to change. Without DIR: where 'readiness' looks."""
    from readiness.records.new_shop import new_shop as begin
    from readiness.records.shop import argument

    to = folder or shop or default_shop()
    written = begin(to)
    put("A new shop, made of examples. Change these files to yours:\n")
    put("".join(f"  {path}\n" for path in written))
    named = argument(to)
    put(f"Then check them: readiness lint {argument(to, always=True)}\n")
    put(f"And open it:     readiness{f' --shop {named}' if named else ''}\n")
    return Exit.GO


@click.command()
@click.argument("paths", nargs=-1, required=True, type=EXISTING, metavar="PATH...")
@SHOP
@click.pass_obj
def lint(shop: Path | None, paths: tuple[Path, ...], named: Path | None) -> int:
    """Find all mistakes in YAML files, journals or whole shop folders.

    'Look again' tells what in a sheet is seldom meant and may be; it is no mistake, and the sheet can be used.
    """
    from readiness.records.opening import looked_at

    found = looked_at(paths, named or shop)
    for mistake in found.mistakes:
        put(f"{mistake}\n")
    for doubt in found.doubts:
        put(f"Look again: {doubt}\n")
    return Exit.INPUT_WRONG if found.mistakes else Exit.GO


@click.command()
@click.argument("kind")
def schema(kind: str) -> int:
    """Print JSON Schema for editors. KIND: sheet, bay, survey, shop, instruments, answers, checklist, part."""
    import json

    from readiness.checklist.schema import SCHEMAS
    from readiness.checklist.schema import schema as schema_of
    from readiness.checks import limit_types
    from readiness.records.answers_schema import answers_schema

    if kind not in (*SCHEMAS, "answers"):
        raise click.UsageError(f"There is no schema of '{kind}'; there are {', '.join(SCHEMAS)}, answers.")
    made = answers_schema() if kind == "answers" else schema_of(kind, limit_types())
    put(json.dumps(made, ensure_ascii=False, indent=2) + "\n")
    return Exit.GO


def default_shop() -> Path:
    """Where the shop lies unless another folder is named."""
    from readiness.records.shop import default_folder

    return default_folder()


def write_all(folder: Path, files: Mapping[str, str]) -> None:
    """Write texts as files of these names, over those that are there. Raises OutputGone."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name, text in files.items():
            (folder / name).write_text(text, encoding="utf-8", newline="\n")
    except OSError as fault:
        raise OutputGone(f"{folder}: {fault.strerror or type(fault).__name__}") from fault

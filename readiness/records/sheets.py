"""From what a person names on the command line to a sheet, the sides it serves and the units to show it in."""

from __future__ import annotations

from pathlib import Path

from readiness.checklist.mistakes import FileMistakes
from readiness.job import Sheet, System
from readiness.records.shop import SHOP_FILE, ShopError, ShopFolder, default_folder

SHEET_SUFFIXES = (".yaml", ".yml")


def open_sheet(name: str, shop: Path | None) -> tuple[Sheet, tuple[str, ...], System]:
    """The sheet of that id in the shop, or in that file; its sides; the shop's units (metric without a shop).

    The shop is the one named, else the one that the file lies in, else the user's own. Raises ShopError.
    """
    path = Path(name)
    is_file = path.suffix.lower() in SHEET_SUFFIXES
    folder = (ShopFolder.find(path) if is_file and shop is None else None) or ShopFolder(
        shop or default_folder()
    )
    if not is_file:
        folder.shop  # noqa: B018  a missing shop is the better message than a missing sheet
    sheet = _from_file(path) if is_file else folder.sheets.named(name, "The command")
    sides = folder.checklist(sheet.checklist, f"The sheet {sheet.sheet}").sides
    has_shop = not is_file or (folder.path / SHOP_FILE).is_file()
    return sheet, sides, folder.shop.units if has_shop else "metric"


def _from_file(path: Path) -> Sheet:
    from readiness.checklist.files import read_sheet

    if not path.is_file():
        raise ShopError(f"There is no file {path}; name a sheet's YAML file, or its id in the shop.")
    try:
        return read_sheet(path)
    except FileMistakes as error:
        raise ShopError(str(error), error.mistakes) from None

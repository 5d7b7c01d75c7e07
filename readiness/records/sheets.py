"""From what a person names on the command line to a sheet, the sides it serves and the units to show it in."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from readiness.checklist.mistakes import FileMistakes
from readiness.checklist.model import Checklist
from readiness.job import Bay, Sheet, System
from readiness.records.shop import SHOP_FILE, ShopError, ShopFolder, default_folder

SHEET_SUFFIXES = (".yaml", ".yml")


@dataclass(frozen=True, slots=True)
class Opened:
    """A sheet with the shop in which it is used."""

    folder: ShopFolder
    sheet: Sheet
    path: Path | None
    """Its file, where a file was named."""

    @property
    def has_shop(self) -> bool:
        """Whether there is a shop; a sheet's file may lie outside of any."""
        return self.path is None or (self.folder.path / SHOP_FILE).is_file()

    @property
    def checklist(self) -> Checklist:
        """The sheet's checklist with the sheet's limits in place. Raises ShopError."""
        return self.folder.effective(self.sheet, self.path)


def opened(name: str, shop: Path | None) -> Opened:
    """The sheet of that id in the shop, or in that file.

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
    return Opened(folder, sheet, path if is_file else None)


def open_sheet(name: str, shop: Path | None) -> tuple[Sheet, tuple[str, ...], System]:
    """The sheet as `opened` finds it; its sides; the shop's units (metric without a shop). Raises ShopError."""
    found = opened(name, shop)
    sheet = found.sheet
    sides = found.folder.checklist(sheet.checklist, f"The sheet {sheet.sheet}").sides
    return sheet, sides, found.folder.shop.units if found.has_shop else "metric"


def bays_named(folder: ShopFolder, names: Sequence[str] = ()) -> tuple[dict[str, Bay], tuple[str, ...]]:
    """Bays by id: those named, else all; and the ids of those left out because of mistakes in their files.

    Raises ShopError for a bay that is not there or was named and has mistakes, and where no bay is left.
    """
    folder.shop  # noqa: B018  a missing shop is the better message than a missing bay
    if names:
        return {name: folder.bays.named(name, "--bay") for name in names}, ()
    bays = folder.bays.good()
    if not bays:
        raise ShopError(
            f"There is no bay in {folder.bays.folder} that can be read: put one there, then 'readiness lint' it."
        )
    return bays, tuple(name for name in folder.bays if name not in bays)


def _from_file(path: Path) -> Sheet:
    from readiness.checklist.files import read_sheet

    if not path.is_file():
        raise ShopError(f"There is no file {path}; name a sheet's YAML file, or its id in the shop.")
    try:
        return read_sheet(path)
    except FileMistakes as error:
        raise ShopError(str(error), error.mistakes) from None

"""Sheets that are being written: kept in the shop's folder after each answer, and written once they are finished.

drafts/NAME.json    one draft: its answers as texts; a program writes it, and it is not linted
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime
from hashlib import sha256
from pathlib import Path
from typing import Any

import msgspec
from msgspec import Struct
from msgspec.structs import replace

from readiness.checklist.files import read_sheet
from readiness.checklist.load import decoded
from readiness.checklist.mistakes import FileMistakes, shortened
from readiness.checklist.nodes import parse, read
from readiness.checklist.spot import Spot
from readiness.job import Sheet
from readiness.records.on_disk import write_whole
from readiness.records.sheets import opened
from readiness.records.shop import ShopError, ShopFolder, id_in
from readiness.sheetmaking.asking import Known, id_of
from readiness.sheetmaking.draft import Draft, leaves, started_from, tree_of
from readiness.sheetmaking.well_formed import well_formed
from readiness.sheetmaking.yaml_text import yaml_text

FORMAT = 1
SUFFIX = ".json"
MOST_BYTES = 1_000_000


class _Stored(Struct, forbid_unknown_fields=True):
    format: int
    draft: Draft


@dataclass
class KeptDraft:
    """One draft with its file. Raises ShopError where the disk refuses; the file is then as it was."""

    path: Path
    draft: Draft = field(default_factory=Draft)
    _digest: str = ""
    """Of the file as it was last read or written; empty: there is none yet."""

    def keep(self, draft: Draft) -> None:
        """On the disk when this returns; from then on it is what counts."""
        data = msgspec.json.format(msgspec.json.encode(_Stored(FORMAT, draft)), indent=1) + b"\n"
        try:
            there = self.path.read_bytes() if self.path.exists() else None
            if (_digest(there) if there is not None else "") != self._digest:
                raise ShopError(
                    f"{self.path} was changed by another program meanwhile: leave this, and open it anew."
                )
            self.path.parent.mkdir(parents=True, exist_ok=True)
            write_whole(self.path, data)
        except OSError as fault:
            raise ShopError(
                f"{self.path} could not be written: {_why(fault)}. The answer was not kept."
            ) from fault
        self.draft, self._digest = draft, _digest(data)

    def done(self) -> None:
        """Take the draft away: its sheet is written."""
        try:
            self.path.unlink(missing_ok=True)
        except OSError as fault:
            raise ShopError(
                f"The sheet is written, but its draft {self.path} could not be taken away: {_why(fault)}."
            ) from fault
        self._digest = ""


@dataclass(frozen=True, slots=True)
class DraftLine:
    """One draft in a list."""

    path: Path
    title: str
    answers: int
    at: datetime | None
    fault: str = ""
    """Why it cannot be read."""


def folder_of(shop: ShopFolder) -> Path:
    return shop.path / "drafts"


def drafts(shop: ShopFolder) -> list[DraftLine]:
    """All drafts of the shop, the latest first; those that cannot be read last. Raises ShopError for the folder."""
    try:
        paths = sorted(folder_of(shop).glob(f"*{SUFFIX}"))
    except OSError as fault:
        raise ShopError(f"{folder_of(shop)} cannot be read: {_why(fault)}.") from fault
    lines = [_line(path) for path in paths]
    return sorted(lines, key=lambda d: -d.at.timestamp() if d.at else 0.0)


def _line(path: Path) -> DraftLine:
    try:
        draft = open_draft(path).draft
        at = datetime.fromtimestamp(path.stat().st_mtime).astimezone()
    except (ShopError, OSError) as fault:
        return DraftLine(path, path.stem, 0, None, str(fault))
    title = draft.get("title") or draft.get("car") or draft.get("document.reference") or "nothing named yet"
    count = sum(1 for key, _ in leaves(draft.tree) if "#" not in key)
    return DraftLine(path, shortened(title), count, at)


def open_draft(path: Path) -> KeptDraft:
    """A draft as it was left. Raises ShopError with one sentence for a file that is none."""
    try:
        with path.open("rb") as stream:
            data = stream.read(MOST_BYTES + 1)
    except OSError as fault:
        raise ShopError(f"{path} cannot be read: {_why(fault)}.") from fault
    try:
        stored = msgspec.json.decode(data[: MOST_BYTES + 1], type=_Stored)
    except (msgspec.MsgspecError, UnicodeDecodeError, RecursionError):
        stored = None
    if stored is None or stored.format != FORMAT or not well_formed(stored.draft.tree):
        raise ShopError(f"{path} is no draft that this program wrote, or was damaged; it is left as it is.")
    return KeptDraft(path, stored.draft, _digest(data))


def new_draft(shop: ShopFolder, draft: Draft | None = None) -> KeptDraft:
    """A draft with a file of its own, which is written with the first answer."""
    draft = draft or Draft()
    wanted = draft.get("sheet") or "new"
    return KeptDraft(next(p for p in _names(folder_of(shop), wanted) if not p.exists()), draft)


def _names(folder: Path, wanted: str) -> Iterator[Path]:
    yield folder / f"{wanted}{SUFFIX}"
    yield from (folder / f"{wanted}-{n}{SUFFIX}" for n in range(2, 100_000))


def draft_from(shop: ShopFolder, name: str, new_id: str = "") -> Draft:
    """A draft filled in from a sheet, by its id or file. Raises ShopError for one with mistakes, or a bad new id."""
    if new_id and id_of(new_id) != new_id:
        raise ShopError(
            f"'{shortened(new_id)}' is no id: small letters, digits, '-' and '_', such as '{id_of(new_id) or 'my-sheet'}'."
        )
    found = opened(name, shop.path)
    path = found.path or shop.sheets.paths[found.sheet.sheet]
    try:
        return started_from(read(path), new_id)
    except FileMistakes as fault:
        raise ShopError(str(fault), fault.mistakes) from None


def known_of(shop: ShopFolder, today: Any, units: Any = None) -> Known:
    """What the questions need to know of the shop. Raises ShopError; checklists with mistakes are left out."""
    from readiness.checks import limit_types

    lists = {}
    for name in shop.checklist_paths:
        try:
            lists[name] = shop.checklist(name)
        except ShopError:
            continue
    return Known(units or shop.shop.units, lists, limit_types(), today, frozenset(shop.sheets))


# --- the sheet itself ----------------------------------------------------------------------------


def sheet_path(shop: ShopFolder, id_: str) -> Path:
    """Where the sheet of that id is written: over the file that says this id, if one does."""
    folder = shop.path / "sheets"
    own = folder / f"{id_}.yaml"
    return next((path for name, path in shop.sheets.files if name == id_), own)


def in_the_way(shop: ShopFolder, id_: str) -> Path | None:
    """The file that writing this sheet would replace."""
    shop.sheets.forget()
    path = sheet_path(shop, id_)
    return path if path.exists() else None


def write_sheet(shop: ShopFolder, text: str, *, over: bool = False) -> Path:
    """Write a sheet's text and read it back; the file.

    Raises ShopError for a text with mistakes, and if the file is there and `over` does not allow that; then nothing
    is written.
    """
    expected = _said(text)
    shop.sheets.forget()
    path = sheet_path(shop, expected.sheet)
    try:
        if path.exists() and not over:
            raise ShopError(
                f"{path} is there already, so nothing was written. Another id makes another file."
            )
        path.parent.mkdir(parents=True, exist_ok=True)
        write_whole(path, text.encode("utf-8"))
    except OSError as fault:
        raise ShopError(f"{path} could not be written: {_why(fault)}.") from fault
    if not _reads_as(path, expected):
        raise ShopError(f"{path} does not read as it was written: look at the disk, then write it again.")
    shop.sheets.forget()
    return path


def _said(text: str) -> Sheet:
    """The sheet that a text says. Raises ShopError with its mistakes."""
    try:
        loaded = decoded(Spot(parse(text.encode("utf-8"), "sheet"), "", "sheet", []), Sheet)
    except FileMistakes as fault:
        raise ShopError(str(fault), fault.mistakes) from None
    if loaded.spot.mistakes:
        raise ShopError("\n".join(map(str, loaded.spot.mistakes)), tuple(loaded.spot.mistakes))
    return loaded.value


def _reads_as(path: Path, expected: Sheet) -> bool:
    try:
        return id_in(path, "sheet") == expected.sheet and same_sheet(read_sheet(path), expected)
    except FileMistakes:
        return False


def same_sheet(one: Sheet, other: Sheet) -> bool:
    """Whether two sheets say the same; their limits, which are nodes with places, by their texts."""
    limits = [tree_of(s.limits) if s.limits is not None else None for s in (one, other)]
    return limits[0] == limits[1] and replace(one, limits=None) == replace(other, limits=None)


def copy_sheet(shop: ShopFolder, name: str, new_id: str) -> Path:
    """A sheet under another id, as it is, to be changed by hand. Raises ShopError."""
    return write_sheet(shop, yaml_text(draft_from(shop, name, new_id).tree))


def _digest(data: bytes) -> str:
    return sha256(data).hexdigest()


def _why(fault: OSError) -> str:
    return (fault.strerror or type(fault).__name__).lower()

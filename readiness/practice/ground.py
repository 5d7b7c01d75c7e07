"""The practice shop: the invented demo shop as plain data, at the moment at which it stands still."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from functools import cache

from msgspec.structs import replace

from readiness.checklist.model import Checklist
from readiness.job import Bay, Instrument, Sheet, Shop, Standing
from readiness.records import demo, places
from readiness.records.shop import ShopFolder

BAYS = {
    "dunlin-surround": "bay-2",
    "godwit-camera": "bay-1",
    "pipit-front": "bay-1",
    "tern-rear-corner": "bay-2",
}
"""The bay in which each sheet's car has room, by the demo shop's plans."""
MARKS = {"dunlin-surround": Standing(x=3.4, y=3.8, heading=0.0)}
"""Where the bay's marks lie in the practice shop, for a car that has no room where they lie in the demo shop."""


@dataclass(frozen=True)
class Ground:
    """What a practice car stands on: its sheet with the limits in place, a bay, and what the shop measures with."""

    sheet: Sheet
    checklist: Checklist
    bay: Bay
    shop: Shop
    instruments: Mapping[str, Instrument]


@cache
def _folder() -> ShopFolder:
    """Only read here: what is written is written into a copy."""
    return ShopFolder(places.demo())


@cache
def moment() -> datetime:
    """At which the demo shop stands still. What is true of a practice car is judged then, whatever the clock says."""
    return datetime.fromisoformat((places.demo() / demo.MOMENT_FILE).read_text(encoding="utf-8").strip())


@cache
def ground(sheet: str) -> Ground:
    """For a sheet of the demo shop. Raises ShopError for one that is not there."""
    folder = _folder()
    found = folder.sheets.named(sheet, "Practice")
    bay = folder.bays.named(BAYS[sheet], "Practice")
    bay = replace(bay, standing=MARKS.get(sheet, bay.standing))
    return Ground(found, folder.effective(found), bay, folder.shop, folder.instruments)


@cache
def sheets() -> dict[str, str]:
    """Id and title of all sheets that one can practise on, in the order of the alphabet."""
    return {sheet: ground(sheet).sheet.title for sheet in sorted(BAYS)}

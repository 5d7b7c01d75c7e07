"""What a job was judged by beside its journal: sheet, limits, bay, instruments. The journal keeps a digest of each.

A judgement is worked out anew whenever somebody looks, by what these files say then. The journal keeps what they said
when a result was read and when the job ended, so that whoever looks later is told what has changed since.

A digest is of what was loaded, not of a file's bytes: other comments, another order of keys and new instruments change
nothing of it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from hashlib import sha256
from typing import Any

import msgspec
from msgspec import NODEFAULT, Struct
from msgspec.structs import fields, replace

from readiness.checks.finding import Visit
from readiness.checks.floor.surveyed import tools_of
from readiness.job import Bay, Sheet
from readiness.records.replay import Ground, GroundKind, Grounds
from readiness.records.shop import ShopError, ShopFolder

WORDS: dict[GroundKind, str] = {
    "sheet": "The sheet {}",
    "limits": "The checklist of the sheet {}",
    "bay": "The bay {}",
    "instrument": "The instrument {}",
    "altitude": "The altitude of the shop",
}


def grounds_of(visit: Visit) -> tuple[Ground, ...]:
    """Everything that a visit is judged by, instruments as far as something was read with them."""
    bays = {visit.bay.bay: visit.bay, **visit.bays}
    used = {r.instrument for r in visit.job.readings}.union(*map(_tools, bays.values()))
    tools = {name: visit.instruments[name] for name in sorted(used) if name in visit.instruments}
    return (
        Ground("altitude", "", digest(visit.shop.altitude)),
        Ground("sheet", visit.sheet.sheet, _of_sheet(visit.sheet)),
        Ground("limits", visit.sheet.sheet, digest(visit.checklist)),
        *(Ground("bay", name, digest(bay)) for name, bay in bays.items()),
        *(Ground("instrument", name, digest(tool)) for name, tool in tools.items()),
    )


def _tools(bay: Bay) -> set[str]:
    return set() if bay.survey is None else set(tools_of(bay.survey))


def _of_sheet(sheet: Sheet) -> str:
    """Without its limits: raw as they stand in the file, they count in the checklist in which they take their place."""
    return digest(replace(sheet, limits=None))


def digest(what: Any) -> str:
    """SHA-256 in hex of plain data: fields as they stand by default are left out, so that a new one changes nothing."""
    return sha256(msgspec.json.encode(_plain(what), order="sorted")).hexdigest()


def _plain(what: Any) -> Any:
    if isinstance(what, Struct):
        given = {f.name: getattr(what, f.name) for f in fields(what)}
        usual = {f.name: _default(f) for f in fields(what)}
        return {"is": type(what).__name__} | {k: _plain(v) for k, v in given.items() if v != usual[k]}
    if isinstance(what, float):
        return f"{what:.9g}"  # the last digits are those of the conversion of units
    if isinstance(what, Mapping):
        return {str(k): _plain(v) for k, v in what.items()}
    if isinstance(what, (list, tuple, set, frozenset)):
        return [_plain(v) for v in what]
    return what


def _default(field: msgspec.structs.FieldInfo) -> Any:
    return field.default_factory() if field.default_factory is not NODEFAULT else field.default


class Today:
    """What the files of a shop say now, each read once."""

    def __init__(self, folder: ShopFolder) -> None:
        self._folder = folder
        self._found: dict[tuple[str, str], str] = {}

    def digest(self, ground: Ground) -> str:
        """Of the same thing as it is now; empty where it is not there any more or has mistakes."""
        key = ground.kind, ground.id
        if key not in self._found:
            try:
                self._found[key] = self._now(ground)
            except (ShopError, KeyError):
                self._found[key] = ""
        return self._found[key]

    def _now(self, ground: Ground) -> str:
        folder, name = self._folder, ground.id
        match ground.kind:
            case "altitude":
                return digest(folder.shop.altitude)
            case "sheet":
                return _of_sheet(folder.sheets[name])
            case "limits":
                return digest(folder.effective(folder.sheets[name]))
            case "bay":
                return digest(folder.bays[name])
            case "instrument":
                return digest(folder.instruments[name])

    def changed(self, kept: Sequence[Grounds]) -> Iterator[str]:
        """What is not as it last was when a job was judged by it, a sentence each."""
        last = {(g.kind, g.id): (g, at.at) for at in kept for g in at.grounds if g.digest != self.digest(g)}
        for ground, at in last.values():
            what = WORDS[ground.kind].format(ground.id)
            how = "was changed after" if self.digest(ground) else "cannot be read any more; it could be at"
            yield f"{what} {how} {at.astimezone():%Y-%m-%d %H:%M}."

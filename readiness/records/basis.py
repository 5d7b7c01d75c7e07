"""What a judgement rests on beside the journal, as digests: the shop's files, the checklists, the program itself."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator, Mapping
from functools import cache
from hashlib import sha256
from itertools import pairwise
from pathlib import Path

from msgspec import Struct

from readiness import __version__
from readiness.records.shop import SHOP_FILE, ShopFolder, id_in, said_in

Digests = Mapping[str, bytes]


class Basis(Struct, frozen=True):
    """The digests of one moment; two that are equal were taken of the same files."""

    common: bytes
    """Of the program, the shop's own file, the instruments and all checklists."""
    sheets: Digests
    """By id; where several files say one, of all of them."""
    bays: Digests
    surveys: Digests
    """By bay; under '' those whose bay does not stand at the head of the file."""

    def of(self, sheet: str, *bays: str) -> bytes:
        """What a job with this sheet in these bays, one after the other, rests on; no other sheet or bay changes it."""
        of_bays = (part for bay in bays for part in (self.bays.get(bay), self.surveys.get(bay)))
        parts = (self.sheets.get(sheet), self.surveys.get(""), *of_bays)
        return _digest(self.common, *(part or b"none" for part in parts))


def basis(folder: ShopFolder) -> Basis:
    """The digests of a shop's files as they are now. Raises OSError for a folder that cannot be read."""
    from readiness.checklist.load import yaml_files

    own = [folder.path / SHOP_FILE, folder.path / "instruments.yaml"]
    lists = [path for where in folder.checklist_folders for path in yaml_files(where, deep=True)]
    surveys = list(yaml_files(folder.surveys_folder))
    names = sorted(
        id_in(path, "survey") for path in surveys
    )  # two of one id are refused, whatever their bays
    said_twice = [a for a, b in pairwise(names) if a == b]
    return Basis(
        _digest(
            _program(), *map(_of_file, (*own, *lists)), *(n.encode(errors="replace") for n in said_twice)
        ),
        _by((id_in(path, "sheet"), path) for path in yaml_files(folder.path / "sheets")),
        _by((id_in(path, "bay"), path) for path in yaml_files(folder.path / "bays")),
        _by((said_in(path, "bay"), path) for path in surveys),
    )


def _by(files: Iterable[tuple[str, Path]]) -> Digests:
    found: dict[str, bytes] = {}
    for name, path in files:
        found[name] = _digest(found.get(name, b""), _of_file(path))
    return found


def _of_file(path: Path) -> bytes:
    """Of its place and what it says."""
    try:
        said = path.read_bytes()
    except OSError as fault:
        said = f"unreadable: {fault.errno}".encode()
    return _digest(os.fsencode(path), said)


def _digest(*parts: bytes) -> bytes:
    whole = sha256()
    for part in parts:
        whole.update(len(part).to_bytes(8, "big"))
        whole.update(part)
    return whole.digest()


@cache
def _program() -> bytes:
    """Of the version, and of size and time of every file of the program: a checkout may change under one version."""
    package = Path(__file__).parent.parent
    found = sorted(_files_of(package))
    return _digest(__version__.encode(), *(f"{name} {size} {time}".encode() for name, size, time in found))


def _files_of(folder: Path) -> Iterator[tuple[str, int, int]]:
    with os.scandir(folder) as entries:
        for entry in entries:
            if entry.is_dir(follow_symlinks=False):
                if entry.name != "__pycache__":
                    yield from _files_of(Path(entry.path))
            else:
                found = entry.stat(follow_symlinks=False)
                yield entry.name, found.st_size, found.st_mtime_ns

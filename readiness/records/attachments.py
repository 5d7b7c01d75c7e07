"""Files that belong to a job: a photo, a printout. Each stays where it is; the journal keeps its path and its hash."""

from __future__ import annotations

import os
from datetime import datetime
from hashlib import sha256
from pathlib import Path
from typing import Literal

from msgspec import Struct

from readiness.checklist.mistakes import UNPRINTABLE, shown
from readiness.job import Attached
from readiness.records.chained import JournalError
from readiness.records.plain_file import CHUNK, NoFile, open_plain

State = Literal["same", "changed", "gone", "unreadable"]


class Checked(Struct, frozen=True):
    """An attached file, looked at again."""

    attached: Attached
    state: State
    """'unreadable' is a file that is there and cannot be read, or no file at all any more."""


def attached_file(path: str | Path, shop_folder: Path, what: str, by: str, at: datetime) -> Attached:
    """A file as it is now, for the journal to keep. Raises JournalError for what cannot be read as one.

    A path that is not whole counts from where the program was started, or else from the shop's folder.
    """
    found = _found(path, shop_folder)
    try:
        digest, size, still = _hashed(found)
        if not found.exists():
            raise OSError(0, "it vanished while it was read")
        if not still:
            raise OSError(0, "it changed while it was read, so something still writes it; try again later")
        kept = _kept_as(found, shop_folder)
    except OSError as fault:
        raise JournalError(f"The file {shown(str(found), 200)} cannot be attached: {_why(fault)}.") from fault
    if UNPRINTABLE.search(kept):
        raise JournalError(
            f"The file {shown(kept, 200)} cannot be attached: its name holds characters that cannot be seen. "
            "Give it another name first."
        )
    return Attached(path=kept, sha256=digest, size=size, at=at, by=by, what=what)


def check(attached: Attached, shop_folder: Path) -> Checked:
    """Whether an attached file is still what it was; raises nothing."""
    try:
        digest, size, _ = _hashed(place_of(attached, shop_folder), attached.size)
    except (FileNotFoundError, NotADirectoryError):
        return Checked(attached, "gone")
    except OSError:
        return Checked(attached, "unreadable")
    same = (digest, size) == (attached.sha256, attached.size)
    return Checked(attached, "same" if same else "changed")


def place_of(attached: Attached, shop_folder: Path) -> Path:
    """Where an attached file should be."""
    return shop_folder / attached.path


def _found(path: str | Path, shop_folder: Path) -> Path:
    """The path that a person named; one dropped into a terminal may come in quotation marks."""
    typed = str(path).strip()
    bare = typed[1:-1] if len(typed) > 2 and typed[0] == typed[-1] and typed[0] in "'\"" else typed
    if not bare:
        raise JournalError("Which file? Name it by its path, such as photos/front.jpg.")
    given = [
        p for name in dict.fromkeys((typed, bare)) for p in (Path(name), _home(name), shop_folder / name)
    ]
    return next((p for p in given if _there(p)), _home(bare))


def _home(name: str) -> Path:
    try:
        return Path(name).expanduser()
    except RuntimeError:  # '~nobody' is no user of this machine
        return Path(name)


def _there(path: Path) -> bool:
    try:
        return os.path.lexists(path)
    except ValueError:
        return False


def _hashed(path: Path, expected: int | None = None) -> tuple[str, int, bool]:
    """SHA-256 in hex and size of a file, and whether it held still meanwhile. Raises OSError.

    Of another size than expected, it is not read: it cannot be the same.
    """
    stream, before = open_plain(path)
    with stream:
        found, size = sha256(), 0
        if expected not in (None, before.st_size):
            return "", before.st_size, True
        while size <= before.st_size and (chunk := stream.read(CHUNK)):  # one that grows may grow for ever
            found.update(chunk)
            size += len(chunk)
        after = os.fstat(stream.fileno())
    still = (size, after.st_mtime_ns) == (before.st_size, before.st_mtime_ns)
    return found.hexdigest(), size, still


def _kept_as(path: Path, shop_folder: Path) -> str:
    """The path with forward slashes: from the shop's folder if it lies in it, by its own name or by where that leads."""
    named = (path.absolute(), shop_folder.absolute())
    real = (path.resolve(strict=True), shop_folder.resolve())
    for file, folder in (named, real):
        if file.is_relative_to(folder) and ".." not in file.relative_to(folder).parts:
            return file.relative_to(folder).as_posix()
    return real[0].as_posix()


def _why(fault: OSError) -> str:
    if isinstance(fault, NoFile):
        return f"it is {fault.strerror}, not a file"
    if isinstance(fault, FileNotFoundError) and fault.strerror == os.strerror(2):
        return "there is no such file"
    return (fault.strerror or type(fault).__name__).lower().replace("\n", " ")

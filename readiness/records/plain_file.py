"""Reading a file that may be anything: hostile, endless, a pipe, gone while it is read."""

from __future__ import annotations

import os
import stat
from io import FileIO
from pathlib import Path

CHUNK = 1 << 18
"""Bytes read at once."""
_HOW = os.O_RDONLY | getattr(os, "O_BINARY", 0) | getattr(os, "O_NONBLOCK", 0)
"""Not waiting: a pipe put in a file's place would otherwise hold the program for ever."""
_KINDS = (
    (stat.S_ISDIR, "a folder"), (stat.S_ISFIFO, "a pipe"), (stat.S_ISSOCK, "a socket"),
    (stat.S_ISCHR, "a device"), (stat.S_ISBLK, "a device"),
)  # fmt: skip


class NoFile(OSError):
    """Something is there, and it is no ordinary file; the text says what it is."""

    def __init__(self, what: str) -> None:
        super().__init__(0, what)


def open_plain(path: Path) -> tuple[FileIO, os.stat_result]:
    """An ordinary file, opened without buffer, and what it was then. Raises OSError, NoFile for anything else."""
    try:
        _check(path.stat())  # looked at before it is opened: opening a device may do things
        descriptor = os.open(path, _HOW)
    except ValueError:  # such as a name with a zero byte in it
        raise NoFile("no name of a file") from None
    try:
        found = os.fstat(descriptor)
        _check(found)
        return FileIO(descriptor, "rb"), found
    except BaseException:
        os.close(descriptor)
        raise


def _check(found: os.stat_result) -> None:
    """Raises NoFile for what is no ordinary file."""
    if not stat.S_ISREG(found.st_mode):
        raise NoFile(next((word for test, word in _KINDS if test(found.st_mode)), "no ordinary file"))

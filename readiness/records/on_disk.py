"""The file under a journal while it is written to, and what can go wrong with it.

A line counts once it is on the disk, in the file that bears the journal's name. That is looked at for every
line: a folder can be renamed, a share can go away and come back, and an open file knows nothing of that.
"""

from __future__ import annotations

import errno
import os
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO

if TYPE_CHECKING:
    from readiness.records.holder import Hold


NO_FOLDER_SYNC = {errno.EINVAL, errno.ENOSYS, errno.ENOTSUP, errno.EOPNOTSUPP}
"""What a file system says whose folders cannot be synced."""


class JournalError(Exception):
    """A journal cannot be opened or written; one clear sentence."""

    line = 0
    """The line that cannot be trusted, where it is one."""


class OnDisk:
    """The journal's file, open for writing. OSError and JournalError leave the file, and what counts of it, as they were."""

    def __init__(self, path: Path, data: bytes, hold: Hold) -> None:
        """Open a file that is held and holds `data`, and perhaps a torn line after it."""
        self.path, self._hold = path, hold
        self.size = len(data)
        """Bytes that count."""
        self._sum = sha256(data)
        self._trying = b""
        """The line of a write that failed, a part of which may stand at the end."""
        self._folder = path.parent.stat()
        self._told_gone = False
        self._file: BinaryIO = path.open("r+b", buffering=0)

    def close(self) -> None:
        with suppress(OSError):  # its share is gone; what counts was on the disk before
            self._file.close()

    def cut(self, rest: bytes) -> None:
        """Take away what stands after the bytes that count, which is known to be `rest`."""
        self._trying = rest
        self._clean()
        os.fsync(self._file.fileno())

    def write(self, line: bytes) -> None:
        """The whole of it, on the disk, in the file of that name; a file that came back is held and gone on with."""
        try:
            in_place = self.in_place()
        except FileNotFoundError:
            self._bring_back()
            in_place = False
        if not (in_place and self._hold.held):
            self._hold.again()
            self._take_up()
        self._add(line)

    def _add(self, line: bytes) -> None:
        self._clean()
        self._trying = line
        try:
            self._file.seek(self.size)
            rest = memoryview(line)
            while rest:
                rest = rest[self._file.write(rest) :]
            os.fsync(self._file.fileno())
            if not (self.in_place() or self._found_there(line)):
                raise self._other_file()
        except (OSError, JournalError):
            with suppress(OSError):  # if even that fails, the next write cuts it off first
                self._file.truncate(self.size)
            raise
        self._sum.update(line)
        self.size, self._trying, self._told_gone = self.size + len(line), b"", False

    def in_place(self) -> bool:
        """Whether the open file is the one of that name. Raises OSError where there is none of that name."""
        there = self.path.stat()
        try:
            return os.path.samestat(there, os.fstat(self._file.fileno()))
        except OSError:  # the share went away meanwhile, and the open file is of no use any more
            return False

    def _found_there(self, line: bytes) -> bool:
        """Whether a line just written stands in the file of that name: on some shares a file is not known again."""
        with self.path.open("rb") as there:
            there.seek(self.size)
            return there.read(len(line) + 1) == line

    def _take_up(self) -> None:
        """Go on in the file that bears the name now, as after a share came back; it must be the same to the byte."""
        data = self.path.read_bytes()
        if sha256(data[: self.size]).digest() != self._sum.digest() or not self._trying.startswith(
            data[self.size :]
        ):
            raise self._other_file()
        again = self.path.open("r+b", buffering=0)
        self.close()
        self._file, self._folder = again, self.path.parent.stat()

    def _bring_back(self) -> None:
        """Write a file that was deleted once more under its name: told the first time, done the second."""
        try:
            same = os.path.samestat(self.path.parent.stat(), self._folder)
        except FileNotFoundError:
            raise FileNotFoundError(errno.ENOENT, "its folder is not there any more") from None
        if not same:
            raise FileNotFoundError(errno.ENOENT, "another folder stands in the place of its own")
        if not self._told_gone:
            self._told_gone = True
            raise JournalError(
                f"{self.path} was deleted or moved away. The last entry was not kept; entered again, it is, and "
                "the whole file is then written anew."
            )
        self._file.seek(0)
        data = self._file.read(self.size)
        if sha256(data).digest() != self._sum.digest():
            raise self._other_file()
        write_whole(self.path, data)

    def _clean(self) -> None:
        """Nothing stands after what counts; else it was put there by something else."""
        there = os.fstat(self._file.fileno()).st_size
        if there > self.size:
            self._file.seek(self.size)
            if not self._trying.startswith(self._file.read(there - self.size) or b"?"):
                raise self._other_file()
            self._file.truncate(self.size)
        elif there < self.size:
            raise self._other_file()

    def _other_file(self) -> JournalError:
        return JournalError(
            f"{self.path} was changed or replaced by something else meanwhile, so nothing was written to it: "
            "leave it and open it anew."
        )


def write_whole(path: Path, data: bytes) -> None:
    """A file that is there whole or not at all: on the disk beside its place before it takes the name."""
    beside = path.with_name(f".{path.name}.new")
    try:
        with beside.open("wb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        beside.replace(path)
        sync_folder(path.parent)
    finally:
        with suppress(OSError):
            beside.unlink()


def set_aside(path: Path, torn: bytes) -> Path:
    """Keep a line that was cut off beside its journal, after earlier ones; on the disk when this returns."""
    aside = path.with_name(path.name + ".torn")
    with aside.open("ab") as stream:
        stream.write(torn + b"\n")
        stream.flush()
        os.fsync(stream.fileno())
    sync_folder(aside.parent)
    return aside


def sync_folder(folder: Path) -> None:
    """Make a new name last. Windows has no such call and needs none, some shares know none."""
    if os.name == "nt":
        return
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    except OSError as fault:
        if fault.errno not in NO_FOLDER_SYNC:
            raise
    finally:
        os.close(descriptor)


@contextmanager
def disk(path: Path, doing: str) -> Iterator[None]:
    """An error of the disk as a sentence."""
    try:
        yield
    except OSError as fault:
        why = (fault.strerror or type(fault).__name__).lower()
        kept = " The last entry was not kept; try again." if doing == "written" else ""
        raise JournalError(f"{path} could not be {doing}: {why}.{kept}") from fault

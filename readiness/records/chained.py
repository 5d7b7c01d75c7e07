"""A file of chained entries, one a line: each is on the disk before it counts as kept.

One program at a time writes it; others may read. A change from outside is found when it is opened (see
`lines`), a write that failed leaves the file and what it says as they were. What its entries mean is known to
its Replay: a job (`journal`) or a survey being taken (`surveys`).
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any, BinaryIO, ClassVar, Generic, Self, TypeVar

from msgspec import Struct
from msgspec.structs import fields

from readiness.job import Reading, System
from readiness.records import lines
from readiness.records.lines import Entry, LineFault
from readiness.records.replay import OtherJournal, Replay

if TYPE_CHECKING:
    from filelock import BaseFileLock

SUFFIX = ".jsonl"
MOST_BYTES = 50_000_000
CLOCK_JITTER = timedelta(seconds=1)
"""A clock that is behind by less is not worth a word."""
_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9_.-]{0,59}")
_WINDOWS_DEVICES = re.compile(r"(con|prn|aux|nul|com\d|lpt\d)(\..*)?", re.IGNORECASE)

R = TypeVar("R", bound=Replay)


class Head(Struct, frozen=True):
    """The hash of a journal's last line, to which all lines before it are chained, and how many lines there are."""

    digest: str
    """SHA-256 in hex."""
    lines: int


class JournalError(Exception):
    """A journal cannot be opened or written; one clear sentence."""


class Chained(Generic[R]):
    """One file of entries. Make one with `open`; close it when done, or use it in a `with`."""

    WHAT: ClassVar[str]
    """What the file is of, in words: 'job'."""
    REPLAY: ClassVar[type[Replay]]

    def __init__(self, path: Path) -> None:
        self.path = path
        self.warnings: list[str] = []
        """What was odd and is not an error: a cut-off line set aside, a clock that went backwards."""
        self._replay: R = self._none_yet()
        self._entries: tuple[Entry, ...] = ()
        self._last_at: datetime | None = None
        self._digest = ""
        self._size = 0
        self._half_written = False
        self._clock_told = False
        self._file: BinaryIO | None = None
        self._lock: BaseFileLock | None = None

    @classmethod
    def open(cls, path: Path, write: bool = True) -> Self:
        """Read the file, and hold it for writing unless `write` is False.

        Raises JournalError when it is not there, was changed outside the program, was written by a
        newer one, or is open in another window (only for writing). Reading locks and writes nothing.
        """
        journal = cls(path)
        with disk(path, "read"):
            there = path.is_file()
        if not there:
            raise JournalError(f"There is no {cls.WHAT} file {path}.")
        if write:
            journal._take_lock()
        try:
            journal._load()
        except JournalError:
            journal.close()
            raise
        return journal

    @property
    def units(self) -> System | None:
        """The unit system last chosen here, None if never."""
        return self._replay.units

    @property
    def entries(self) -> tuple[Entry, ...]:
        """Everything that was ever written here, in order, what was withdrawn later included."""
        return self._entries

    @property
    def head(self) -> Head:
        """What the file comes to: with it on paper, nobody can change or shorten the file unnoticed."""
        return Head(self._digest, len(self._entries))

    @property
    def last_at(self) -> datetime:
        """The time of the last entry."""
        assert self._last_at is not None
        return self._last_at

    def record(self, reading: Reading) -> Reading:
        """Keep a reading; returns it with its number (and its time, see `warnings`)."""
        kept: Reading = self._keep("reading", reading)
        return kept

    @property
    def latest(self) -> tuple[int, Any] | None:
        """The last thing entered that was not withdrawn, with its number."""
        return self._replay.latest()

    def withdraw(self, number: int, why: str, by: str, at: datetime) -> None:
        """Take the entry of that number out; it stays in the file."""
        self._known(number)
        self._append("withdrawn", at, {"entry": number, "why": why, "by": by})

    def note(self, number: int, text: str, by: str, at: datetime) -> None:
        """Put a note to the reading of that number, in place of an earlier one."""
        if not isinstance(self._known(number), Reading):
            raise JournalError(f"Entry {number} of {self.path.name} is no reading, so it takes no note.")
        self._append("note", at, {"entry": number, "text": text, "by": by})

    def set_units(self, system: System, by: str, at: datetime) -> None:
        """Keep in which units this is shown."""
        self._append("units", at, {"system": system, "by": by})

    def close(self) -> None:
        """Let others write. Nothing is pending: every entry is on the disk already."""
        if self._file is not None:
            self._file.close()
            self._file = None
        if self._lock is not None:
            self._lock.release()
            self._lock = None

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *fault: object) -> None:
        self.close()

    # --- beginning and reading -------------------------------------------------------------------

    @classmethod
    def _begin(cls, path: Path, kind: str, at: datetime, body: dict[str, Any]) -> Self:
        """Make the file with its first entry, on the disk when this returns. Raises JournalError."""
        journal = cls(path)
        with disk(path, "created"):
            path.parent.mkdir(parents=True, exist_ok=True)
            there = path.exists()
        if there:
            raise JournalError(
                f"The {cls.WHAT} '{path.stem}' exists already ({path}): resume it, or take another number."
            )
        journal._take_lock()
        try:
            with disk(path, "created"):
                journal._file = path.open("xb", buffering=0)
            journal._append(kind, at, body)
            with disk(path, "created"):
                sync_folder(path.parent)
        except JournalError:
            made = journal._file is not None
            journal.close()
            if made:
                with suppress(OSError):
                    path.unlink()
            raise
        return journal

    @classmethod
    def _none_yet(cls) -> Any:
        return cls.REPLAY()

    def _load(self) -> None:
        with disk(self.path, "read"):
            if self.path.stat().st_size > MOST_BYTES:
                raise JournalError(f"{self.path} is larger than {MOST_BYTES} bytes, so it is no journal.")
            data = self.path.read_bytes()
        try:
            found = lines.decode(data)
            self._replay = self._none_yet()
            for entry in found.entries:
                self._replay.take(entry)
        except OtherJournal as fault:
            raise JournalError(f"{self.path} cannot be opened here: {fault.what}.") from None
        except LineFault as fault:
            raise JournalError(
                f"{self.path}, line {fault.number}, cannot be trusted: {fault.what}. "
                f"Nothing of it was changed; restore the file from a copy or begin a new {self.WHAT}."
            ) from None
        self._entries, self._last_at = found.entries, found.entries[-1].at
        self._digest, self._size = found.last, found.size
        if self._lock is not None:
            self._begin_writing(found.torn)
        elif found.torn:
            self.warnings.append(f"The last line of {self.path.name} is incomplete and was left out.")

    def _begin_writing(self, torn: bytes) -> None:
        with disk(self.path, "written"):
            self._file = self.path.open("r+b", buffering=0)
            if torn:
                aside = self.path.with_name(self.path.name + ".torn")
                with aside.open("ab") as stream:
                    stream.write(torn + b"\n")
                    stream.flush()
                    os.fsync(stream.fileno())
                self._file.truncate(self._size)
                os.fsync(self._file.fileno())
                self.warnings.append(
                    f"The last line of {self.path.name} was cut off while it was written. It is kept in "
                    f"{aside.name} and does not count; look whether the last answer has to be given again."
                )

    def _known(self, number: int) -> Struct:
        kept = self._replay.kept(number)
        if kept is None:
            raise JournalError(f"There is no entry {number} in {self.path.name} that could be changed.")
        return kept

    # --- writing ---------------------------------------------------------------------------------

    def _take_lock(self) -> None:
        from filelock import FileLock, Timeout

        lock = FileLock(self.path.with_name(self.path.name + ".lock"), timeout=0, thread_local=False)
        with disk(self.path, "opened for writing"):
            try:
                lock.acquire()
            except Timeout:
                raise JournalError(
                    f"The {self.WHAT} {self.path.stem} is open in another window: close it there first."
                ) from None
        self._lock = lock

    def _keep(self, kind: str, what: Any) -> Any:
        given = ((f, getattr(what, f.name)) for f in fields(what) if f.name not in ("at", "number"))
        body = {f.name: value for f, value in given if f.required or value != ""}
        entry = self._append(kind, what.at, body)
        kept = self._replay.kept(entry.n)
        assert type(kept) is type(what)
        return kept

    def _append(self, kind: str, at: datetime, body: dict[str, Any]) -> Entry:
        if self._file is None:
            raise JournalError(
                f"The {self.WHAT} {self.path.stem} is open for reading only: nothing can be entered."
            )
        entry = Entry(len(self._entries) + 1, self._in_order(kind, at), kind, body)
        after = self._replay.copy()
        try:
            line = lines.encode(entry, self._digest)
            # as it will be read: what the file says is what counts
            entry = lines.decode_one(line, entry.n, self._digest)
            after.take(entry)
        except (LineFault, ValueError) as fault:
            raise JournalError(f"This entry cannot be kept: {fault}.") from None
        with disk(self.path, "written"):
            self._write(line)
        self._replay, self._entries, self._last_at = after, (*self._entries, entry), entry.at
        self._digest, self._size = lines.digest(line), self._size + len(line)
        return entry

    def _write(self, line: bytes) -> None:
        """The whole line, on the disk; or an OSError and the file as it was."""
        assert self._file is not None
        descriptor = self._file.fileno()
        if self._half_written:
            self._file.truncate(self._size)
        elif os.fstat(descriptor).st_size != self._size:
            raise JournalError(
                f"{self.path} was changed by something else meanwhile: open the {self.WHAT} anew."
            )
        self._half_written = True
        try:
            self._file.seek(self._size)
            rest = memoryview(line)
            while rest:
                rest = rest[self._file.write(rest) :]
            os.fsync(descriptor)
        except OSError:
            with suppress(OSError):  # if even that fails, the next write cuts it off first
                self._file.truncate(self._size)
            raise
        self._half_written = False

    def _in_order(self, kind: str, at: datetime) -> datetime:
        """Never before the last entry, so that what was entered after a thing also counts as after it."""
        moment = at if at.tzinfo else at.astimezone()
        if self._last_at is None or moment > self._last_at:
            return moment
        if self._last_at - moment > CLOCK_JITTER and not self._clock_told:
            self._clock_told = True
            self.warnings.append(self._clock_warning(moment))
        return self._last_at + timedelta(microseconds=1) if self._would_tie(kind) else self._last_at

    def _would_tie(self, kind: str) -> bool:
        """Whether at the last entry's time it could not be told which of two came first."""
        return False

    def _clock_warning(self, moment: datetime) -> str:
        return (
            f"The clock of this machine ({moment:%Y-%m-%d %H:%M}) is behind the last entry "
            f"({self._last_at:%Y-%m-%d %H:%M}); entries get that one's time until the clock "
            "has caught up. Set the clock."
        )


def check_name(name: str, what: str = "A job's number", example: str = "HB-0417") -> None:
    """Raises JournalError for a name that cannot be that of a file on every system."""
    if not _NAME.fullmatch(name) or name.endswith(".") or _WINDOWS_DEVICES.fullmatch(name):
        raise JournalError(
            f"{what} is the name of its file: up to 60 letters, digits, '-', '_' and '.', "
            f"beginning with a letter or digit, such as {example}."
        )


def sync_folder(folder: Path) -> None:
    """Make a new name last; Windows has no such call and needs none."""
    if os.name == "nt":
        return
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
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

"""A file of chained entries, one a line: each is on the disk before it counts as kept.

One program at a time writes it (`holder`); others may read. A change from outside is found when it is opened
(`lines`), a write that failed leaves the file and what it says as they were (`on_disk`). What its entries mean is
known to its Replay: a job (`journal`) or a survey being taken (`surveys`).
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager, suppress
from datetime import datetime, timedelta
from pathlib import Path
from time import monotonic
from typing import Any, ClassVar, Generic, Self, TypeVar

from msgspec import Struct

from readiness.job import Reading, System
from readiness.records import lines
from readiness.records.holder import HeldElsewhere, Hold, Holder
from readiness.records.lines import Entry, Head, LineFault
from readiness.records.loading import MOST_BYTES, Loaded, check_name, load
from readiness.records.on_disk import JournalError, OnDisk, disk, set_aside, sync_folder, write_whole
from readiness.records.replay import Replay

__all__ = [
    "MOST_BYTES", "SUFFIX", "Chained", "Head", "HeldElsewhere", "Holder", "JournalError", "check_name", "disk",
    "sync_folder",
]  # fmt: skip

SUFFIX = ".jsonl"
CLOCK_JITTER = timedelta(seconds=1)
"""A clock that is behind by less is not worth a word."""
R = TypeVar("R", bound=Replay)


class Chained(Generic[R]):
    """One file of entries. Make one with `open`; close it when done, or use it in a `with`."""

    WHAT: ClassVar[str]
    """What the file is of, in words: 'job'."""
    REPLAY: ClassVar[type[Replay]]

    def __init__(self, path: Path) -> None:
        self.path = path
        self.warnings: list[str] = []
        """What was odd and is not an error: a cut-off line set aside, a clock that went backwards."""
        self.locked = self._only_read
        """Why nothing can be entered, a sentence; empty while something can."""
        self._replay: R = self._none_yet()
        self._entries: list[Entry] = []
        self._seen: tuple[Entry, ...] = ()
        self._digest = ""
        self._clock_told = False
        self._since = 0.0
        """What a clock that only goes forwards said when the last entry was read or written."""
        self._waiting: bytes | None = None
        """Lines to be written together."""
        self._file: OnDisk | None = None
        self._hold: Hold | None = None

    @classmethod
    def open(
        cls, path: Path, write: bool = True, *, by: str = "", at: datetime | None = None, or_read: bool = False
    ) -> Self:  # fmt: skip
        """Read the file, and hold it for writing in the name of `by`, unless `write` is False.

        Raises HeldElsewhere where another program writes it, JournalError when it is not there, was
        changed outside the program, was written by a newer one, or cannot be written. With `or_read`, one that
        cannot be written is read, and `locked` says why. Reading locks and writes nothing.
        """
        journal = cls(path)
        with disk(path, "read"):
            if not path.is_file():
                raise JournalError(f"There is no {cls.WHAT} file {path}.")
        if not write:
            odd = journal._load().odd
            journal.warnings += [odd] if odd else []
            return journal
        try:
            journal.take(by, at)
        except JournalError as refused:
            if not or_read:
                raise
            journal._load()
            journal.locked = str(refused)
        if at is not None:
            journal.time(at)  # that the clock is behind is told at once
        return journal

    def take(self, by: str = "", at: datetime | None = None) -> None:
        """Hold for writing what was only read so far, with what others wrote meanwhile.

        Raises HeldElsewhere, JournalError; then it goes on as it was.
        """
        if self._hold is not None:
            return
        hold = self._take_hold(by, at or datetime.now().astimezone())
        try:
            self._begin_writing(hold)
        except JournalError:
            self.close()
            raise
        self.locked = ""

    def held_by(self, by: str) -> None:
        """Tell others in whose name it is held, where that was not known when it was opened."""
        if self._hold is not None:
            self._hold.say_who(by)

    def look_again(self) -> bool:
        """Where it is only read: read what others wrote meanwhile; whether there was something. Raises JournalError."""
        before = self.head
        if self._hold is None:
            self._load()
        return self.head != before

    @property
    def units(self) -> System | None:
        """The unit system last chosen here, None if never."""
        return self._replay.units

    @property
    def entries(self) -> tuple[Entry, ...]:
        """Everything that was ever written here, in order, what was withdrawn later included."""
        if len(self._seen) != len(self._entries) or self._seen[-1:] != tuple(self._entries[-1:]):
            self._seen = tuple(self._entries)
        return self._seen

    @property
    def head(self) -> Head:
        """What the file comes to: with it on paper, nobody can change or shorten the file unnoticed."""
        return Head(self._digest, len(self._entries))

    @property
    def last_at(self) -> datetime:
        """The time of the last entry."""
        return self._entries[-1].at

    def time(self, clock: datetime) -> datetime:
        """What time it is for this file, given what the machine's clock says.

        Where that is behind the last entry, time goes on from there: nothing is hidden, and what was read grows old.
        """
        moment = clock if clock.tzinfo else clock.astimezone()
        if not self._entries or moment >= self.last_at:
            return moment
        if self.last_at - moment > CLOCK_JITTER and not self._clock_told:
            self._clock_told = True
            self.warnings.append(self._clock_warning(moment))
        gone_by = timedelta(seconds=monotonic() - self._since)
        return (self.last_at + max(gone_by, timedelta(microseconds=1))).astimezone(moment.tzinfo)

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

    @contextmanager
    def together(self) -> Iterator[None]:
        """Entries made in here are one write: all of them are kept, or none. Raises JournalError at the end."""
        if self._waiting is not None:
            yield
            return
        remembered, count, digest = self._replay.remember(), len(self._entries), self._digest
        self._waiting = b""
        try:
            yield
            if self._waiting:
                self._write(self._waiting)
        except BaseException:
            self._replay.restore(remembered)
            self._digest = digest
            del self._entries[count:]
            raise
        finally:
            self._waiting = None

    def must_write(self) -> None:
        """Raises JournalError, which says why, where nothing can be entered."""
        if self._file is None:
            raise JournalError(f"Nothing can be entered: {self.locked}")

    def close(self) -> None:
        """Let others write. Nothing is pending: every entry is on the disk already."""
        if self._file is not None:
            self._file.close()
            self._file = None
        if self._hold is not None:
            self._hold.release()
            self._hold = None
        self.locked = self.locked or self._only_read

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
        hold = journal._take_hold(body["by"], at, "created")
        made = False
        try:
            journal._refuse_if_there()
            made = True
            line, entry = journal._next(kind, at, body)
            with disk(path, "created"):
                write_whole(path, line)
                journal._file = OnDisk(path, line, hold)
        except JournalError:
            journal.close()
            if made:
                with suppress(OSError):
                    path.unlink()
            raise
        journal._take_in(line, entry)
        journal.locked = ""
        return journal

    def _refuse_if_there(self) -> None:
        with disk(self.path, "created"):
            if self.path.exists():
                raise JournalError(
                    f"The {self.WHAT} '{self.path.stem}' exists already ({self.path}): resume it, or take another number."
                )

    @classmethod
    def _none_yet(cls) -> Any:
        return cls.REPLAY()

    @property
    def _only_read(self) -> str:
        return f"The {self.WHAT} {self.path.stem} is open for reading only."

    def _load(self) -> Loaded:
        """Read it anew from first to last line. Raises JournalError; then everything stays as it was."""
        read = load(self.path, self._none_yet(), self.WHAT)
        self._check_loaded(read.replay)
        self._replay, self._digest = read.replay, read.lines.last
        self._entries, self._seen, self._since = list(read.lines.entries), read.lines.entries, monotonic()
        return read

    def _check_loaded(self, replay: Any) -> None:
        """Raises JournalError for a sound file that cannot serve."""

    def _begin_writing(self, hold: Hold) -> None:
        """Read it and open its file; a torn line is set aside, and told."""
        read = self._load()
        with disk(self.path, "opened for writing"):
            self._file = OnDisk(self.path, read.data[: read.lines.size], hold)
            if read.lines.torn:
                aside = set_aside(self.path, read.lines.torn)
                self._file.cut(read.lines.torn)
                self.warnings.append(
                    f"{read.odd} It is kept in {aside.name} and does not count; look whether the last answer has "
                    "to be given again."
                )
            elif read.odd:
                self._file.write(b"\n")
                self.warnings.append(f"{read.odd} It was put there.")

    def _known(self, number: int) -> Struct:
        kept = self._replay.kept(number)
        if kept is None:
            raise JournalError(f"There is no entry {number} in {self.path.name} that could be changed.")
        return kept

    # --- writing ---------------------------------------------------------------------------------

    def _take_hold(self, by: str, at: datetime, doing: str = "opened for writing") -> Hold:
        with disk(self.path, doing):
            self._hold = Hold(self.path, by, at)
        self.warnings += self._hold.notices
        return self._hold

    def _keep(self, kind: str, what: Any) -> Any:
        entry = self._append(kind, what.at, lines.body_of(what))
        kept = self._replay.kept(entry.n)
        assert type(kept) is type(what)
        return kept

    def _append(self, kind: str, at: datetime, body: dict[str, Any]) -> Entry:
        self.must_write()
        line, entry = self._next(kind, at, body)
        if self._waiting is not None:
            self._waiting += line
        else:
            self._write(line)
        self._take_in(line, entry)
        return entry

    def _next(self, kind: str, at: datetime, body: dict[str, Any]) -> tuple[bytes, Entry]:
        """The next line, and its entry as it will be read: what the file says is what counts."""
        entry = Entry(len(self._entries) + 1, self._in_order(kind, at), kind, body)
        try:
            line = lines.encode(entry, self._digest)
            entry = lines.decode_one(line, entry.n, self._digest)
            self._replay.check(entry)
        except (LineFault, ValueError) as fault:
            raise JournalError(f"This entry cannot be kept: {fault}.") from None
        if self._file is not None and self._file.size + len(line) > MOST_BYTES:
            raise JournalError(f"{self.path} is full: begin a new {self.WHAT}.")
        return line, entry

    def _take_in(self, line: bytes, entry: Entry) -> None:
        self._replay.take(entry)
        self._digest = lines.digest(line)
        self._entries.append(entry)
        self._since = monotonic()

    def _write(self, data: bytes) -> None:
        """Whole lines, on the disk when this returns. Where another program took the journal, it is only read then."""
        assert self._file is not None
        try:
            with disk(self.path, "written"):
                self._file.write(data)
        except HeldElsewhere as refused:
            self.close()
            self.locked = str(refused)
            raise

    def _in_order(self, kind: str, at: datetime) -> datetime:
        """Never before the last entry, so that what was entered after a thing also counts as after it."""
        moment = self.time(at)
        if not self._entries or moment > self.last_at:
            return moment
        return self.last_at + timedelta(microseconds=1) if self._would_tie(kind) else self.last_at

    def _would_tie(self, kind: str) -> bool:
        """Whether at the last entry's time it could not be told which of two came first."""
        return False

    def _clock_warning(self, moment: datetime) -> str:
        return (
            f"The clock of this machine ({moment:%Y-%m-%d %H:%M}) is behind the last entry "
            f"({self.last_at:%Y-%m-%d %H:%M}); for this {self.WHAT} time goes on from there until the clock has caught "
            "up. Set the clock."
        )

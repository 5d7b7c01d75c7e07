"""Who writes a journal: a lock that one program has, and a small file beside it that says who that is.

The lock is the operating system's and ends with the program, whatever happens to it. The small file only tells;
a lock file cannot, for what is locked cannot be read on every system. Left behind without a lock, it says that a
program ended without closing its journal. Where a file system knows no locks, such as some network shares, the lock is
a file that is there or not (filelock's soft lock); one that a dead program left is known by that program's number,
on the machine where it ran.
"""

from __future__ import annotations

import errno
import os
import platform
from contextlib import suppress
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import msgspec
from msgspec import Struct

from readiness.records.on_disk import JournalError
from readiness.records.replay import harmless

if TYPE_CHECKING:
    from filelock import BaseFileLock

NO_LOCKS = {errno.ENOSYS, errno.ENOTSUP, errno.EOPNOTSUPP, errno.ENOLCK}
"""What a file system says that knows no locks."""
LOCK, SOFT_LOCK, HELD = "lock", "soft-lock", "held"
"""Endings of the files beside a journal."""
LONGEST = 60
"""Characters of a name."""


class Holder(Struct, frozen=True, omit_defaults=True):
    """The program that writes a journal; whatever is not known is empty."""

    by: str = ""
    machine: str = ""
    since: datetime | None = None
    process: int = 0

    @property
    def who(self) -> str:
        return self.by or "Another program"

    def where_and_when(self, now: datetime) -> str:
        """' on bench-2 since 10:02'; with the day unless it is today."""
        where = f" on {self.machine}" if self.machine else ""
        if self.since is None:
            return where
        since, today = self.since.astimezone(now.tzinfo), now.date()
        return (
            f"{where} since {since:%H:%M}" if since.date() == today else f"{where} since {since:%d %b, %H:%M}"
        )


class HeldElsewhere(JournalError):
    """Another program writes the journal; says who, on which machine, since when."""

    def __init__(self, said: str, holder: Holder) -> None:
        super().__init__(said)
        self.holder = holder


class Hold:
    """A journal held for writing, until `release`."""

    def __init__(self, path: Path, by: str, at: datetime) -> None:
        """Raises HeldElsewhere where another program holds it, OSError where it cannot be held at all."""
        self.path, self.by, self.at = path, by, at
        self.notices: list[str] = []
        """What was odd about it; a sentence each."""
        self._lock: BaseFileLock | None = None
        self._take()

    @property
    def held(self) -> bool:
        """Not after `again` was refused."""
        return self._lock is not None

    def again(self) -> None:
        """Take the lock anew: it lies beside the journal, and may have gone and come back with it. Raises as making one."""
        self._let_go()
        self._take()

    def release(self) -> None:
        if self.held:
            with suppress(OSError):
                _beside(self.path, HELD).unlink(missing_ok=True)
        self._let_go()

    def _take(self) -> None:
        self._lock = self._locked()
        left = read_holder(self.path)
        if left is not None and left.process != os.getpid():
            self.notices.append(
                f"{left.who} had {self.path.stem} open{left.where_and_when(self.at)}, and that program ended without "
                "closing it. What it had shown as kept is here."
            )
        self.say_who(self.by)

    def say_who(self, by: str) -> None:
        """Tell in whose name it is held, from now on."""
        self.by = by
        holder = Holder(by[:LONGEST], platform.node()[:LONGEST], self.at, os.getpid())
        with suppress(OSError):  # it only tells; a full disk is no reason not to go on
            _beside(self.path, HELD).write_bytes(msgspec.json.encode(holder))

    def _let_go(self) -> None:
        lock, self._lock = self._lock, None
        if lock is not None:
            with suppress(OSError):  # it went away with its folder
                lock.release()

    def _locked(self) -> BaseFileLock:
        from filelock import FileLock, Timeout

        lock = FileLock(_beside(self.path, LOCK), timeout=0, thread_local=False, fallback_to_soft=False)
        try:
            lock.acquire()
        except Timeout:
            raise self._elsewhere() from None
        except (NotImplementedError, OSError) as fault:
            if isinstance(fault, OSError) and fault.errno not in NO_LOCKS:
                raise
            return self._softly_locked()
        return lock

    def _softly_locked(self) -> BaseFileLock:
        from filelock import SoftFileLock, Timeout

        stands_in = _beside(self.path, SOFT_LOCK)
        lock = SoftFileLock(stands_in, timeout=0, thread_local=False)
        try:
            lock.acquire()
        except Timeout:
            raise self._elsewhere(f" If it runs there no more, delete {stands_in}.") from None
        self.notices.append(
            f"The file system of {self.path.parent} knows no locks; a file stands in for one, {stands_in.name}."
        )
        return lock

    def _elsewhere(self, what_to_do: str = "") -> HeldElsewhere:
        holder = read_holder(self.path) or Holder()
        said = f"{holder.who} has {self.path.stem} open{holder.where_and_when(self.at)}."
        return HeldElsewhere(said + what_to_do, holder)


def read_holder(path: Path) -> Holder | None:
    """Who holds a journal, or held it to the end; None where that is not said."""
    try:
        with _beside(path, HELD).open("rb") as stream:
            found = msgspec.json.decode(stream.read(10_000))
        return msgspec.convert(harmless(found), Holder)
    except (OSError, msgspec.MsgspecError, UnicodeDecodeError, RecursionError):
        return None


def _beside(path: Path, ending: str) -> Path:
    return path.with_name(f"{path.name}.{ending}")

"""The jobs of a shop with how each stands, kept from one look to the next in the user's cache folder.

The file kept there is only a cache: missing, damaged, of another program or not to be written, it is done without,
and everything is worked out from the journals. Of a journal it holds what a list shows, how the job stood, and until
when that is so without another entry; and against that the size, the times and the number of the file, the digest of
what it said, and the digest of all else that the judgement rests on.

A journal is read again when its size, times or number changed, or when it was last written so shortly before it was
read that another change might bear the same time. What is not noticed: a change by somebody who afterwards sets back
the size and all times of the file, which a POSIX system lets only its administrator do.
"""

from __future__ import annotations

import os
import threading
import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import suppress
from datetime import datetime
from pathlib import Path

import msgspec
from msgspec.structs import replace

from readiness.jobstate import JobState, job_state, steady_until
from readiness.records.basis import Basis, basis
from readiness.records.chained import disk
from readiness.records.index_file import Cache, Judged, Kept, Stamp, Told, read, store_of, write
from readiness.records.journal import SUFFIX, Journal, JournalError
from readiness.records.lines import LineFault
from readiness.records.listing import JobLine, glance, newest_first
from readiness.records.past import Past, past
from readiness.records.shop import ShopError, ShopFolder

WORTH_IT = 64
"""Jobs; fewer are looked through quicker than anybody notices, so nothing is kept of them."""
SAME_TIME = 3.0
"""Seconds within which two changes may bear one time; some file systems count in steps of two."""
SAVE_AFTER = 10.0
"""Seconds of work that may be lost when the program is killed."""
Heard = Callable[[str, float], bool]
"""Told what is worked on and the share done; says whether to go on."""


class JobIndex:
    """The jobs of one shop. Threads may share it."""

    def __init__(self, folder: ShopFolder, store: Path | None = None, worth_it: int | None = None) -> None:
        self._shop = folder.path.resolve()
        self._jobs_folder = folder.jobs_folder
        self._folder = ShopFolder(folder.path)
        self._store = store or store_of(self._shop)
        self._worth_it = WORTH_IT if worth_it is None else worth_it
        self._kept = self._loaded()
        self._basis: Basis | None = None
        self._digests: dict[tuple[str, ...], bytes] = {}
        self._unsaved = False
        self._lock = threading.RLock()

    def lines(self, most: int | None = None, heard: Heard = lambda what, share: True) -> list[JobLine]:
        """All jobs at a glance, the latest touched first, those that cannot be read last.

        With `most` only so many, the latest by the times of their files; that is quick in any folder.
        Raises JournalError for a folder that cannot be read.
        """
        with self._lock:
            found = _stamps(self._jobs_folder)
            if most is not None:
                latest = sorted(found, key=lambda name: -found[name][1])[:most]
                return newest_first([self._glanced(name, found[name]) for name in latest])
            for gone in self._kept.keys() - found.keys():
                del self._kept[gone]
                self._unsaved = True
            try:
                return newest_first(self._all(found, heard))
            finally:
                self.save()

    def _all(self, found: dict[str, Stamp], heard: Heard) -> Iterator[JobLine]:
        for n, (name, stamp) in enumerate(found.items()):
            if not heard("reading the journals", n / len(found)):
                return
            yield self._glanced(name, stamp)

    def states(
        self,
        lines: Iterable[JobLine],
        now: datetime,
        heard: Heard = lambda what, share: True,
        each: Callable[[JobLine, JobState], None] = lambda line, state: None,
    ) -> dict[str, JobState]:
        """How these jobs stand at `now`, by number; fewer where `heard` says to stop. `each` is told of every one at once.

        What was worked out is kept, also when this is interrupted.
        """
        found: dict[str, JobState] = {}

        def look(line: JobLine) -> None:
            found[line.id] = self._state(line, now)
            each(line, found[line.id])

        self._for_each(list(lines), look, "judging the jobs", heard)
        return found

    def pasts(self, lines: Iterable[JobLine], heard: Heard = lambda what, share: True) -> dict[str, Past]:
        """What was in the way of a go in these jobs, by number; fewer where `heard` says to stop.

        What was worked out is kept, also when this is interrupted.
        """
        found: dict[str, Past] = {}

        def look(line: JobLine) -> None:
            found[line.id] = self._past(line)

        self._for_each(list(lines), look, "looking at what was in the way", heard)
        return found

    def _for_each(
        self, lines: list[JobLine], look: Callable[[JobLine], None], what: str, heard: Heard
    ) -> None:
        with self._lock:
            self._look_at_the_shop()
            saved = time.monotonic()
            try:
                for n, line in enumerate(lines):
                    if not heard(what, n / len(lines)):
                        break
                    look(line)
                    if time.monotonic() - saved > SAVE_AFTER:
                        self.save()
                        saved = time.monotonic()
            finally:
                self.save()

    def save(self) -> None:
        """Keep what is known; where the disk does not take it, the next look takes longer, and that is all."""
        with self._lock:
            if not self._unsaved or len(self._kept) < self._worth_it:
                return
            self._unsaved = False
            # files of the shop that were changed while they were read: what was judged may be of before or after
            if self._basis is not None and _basis_of(self._folder) != self._basis:
                self._kept = {
                    name: replace(kept, judged=None, told=None) for name, kept in self._kept.items()
                }
            with suppress(OSError, ValueError, msgspec.MsgspecError):
                write(self._store, Cache(str(self._shop), self._kept))

    # --- one journal -----------------------------------------------------------------------------

    def _glanced(self, name: str, stamp: Stamp) -> JobLine:
        kept = self._kept.get(name)
        if kept is not None and kept.stamp == stamp and stamp[1] / 1e9 < kept.read_at - SAME_TIME:
            return kept.line
        read_at = time.time()
        line, digest = glance(self._jobs_folder / name)
        if kept is None or kept.digest != digest:
            kept = Kept(stamp, read_at, digest, line)
        if digest and name.isascii():
            self._kept[name] = replace(kept, stamp=stamp, read_at=read_at, line=line)
            self._unsaved = True
        return line

    def _state(self, line: JobLine, now: datetime) -> JobState:
        if line.problem:
            return JobState((), problem=line.problem)
        kept = self._kept.get(line.path.name)
        rests_on = self._rests_on(line.sheet, line.bay, *line.before)
        judged = kept.judged if kept is not None else None
        if (
            judged is not None and judged.basis == rests_on
            and judged.since <= now and (judged.until is None or now < judged.until)
        ):  # fmt: skip
            return judged.state
        state, until, lasting = _judged(self._folder, line, now)
        if kept is not None and lasting and rests_on:
            self._kept[line.path.name] = replace(kept, judged=Judged(rests_on, now, until, state))
            self._unsaved = True
        return state

    def _past(self, line: JobLine) -> Past:
        if line.problem:
            return Past(problem=line.problem)
        kept = self._kept.get(line.path.name)
        rests_on = self._rests_on(line.sheet, line.bay, *line.before)
        if kept is not None and kept.told is not None and kept.told.basis == rests_on:
            return kept.told.past
        told, lasting = _told(self._folder, line)
        if kept is not None and lasting and rests_on:
            self._kept[line.path.name] = replace(kept, told=Told(rests_on, told))
            self._unsaved = True
        return told

    def _rests_on(self, *sheet_and_bays: str) -> bytes:
        """The digest of all that counts beside the journal; empty where it cannot be told."""
        if self._basis is None:
            return b""
        if sheet_and_bays not in self._digests:
            self._digests[sheet_and_bays] = self._basis.of(*sheet_and_bays)
        return self._digests[sheet_and_bays]

    def _look_at_the_shop(self) -> None:
        """What the shop's folder has read of its files serves as long as these are the same."""
        found = _basis_of(self._folder)
        if found is None or found != self._basis:
            self._basis, self._digests, self._folder = found, {}, ShopFolder(self._folder.path)

    def _loaded(self) -> dict[str, Kept]:
        try:
            return read(self._store, str(self._shop), self._jobs_folder)
        except (OSError, ValueError, RecursionError, msgspec.MsgspecError):
            return {}


def _basis_of(folder: ShopFolder) -> Basis | None:
    try:
        return basis(folder)
    except OSError:
        return None


def _stamps(folder: Path) -> dict[str, Stamp]:
    """The journals in a folder, each with what tells whether it was changed, by name. Raises JournalError."""
    found: dict[str, Stamp] = {}
    with disk(
        folder.parent, "read"
    ):  # a share that is gone has no jobs to list, which is not the same as none
        folder.parent.stat()
    with disk(folder, "read"):
        try:
            with os.scandir(folder) as entries:
                names = [entry for entry in entries if entry.name.endswith(SUFFIX)]
        except (FileNotFoundError, NotADirectoryError):
            return found
    for entry in sorted(names, key=lambda entry: entry.name):
        try:
            # on Windows a folder's list tells of an open file only what it was before
            seen = Path(entry.path).stat() if os.name == "nt" else entry.stat()
        except OSError:  # it went away meanwhile, or is a link that leads nowhere
            seen = None
        found[entry.name] = (
            (0, 0, 0, 0) if seen is None else (seen.st_size, seen.st_mtime_ns, seen.st_ctime_ns, seen.st_ino)
        )
    return found


def _judged(folder: ShopFolder, line: JobLine, now: datetime) -> tuple[JobState, datetime | None, bool]:
    """How a job stands, until when, and whether that follows from the files that count; see `steady_until`."""
    try:
        journal = Journal.open(line.path, write=False)
        visit = folder.visit(journal.job)
        last = journal.last_at
        now = max(now, last)  # a clock that is behind hides no entry
        return job_state(visit, last, now), steady_until(visit, last, now), True
    except Exception as fault:  # one odd job must not hide the others
        problem, lasting = _why(fault)
        return JobState((), problem=problem), None, lasting


def _told(folder: ShopFolder, line: JobLine) -> tuple[Past, bool]:
    """What a job tells of its past, and whether that follows from the files that count."""
    try:
        return past(folder.visit(Journal.open(line.path, write=False).job)), True
    except Exception as fault:
        problem, lasting = _why(fault)
        return Past(problem=problem), lasting


def _why(fault: Exception) -> tuple[str, bool]:
    """Why a job cannot be judged, and whether that follows from the files that count."""
    if isinstance(fault, JournalError):
        cause = fault.__context__
        told = f"line {cause.number}: {cause.what}" if isinstance(cause, LineFault) else str(fault)
        return told, not isinstance(fault.__cause__, OSError)
    if isinstance(fault, ShopError):  # it may name other files of the shop
        return str(fault), False
    return f"it cannot be judged ({type(fault).__name__}: {fault})", False

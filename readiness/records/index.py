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
import tempfile
import threading
import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import suppress
from datetime import datetime
from hashlib import sha256
from pathlib import Path
from typing import Any

import msgspec
from msgspec import Struct
from msgspec.structs import replace

from readiness.jobstate import JobState, job_state, steady_until
from readiness.records.basis import Basis, basis
from readiness.records.chained import disk
from readiness.records.journal import SUFFIX, Journal, JournalError
from readiness.records.lines import LineFault
from readiness.records.listing import JobLine, glance, newest_first
from readiness.records.shop import ShopError, ShopFolder

FORMAT = b"readiness jobs 3\n"
WORTH_IT = 64
"""Jobs; fewer are looked through quicker than anybody notices, so nothing is kept of them."""
SAME_TIME = 3.0
"""Seconds within which two changes may bear one time; some file systems count in steps of two."""
SAVE_AFTER = 10.0
"""Seconds of work that may be lost when the program is killed."""
FORGOTTEN = 200 * 86_400.0
"""Seconds after which the cache of a shop that nobody opened is removed."""

Heard = Callable[[str, float], bool]
"""Told what is worked on and the share done; says whether to go on."""
Stamp = tuple[int, int, int, int]


class _Judged(Struct, frozen=True, array_like=True):
    """How a job stands from `since` until before `until`, as long as what it rests on has this digest."""

    basis: bytes
    since: datetime
    until: datetime | None
    state: JobState


class _Kept(Struct, frozen=True, array_like=True):
    """What is known of one journal."""

    stamp: Stamp
    read_at: float
    digest: bytes
    line: JobLine
    judged: _Judged | None = None


class _Cache(Struct, array_like=True):
    shop: str
    jobs: dict[str, _Kept]
    """By name of the file."""


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
        lines, found = list(lines), {}
        with self._lock:
            self._look_at_the_shop()
            saved = time.monotonic()
            try:
                for n, line in enumerate(lines):
                    if not heard("judging the jobs", n / len(lines)):
                        break
                    found[line.id] = self._state(line, now)
                    each(line, found[line.id])
                    if time.monotonic() - saved > SAVE_AFTER:
                        self.save()
                        saved = time.monotonic()
            finally:
                self.save()
        return found

    def save(self) -> None:
        """Keep what is known; where the disk does not take it, the next look takes longer, and that is all."""
        with self._lock:
            if not self._unsaved or len(self._kept) < self._worth_it:
                return
            self._unsaved = False
            # files of the shop that were changed while they were read: what was judged may be of before or after
            if self._basis is not None and _basis_of(self._folder) != self._basis:
                self._kept = {name: replace(kept, judged=None) for name, kept in self._kept.items()}
            with suppress(OSError, ValueError, msgspec.MsgspecError):
                _write(self._store, _Cache(str(self._shop), self._kept))

    # --- one journal -----------------------------------------------------------------------------

    def _glanced(self, name: str, stamp: Stamp) -> JobLine:
        kept = self._kept.get(name)
        if kept is not None and kept.stamp == stamp and stamp[1] / 1e9 < kept.read_at - SAME_TIME:
            return kept.line
        read_at = time.time()
        line, digest = glance(self._jobs_folder / name)
        judged = kept.judged if kept is not None and kept.digest == digest else None
        if digest and name.isascii():
            self._kept[name] = _Kept(stamp, read_at, digest, line, judged)
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
            self._kept[line.path.name] = replace(kept, judged=_Judged(rests_on, now, until, state))
            self._unsaved = True
        return state

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

    def _loaded(self) -> dict[str, _Kept]:
        try:
            return _read(self._store, str(self._shop), self._jobs_folder)
        except (OSError, ValueError, RecursionError, msgspec.MsgspecError):
            return {}


def store_of(shop: Path) -> Path:
    """The cache of a shop: one file for each folder, named by a digest of its place."""
    from platformdirs import user_cache_path

    name = sha256(os.fsencode(shop)).hexdigest()[:20]
    return user_cache_path("readiness", appauthor=False) / "jobs" / f"{name}.cache"


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
    except JournalError as fault:
        cause = fault.__context__
        lasting = not isinstance(fault.__cause__, OSError)
        told = f"line {cause.number}: {cause.what}" if isinstance(cause, LineFault) else str(fault)
        return JobState((), problem=told), None, lasting
    except ShopError as fault:  # it may name other files of the shop
        return JobState((), problem=str(fault)), None, False
    except Exception as fault:  # one odd job must not hide the others
        return JobState((), problem=f"it cannot be judged ({type(fault).__name__}: {fault})"), None, False


# --- the file ------------------------------------------------------------------------------------


def _read(store: Path, shop: str, jobs_folder: Path) -> dict[str, _Kept]:
    """Raises OSError or ValueError for everything that is not a whole cache of this shop and format."""
    data = store.read_bytes()
    head = len(FORMAT)
    digest, packed = data[head : head + 32], data[head + 32 :]
    if data[:head] != FORMAT or sha256(packed).digest() != digest:
        raise ValueError("no cache of this format")
    cache = msgspec.msgpack.decode(packed, type=_Cache, dec_hook=lambda _, name: jobs_folder / str(name))
    if cache.shop != shop:
        raise ValueError("the cache of another shop")
    return cache.jobs


def _write(store: Path, cache: _Cache) -> None:
    """Whole or not at all; of two programs at once the later one counts."""
    packed = msgspec.msgpack.encode(cache, enc_hook=_named)
    store.parent.mkdir(parents=True, exist_ok=True)
    if not store.exists():
        _forget_old(store.parent)
    descriptor, name = tempfile.mkstemp(prefix=f"{store.stem}-", suffix=".part", dir=store.parent)
    try:
        with os.fdopen(descriptor, "wb") as stream:
            stream.write(FORMAT + sha256(packed).digest() + packed)
        Path(name).replace(store)
    except BaseException:
        with suppress(OSError):
            Path(name).unlink()
        raise


def _named(what: Any) -> str:
    if isinstance(what, Path):
        return what.name
    raise TypeError(type(what).__name__)


def _forget_old(folder: Path) -> None:
    """Remove what is left of shops that are no more, and of writes that were cut off."""
    for path in folder.iterdir():
        with suppress(OSError):
            if time.time() - path.stat().st_mtime > FORGOTTEN:
                path.unlink()

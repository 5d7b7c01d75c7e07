"""A disk that fails at one call, or from one call on: every write, fsync, truncate, rename and opening goes by it."""

from __future__ import annotations

import errno
import os
from dataclasses import dataclass
from pathlib import Path

import pytest

HOW = ("refused", "half", "stays", "died", "done")
UNCOUNTED = (".lock", ".held")
"""Files beside a journal that hold nothing which was entered."""


class Died(BaseException):
    """The machine stopped at this call."""


@dataclass
class Disk:
    """Counts the calls that reach the disk; one of them, or all from it on, go wrong.

    `how`: 'refused' (an error, nothing done), 'half' (a write stops in the middle, then an error), 'stays' (all
    later calls are refused too), 'died' (a write stops in the middle and the program is gone), 'done' (the call is done,
    and then the program is gone).
    """

    fails_at: int = -1
    how: str = "refused"
    calls: int = 0

    def call(self, do, *given, **named):
        here, self.calls = self.calls, self.calls + 1
        hit = here == self.fails_at or (self.how == "stays" and 0 <= self.fails_at <= here)
        if not hit:
            return do(*given, **named)
        if self.how in ("half", "died") and given and isinstance(given[0], (bytes, memoryview)):
            do(bytes(given[0])[: len(given[0]) // 2])
        if self.how == "done":
            do(*given, **named)
        if self.how in ("died", "done"):
            raise Died
        raise OSError(errno.ENOSPC, "No space left on device")


class Stream:
    """A file of a journal, all of whose calls go by the disk."""

    def __init__(self, stream, disk: Disk) -> None:
        self.stream, self.disk = stream, disk

    def __getattr__(self, name):
        real = getattr(self.stream, name)
        if name in ("write", "truncate", "flush"):
            return lambda *given: self.disk.call(real, *given)
        return real

    def __enter__(self):
        return self

    def __exit__(self, *fault):
        self.stream.close()


def on(disk: Disk, patch: pytest.MonkeyPatch) -> None:
    """From now on the files of journals and surveys lie on this disk."""
    opened, replaced, synced = Path.open, Path.replace, os.fsync

    def open_path(path, mode="r", *more, **named):
        if not is_ours(path) or "b" not in mode or mode == "rb":
            return opened(path, mode, *more, **named)
        return Stream(disk.call(opened, path, mode, *more, **named), disk)

    def replace_path(path, target):
        return disk.call(replaced, path, target) if is_ours(path) else replaced(path, target)

    patch.setattr(Path, "open", open_path)
    patch.setattr(Path, "replace", replace_path)
    patch.setattr(os, "fsync", lambda descriptor: disk.call(synced, descriptor))


def is_ours(path: Path) -> bool:
    return (".jsonl" in path.name or ".yaml.new" in path.name) and path.suffix not in UNCOUNTED

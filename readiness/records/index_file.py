"""The file in the user's cache folder that holds what the index of jobs knows from one look to the next.

Whole or not at all: it begins with its format and a digest of the rest.
"""

from __future__ import annotations

import os
import tempfile
import time
from contextlib import suppress
from datetime import datetime
from hashlib import sha256
from pathlib import Path
from typing import Any

import msgspec
from msgspec import Struct

from readiness.jobstate import JobState
from readiness.records.listing import JobLine
from readiness.records.past import Past

FORMAT = b"readiness jobs 4\n"
FORGOTTEN = 200 * 86_400.0
"""Seconds after which the cache of a shop that nobody opened is removed."""

Stamp = tuple[int, int, int, int]


class Judged(Struct, frozen=True, array_like=True):
    """How a job stands from `since` until before `until`, as long as what it rests on has this digest."""

    basis: bytes
    since: datetime
    until: datetime | None
    state: JobState


class Told(Struct, frozen=True, array_like=True):
    """What a job tells of its past, as long as what it rests on has this digest."""

    basis: bytes
    past: Past


class Kept(Struct, frozen=True, array_like=True):
    """What is known of one journal."""

    stamp: Stamp
    read_at: float
    digest: bytes
    line: JobLine
    judged: Judged | None = None
    told: Told | None = None


class Cache(Struct, array_like=True):
    shop: str
    jobs: dict[str, Kept]
    """By name of the file."""


def store_of(shop: Path) -> Path:
    """The cache of a shop: one file for each folder, named by a digest of its place."""
    from platformdirs import user_cache_path

    name = sha256(os.fsencode(shop)).hexdigest()[:20]
    return user_cache_path("readiness", appauthor=False) / "jobs" / f"{name}.cache"


def read(store: Path, shop: str, jobs_folder: Path) -> dict[str, Kept]:
    """Raises OSError or ValueError for everything that is not a whole cache of this shop and format."""
    data = store.read_bytes()
    head = len(FORMAT)
    digest, packed = data[head : head + 32], data[head + 32 :]
    if data[:head] != FORMAT or sha256(packed).digest() != digest:
        raise ValueError("no cache of this format")
    cache = msgspec.msgpack.decode(packed, type=Cache, dec_hook=lambda _, name: jobs_folder / str(name))
    if cache.shop != shop:
        raise ValueError("the cache of another shop")
    return cache.jobs


def write(store: Path, cache: Cache) -> None:
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

"""From what a person names on the command line to the journals that are meant."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

from msgspec import Struct

from readiness.records.chained import SUFFIX, JournalError, check_name
from readiness.records.shop import SHOP_FILE, ShopError, ShopFolder, default_folder

Heard = Callable[[str, float], bool]


class Journals(Struct, frozen=True):
    """Journals of jobs and of surveys, each once, in the order in which they were named."""

    paths: tuple[Path, ...]
    unread: tuple[str, ...]
    """Folders that could not be looked into, a sentence each."""


def journals(names: Sequence[str], shop: Path | None, heard: Heard | None = None) -> Journals:
    """The journals of these files, folders, shops and jobs' numbers. Raises ShopError for what is none of them."""
    found: list[Path] = []
    unread: list[str] = []
    for name in names:
        before = len(found), len(unread)
        for path in _named(name, shop, unread):
            found.append(path)
            if heard is not None:
                heard(f"{len(found):,} journals found", 0.0)
        if (len(found), len(unread)) == before:
            raise ShopError(f"There is no journal in {name}: no file there has a name that ends in {SUFFIX}.")
    return Journals(tuple(dict.fromkeys(found)), tuple(unread))


def _named(name: str, shop: Path | None, unread: list[str]) -> Iterator[Path]:
    path = Path(name)
    try:
        folder, there = path.is_dir(), os.path.lexists(path)
    except (OSError, ValueError):
        folder = there = False
    if folder:
        yield from _below(path, unread)
    elif there or path.suffix == SUFFIX or path.name != name:
        yield _file(path, there)
    else:
        yield _numbered(name, ShopFolder(shop or default_folder()))


def _file(path: Path, there: bool) -> Path:
    if not there:
        raise ShopError(f"There is no file {path}.")
    if path.suffix.lower() in (".yaml", ".yml"):
        raise ShopError(f"{path} is no journal; 'readiness lint {path}' finds its mistakes.")
    return path


def _below(folder: Path, unread: list[str]) -> Iterator[Path]:
    """In a shop's folder those that belong there, in any other all that are in it."""
    if (folder / SHOP_FILE).is_file():
        for place in ("jobs", "surveys"):
            yield from _in(folder / place, unread, deep=False)
    else:
        yield from _in(folder, unread, deep=True)


def _in(folder: Path, unread: list[str], *, deep: bool) -> Iterator[Path]:
    """By name; linked folders are followed, but none is entered twice."""

    def missed(fault: OSError) -> None:
        if not isinstance(fault, FileNotFoundError):
            why = (fault.strerror or type(fault).__name__).lower()
            unread.append(f"The folder {fault.filename or folder} could not be looked into: {why}.")

    entered: set[str] = set()
    for here, folders, files in os.walk(folder, onerror=missed, followlinks=True):
        real = os.path.realpath(here)
        odd = [name for name in folders if _is_journal(name)]
        # what is left in the list is walked next
        folders[:] = sorted(set(folders) - set(odd)) if deep and real not in entered else []
        if real not in entered:
            yield from (Path(here, name) for name in sorted([*files, *odd]) if _is_journal(name))
        entered.add(real)


def _is_journal(name: str) -> bool:
    """By its name; what begins with a dot was put there by something else, and no job is called so."""
    return name.endswith(SUFFIX) and not name.startswith(".")


def _numbered(name: str, folder: ShopFolder) -> Path:
    """The journal of that job or survey. Raises ShopError."""
    try:
        folder.shop  # noqa: B018  a missing shop is the better message than a missing job
        check_name(name)
    except (JournalError, ShopError) as error:
        raise ShopError(f"There is no file {name}, and as a job's number it is of no use: {error}") from None
    for place in (folder.jobs_folder, folder.surveys_folder):
        path = place / f"{name}{SUFFIX}"
        if os.path.lexists(path):
            return path
    known = ", ".join(line.id for line in folder.jobs()[:12])
    latest = f" The latest are: {known}." if known else ""
    raise ShopError(f"There is no file {name}, and no job or survey '{name}' in {folder.path}.{latest}")

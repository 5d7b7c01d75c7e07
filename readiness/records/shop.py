"""A shop's folder: its own file, instruments, bays, sheets and jobs, each read when first needed.

shop.yaml  instruments.yaml  bays/*.yaml  sheets/*.yaml  surveys/*.yaml  jobs/*.jsonl  [checklists/*.yaml]
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from datetime import datetime
from functools import cached_property
from pathlib import Path
from typing import Generic, TypeVar

from msgspec.structs import replace

from readiness.checklist.mistakes import FileMistakes, Mistake, near
from readiness.checklist.model import Checklist
from readiness.checks.finding import Visit
from readiness.job import Bay, Instrument, Job, Sheet, Shop, Survey, System
from readiness.records import places
from readiness.records.journal import SUFFIX, Journal, JournalError, check_name
from readiness.records.listing import JobLine, job_line
from readiness.records.wall_clock import on_the_wall

__all__ = ["SHOP_FILE", "Files", "JobLine", "ShopError", "ShopFolder", "default_folder"]

T = TypeVar("T")
SHOP_FILE = "shop.yaml"


class ShopError(Exception):
    """Something of the shop is missing or cannot be used; whole sentences, one a line."""

    def __init__(self, message: str, mistakes: tuple[Mistake, ...] = ()) -> None:
        super().__init__(message)
        self.mistakes = mistakes


class Files(Mapping[str, T], Generic[T]):
    """The YAML files of one kind in a folder, by the id that each says in its first key.

    Each is read at first use and kept. Looking one up raises ShopError if it has mistakes, or if two files
    say its id: which of them counts is not for the program to choose.
    """

    def __init__(self, folder: Path, kind: str, read: Callable[[Path], T]) -> None:
        self.folder = folder
        self.kind = kind
        self._read = read
        self._kept: dict[str, T] = {}

    @cached_property
    def files(self) -> tuple[tuple[str, Path], ...]:
        """Every file with the id that it says, by name of the file."""
        from readiness.checklist.load import yaml_files

        try:
            return tuple((id_in(path, self.kind), path) for path in yaml_files(self.folder))
        except OSError as fault:
            why = (fault.strerror or type(fault).__name__).lower()
            raise ShopError(f"The folder {self.folder} cannot be read: {why}.") from fault

    @cached_property
    def paths(self) -> dict[str, Path]:
        """Id -> file, the first of two with one id."""
        found: dict[str, Path] = {}
        for name, path in self.files:
            found.setdefault(name, path)
        return found

    def __getitem__(self, name: str) -> T:
        if name not in self._kept:
            path = self.paths[name]
            again = next((p for id, p in self.files if id == name and p != path), None)
            if again is not None:
                raise ShopError(
                    f"{again} and {path.name} both say '{self.kind}: {name}': give each an id of its own, or take one away."
                )
            self._kept[name] = _trusted(self._read, path)
        return self._kept[name]

    def forget(self) -> None:
        """Read everything anew when it is needed next: files were written meanwhile."""
        self._kept.clear()
        for worked_out in ("files", "paths"):
            self.__dict__.pop(worked_out, None)

    def __iter__(self) -> Iterator[str]:
        return iter(self.paths)

    def __len__(self) -> int:
        return len(self.paths)

    def __contains__(self, name: object) -> bool:
        return name in self.paths

    def good(self) -> dict[str, T]:
        """Those that can be read; for lists to choose from."""
        found: dict[str, T] = {}
        for name in self:
            try:
                found[name] = self[name]
            except ShopError:
                continue
        return found

    def mistakes(self) -> tuple[Mistake, ...]:
        """All mistakes in files of this kind."""
        found: list[Mistake] = []
        for name in self:
            try:
                self[name]
            except ShopError as error:
                found += error.mistakes
        return tuple(found)

    def named(self, name: str, who: str) -> T:
        """The one that `who` names. Raises ShopError listing those there are."""
        if name in self:
            return self[name]
        there = ", ".join(self) or "none"
        hint = near(name, self)
        raise ShopError(
            f"{who} names the {self.kind} '{name}', which is not in {self.folder} (there: {there})."
            + (f" {hint}" if hint else "")
        )


class ShopFolder:
    """One shop. Making one reads nothing; every property raises ShopError for what is wrong."""

    def __init__(self, path: Path) -> None:
        self.path = path
        from readiness.checklist import files

        self.bays: Files[Bay] = Files(path / "bays", "bay", self._read_bay)
        """Each with its newest survey."""
        self.surveys: Files[Survey] = Files(path / "surveys", "survey", files.read_survey)
        self.sheets: Files[Sheet] = Files(path / "sheets", "sheet", files.read_sheet)
        self._lists: dict[str, Checklist] = {}
        self._with_limits: dict[str, Checklist] = {}

    @classmethod
    def find(cls, start: Path) -> ShopFolder | None:
        """The shop that a file lies in: the nearest folder above it with a shop file."""
        for folder in start.absolute().parents:
            if (folder / SHOP_FILE).is_file():
                return cls(folder)
        return None

    @cached_property
    def shop(self) -> Shop:
        """The shop's own file."""
        from readiness.checklist.files import read_shop

        path = self.path / SHOP_FILE
        if not path.is_file():
            begin = f"readiness new-shop {argument(self.path)}".strip()
            raise ShopError(
                f"There is no shop in {self.path}: it has no {SHOP_FILE}. To begin one there: {begin}. "
                "To use another folder: --shop DIR. To look at the invented shop: readiness demo."
            )
        return _trusted(read_shop, path)

    @cached_property
    def instruments(self) -> dict[str, Instrument]:
        """Instruments by id; none without the file."""
        from readiness.checklist.files import read_instruments

        path = self.path / "instruments.yaml"
        if not path.is_file():
            return {}
        return {i.id: i for i in _trusted(read_instruments, path).instruments}

    def checklist(self, name: str, who: str = "This") -> Checklist:
        """A checklist by id: the shop's own if there is one, otherwise the shipped one."""
        if name not in self._lists:
            path = self.checklist_paths.get(name)
            if path is None:
                there = ", ".join(self.checklist_paths) or "none"
                raise ShopError(f"{who} names the checklist '{name}', which is not there (known: {there}).")
            self._lists[name] = self._read_checklist(path)
        return self._lists[name]

    @cached_property
    def checklist_paths(self) -> dict[str, Path]:
        """Checklist id -> file; the shop's own before the shipped."""
        from readiness.checklist.load import yaml_files

        found: dict[str, Path] = {}
        for folder in self.checklist_folders:
            for path in yaml_files(folder):
                found.setdefault(id_in(path, "checklist"), path)
        return found

    @property
    def checklist_folders(self) -> tuple[Path, ...]:
        """Where checklists and their common parts may lie."""
        own = self.path / "checklists"
        return (own, places.checklists()) if own.is_dir() else (places.checklists(),)

    def visit(self, job: Job, units: System | None = None) -> Visit:
        """Everything a judgement of this job looks at, with the sheet's limits in place.

        `units` shows quantities in another system than the shop's.
        """
        who = f"The job {job.job}"
        sheet = self.sheets.named(job.sheet, who)
        bay = self.bays.named(job.bay, who)
        before = {s.bay: self.bays.named(s.bay, who) for s in job.earlier}
        checklist = self.effective(sheet)
        shop = replace(self.shop, units=units) if units else self.shop
        return Visit(checklist, sheet, bay, shop, self.instruments, on_the_wall(job), before)

    @property
    def surveys_folder(self) -> Path:
        """Where the surveys of the bays lie, and the journals of those being taken."""
        return self.path / "surveys"

    def forget_surveys(self) -> None:
        """Look for surveys anew: one was written."""
        self.surveys.forget()
        self.bays.forget()

    @property
    def jobs_folder(self) -> Path:
        """Where the journals lie."""
        return self.path / "jobs"

    def jobs(self) -> list[JobLine]:
        """All jobs at a glance, the latest touched first; those that cannot be read last."""
        found = [job_line(path) for path in sorted(self.jobs_folder.glob(f"*{SUFFIX}"))]
        return sorted(found, key=lambda j: -j.last.timestamp() if j.last else 0.0)

    def journal(
        self, job: str, write: bool = True, *, by: str = "", at: datetime | None = None, or_read: bool = False
    ) -> Journal:
        """A job's journal, opened as `Chained.open` does. Raises JournalError."""
        check_name(job)
        path = self.jobs_folder / f"{job}{SUFFIX}"
        if not path.is_file():
            raise JournalError(f"There is no job '{job}' in {self.jobs_folder}.")
        return Journal.open(path, write, by=by, at=at, or_read=or_read)

    def _read_bay(self, path: Path) -> Bay:
        """A bay with its newest survey: at equal dates one in a file of its own, of those the later id."""
        from readiness.checklist.files import read_bay

        bay = read_bay(path)
        of_bay = [(s.date, s.survey, s) for s in self._surveys_of(bay.bay)]
        if not of_bay:
            return bay
        day, _, newest = max(of_bay, key=lambda found: found[:2])
        return replace(bay, survey=newest) if bay.survey is None or bay.survey.date <= day else bay

    def _surveys_of(self, bay: str) -> Iterator[Survey]:
        """Surveys in files of their own. Raises ShopError for one with mistakes: an older one is no stand-in."""
        for name, path in self.surveys.files:
            said = said_in(path, "bay")
            # where the file's head does not say it, the whole file does
            if said == bay or (not said and self.surveys[name].bay == bay):
                yield self.surveys[name]

    def _read_checklist(self, path: Path) -> Checklist:
        from readiness.checklist.files import read_checklist
        from readiness.checks import limit_types

        return _trusted(lambda p: read_checklist(p, limit_types(), self.checklist_folders), path)

    def effective(self, sheet: Sheet, path: Path | None = None) -> Checklist:
        """The sheet's checklist with the sheet's limits in place; kept, as every entry asks for it.

        `path` is the sheet's file where it is none of the shop's.
        """
        if path is not None:
            return self._with_limits_of(sheet, path)
        if sheet.sheet not in self._with_limits:
            self._with_limits[sheet.sheet] = self._with_limits_of(sheet, self.sheets.paths[sheet.sheet])
        return self._with_limits[sheet.sheet]

    def _with_limits_of(self, sheet: Sheet, path: Path) -> Checklist:
        from readiness.checklist.files import effective_limits
        from readiness.checks import limit_types

        plain = self.checklist(sheet.checklist, f"The sheet {sheet.sheet}")
        return _trusted(lambda p: effective_limits(plain, sheet, limit_types(), p), path)


def default_folder() -> Path:
    """Where the shop lies unless another folder is named: the user's data folder of the platform."""
    from platformdirs import user_data_path

    return user_data_path("readiness", appauthor=False)


def argument(path: Path, always: bool = False) -> str:
    """The folder as one types it after a command; nothing for the one that is used anyway."""
    if path == default_folder() and not always:
        return ""
    return f'"{path}"' if " " in str(path) else str(path)


def _trusted(read: Callable[[Path], T], path: Path) -> T:
    try:
        return read(path)
    except FileMistakes as error:
        raise ShopError(str(error), error.mistakes) from None


def id_in(path: Path, kind: str) -> str:
    """The id that a file says in its first key; the file's name if it says none."""
    return said_in(path, kind) or path.stem


def said_in(path: Path, key: str) -> str:
    """The word under a key at the head of a file, without parsing it; empty if there is none."""
    try:
        with path.open(encoding="utf-8-sig", errors="replace") as stream:
            head = stream.read(4096)
    except OSError:
        return ""
    found = re.search(rf"^{key}:[ \t]*(['\"]?)([^'\"#\n]+?)\1[ \t]*(#.*)?$", head, re.MULTILINE)
    return found.group(2) if found else ""

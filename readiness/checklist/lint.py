"""All mistakes of files and folders, each by itself and in what they say of one another."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, NamedTuple

from readiness import job
from readiness.checklist.checklists import load_checklist, load_part, with_limits
from readiness.checklist.doubts import doubts
from readiness.checklist.load import (
    ENDINGS,
    Loaded,
    in_order,
    kind_of,
    load_even_so,
    note_kind,
    yaml_files,
)
from readiness.checklist.mistakes import FileMistakes, Mistake, near, one_of, shown
from readiness.checklist.model import Checklist
from readiness.checklist.nodes import read
from readiness.checklist.result_rules import results_asked
from readiness.checklist.spot import Spot
from readiness.checklist.survey_rules import survey_in
from readiness.checklist.walk import nothing

_PLACES = {
    "shop.yaml": "shop",
    "instruments.yaml": "instruments",
    "bays": "bay",
    "sheets": "sheet",
    "surveys": "survey",
}
"""File or folder name inside a shop folder -> the kind of file that belongs there."""

Others = Mapping[str, Callable[[Path], object]]
"""Kind of file -> its reader, for kinds that live above this room; it raises FileMistakes."""


def cross_check(
    loaded: Loaded[Any],
    *,
    checklists: Collection[str] | None = None,
    instruments: Collection[str] | None = None,
    bays: Mapping[str, job.Bay | None] | None = None,
) -> list[Mistake]:
    """Mistakes in what a sheet, bay or survey says of other files; None leaves that reference unjudged."""
    spot = Spot(loaded.spot.node, "", loaded.spot.file, [])
    kind = kind_of(spot.node)
    if kind == "sheet" and checklists is not None:
        _refers(spot.at("checklist"), checklists, "checklist")
    if kind == "shop" and spot.at("signing").has("signers"):
        _signers_there(spot.at("signing", "signers"))
    survey = spot.at("survey") if kind == "bay" else spot
    if kind in ("bay", "survey") and instruments is not None:
        _refers(survey.at("instrument"), instruments, "instrument")
        for run in survey.at("runs").items():
            if run.has("instrument"):
                _refers(run.at("instrument"), instruments, "instrument")
    if kind == "survey" and bays is not None:
        _refers(spot.at("bay"), bays, "bay")
        bay = bays.get(spot.at("bay").text)
        if bay is not None and isinstance(loaded.value, job.Survey):
            survey_in([(p.x, p.y) for p in bay.outline], loaded.value, spot)
    return spot.mistakes


class Looked(NamedTuple):
    """What was found by looking through files."""

    mistakes: list[Mistake]
    doubts: list[Mistake]
    """What is seldom meant and may be: a person looks at it, and the file can be used all the same."""


def lint(
    paths: Iterable[Path],
    limit_types: Mapping[str, Any],
    checklist_folders: Sequence[Path] = (),
    others: Others | None = None,
) -> list[Mistake]:
    """Every mistake of these files and folders; an empty list says that all is well.

    A shop folder holds shop.yaml, instruments.yaml, bays/, sheets/ and surveys/; any other folder is searched
    for YAML files. References are judged against the shop a file lies in and the checklists known.
    """
    return looked_through(paths, limit_types, checklist_folders, others).mistakes


def looked_through(
    paths: Iterable[Path],
    limit_types: Mapping[str, Any],
    checklist_folders: Sequence[Path] = (),
    others: Others | None = None,
) -> Looked:
    """As `lint`, with the doubts."""
    run = _Run(limit_types, tuple(checklist_folders), others or {})
    for path in paths:
        for file, kind in _files(path, run.mistakes):
            run.take(file, kind)
    run.between()
    return Looked(*(in_order(list(dict.fromkeys(found))) for found in (run.mistakes, run.doubts)))


@dataclass
class _Run:
    limit_types: Mapping[str, Any]
    folders: tuple[Path, ...]
    others: Others
    mistakes: list[Mistake] = field(default_factory=list)
    doubts: list[Mistake] = field(default_factory=list)
    checklists: dict[str, Checklist | None] = field(default_factory=dict)
    """Id -> the checklist; None for one that is there and has mistakes."""
    loaded: list[Loaded[Any]] = field(default_factory=list)
    taken: set[Path] = field(default_factory=set)
    bays: dict[Path, dict[str, job.Bay | None]] = field(default_factory=dict)
    """Shop folder -> its bays, read when a survey is met."""

    def take(self, path: Path, kind: str | None) -> None:
        """Read one file, whatever it is."""
        if path.resolve() in self.taken:
            return
        self.taken.add(path.resolve())
        try:
            spot = Spot(read(path), "", path, [])
            found = kind_of(spot.node)
            if found is None or kind not in (None, found):
                note_kind(spot, f"{kind}: as the first key" if kind else "")
                raise FileMistakes(spot.mistakes)
            self._take_kind(path, found, spot)
        except FileMistakes as error:
            self.mistakes.extend(error.mistakes)

    def _take_kind(self, path: Path, kind: str, spot: Spot) -> None:
        own: dict[str, type[Any]] = {
            "shop": job.Shop, "instruments": job.Instruments, "bay": job.Bay, "survey": job.Survey,
        }  # fmt: skip
        if kind == "checklist":
            self._take_checklist(path, spot)
        elif kind == "part":
            load_part(path, self.limit_types)
        elif kind == "sheet" or kind in own:
            loaded = load_even_so(path, kind, own.get(kind, job.Sheet))
            self.loaded.append(loaded)
            self.mistakes += loaded.spot.mistakes
        elif kind in self.others:
            self.others[kind](path)

    def _take_checklist(self, path: Path, spot: Spot) -> None:
        name = spot.at("checklist")
        if name.text in self.checklists:
            name.wrong(f"{shown(name.text)} again", "each checklist once")
            self.mistakes.extend(spot.mistakes)
        self.checklists.setdefault(name.text, None)
        loaded = load_checklist(path, self.limit_types, (*self.folders, path.parent))
        self.checklists[name.text] = loaded.value

    def between(self) -> None:
        """Judge references, once everything is read; only sheets refer to checklists."""
        if any(kind_of(loaded.spot.node) == "sheet" for loaded in self.loaded):
            self._know_checklists()
        seen: dict[tuple[str, Path, str], str] = {}
        for loaded in self.loaded:
            shop = shop_of(Path(loaded.spot.file))
            instruments = self._instruments(shop)
            self.mistakes += cross_check(
                loaded, checklists=self.checklists, instruments=instruments, bays=self._bays(shop)
            )
            self._once(loaded, shop, seen)
            self._of_sheet(loaded)

    def _know_checklists(self) -> None:
        for folder in self.folders:
            for path in yaml_files(folder):
                try:
                    spot = Spot(read(path), "", path, [])
                    name = spot.at("checklist").text
                    if kind_of(spot.node) == "checklist" and name not in self.checklists:
                        self.checklists[name] = None
                        self.checklists[name] = load_checklist(path, self.limit_types, self.folders).value
                except FileMistakes:
                    continue

    def _instruments(self, shop: Path | None) -> Collection[str] | None:
        """Ids of the shop's instruments; None when they cannot be known."""
        if shop is None:
            return None
        path = shop / "instruments.yaml"
        try:
            listed = Spot(read(path), "", path, []).at("instruments").items()
        except FileMistakes:
            return None
        return [instrument.at("id").text for instrument in listed]

    def _bays(self, shop: Path | None) -> Mapping[str, job.Bay | None] | None:
        """The shop's bays by id, None for one with mistakes; None when they cannot be known."""
        if shop is None or not (shop / "bays").is_dir():
            return None
        if shop not in self.bays:
            self.bays[shop] = dict(_bay_of(path) for path in yaml_files(shop / "bays"))
        return self.bays[shop]

    def _once(self, loaded: Loaded[Any], shop: Path | None, seen: dict[tuple[str, Path, str], str]) -> None:
        kind = kind_of(loaded.spot.node) or ""
        if shop is None or kind not in ("bay", "sheet", "survey"):
            return
        name = loaded.spot.at(kind)
        key = (kind, shop, name.text)
        if key in seen:
            here = Spot(name.node, name.where, name.file, [])
            here.wrong(f"{shown(name.text)} again, already in {seen[key]}", f"each {kind} once in a shop")
            self.mistakes += here.mistakes
        seen.setdefault(key, Path(name.file).name)

    def _of_sheet(self, loaded: Loaded[Any]) -> None:
        """A sheet against its checklist, and what in a sound one is seldom meant."""
        if kind_of(loaded.spot.node) != "sheet":
            return
        checklist = self.checklists.get(loaded.spot.at("checklist").text)
        if checklist is not None:
            self.mistakes += against_checklist(loaded.spot, checklist, self.limit_types)
        if isinstance(loaded.value, job.Sheet):
            self.doubts += doubts_of(loaded.value, loaded.spot, checklist)


def against_checklist(sheet: Spot, checklist: Checklist, limit_types: Mapping[str, Any]) -> list[Mistake]:
    """Mistakes in a sheet's limits and results, seen from its checklist. `sheet` is the root of its tree."""
    found: list[Mistake] = []
    for key in ("limits", "results"):
        there = sheet.at(key)
        here = Spot(there.node, there.where, there.file, found)
        if not sheet.has(key) or nothing(there.node):
            continue
        if key == "limits":
            with_limits(checklist, here, limit_types)
        else:
            results_asked(checklist, here)
    return found


def doubts_of(sheet: job.Sheet, spot: Spot, checklist: Checklist | None) -> list[Mistake]:
    """What in a sheet is seldom meant, but for what is a mistake already. `spot` is the root of its tree."""
    here = Spot(spot.node, "", spot.file, [])
    doubts(sheet, here, checklist.sides if checklist is not None else ())
    wrong = {m.where for m in spot.mistakes}
    return [doubt for doubt in here.mistakes if doubt.where not in wrong]


def shop_of(path: Path) -> Path | None:
    """The shop folder that a file lies in, None if it lies in none."""
    for folder in (path.parent, path.parent.parent):
        if any((folder / name).is_file() for name in ("shop.yaml", "instruments.yaml")):
            return folder
    return None


def _bay_of(path: Path) -> tuple[str, job.Bay | None]:
    try:
        loaded = load_even_so(path, "bay", job.Bay)
    except FileMistakes:
        return path.stem, None
    bay = loaded.value if isinstance(loaded.value, job.Bay) else None
    return loaded.spot.at("bay").text or path.stem, bay


def _refers(spot: Spot, known: Collection[str], what: str) -> None:
    if spot.text and spot.text not in known:
        found = f"no such {what}, {shown(spot.text)}"
        spot.wrong(found, one_of(sorted(known), what), near(spot.text, known))


def _signers_there(spot: Spot) -> None:
    """The key may be elsewhere; those whose signatures count are needed wherever a journal is verified."""
    if not spot.text.strip():
        return
    try:
        there = (Path(spot.file).parent / Path(spot.text).expanduser()).is_file()
    except (OSError, ValueError, RuntimeError):
        there = False
    if not there:
        spot.wrong(f"no such file, {shown(spot.text)}", "the allowed signers of the shop", "See the README.")


def _files(path: Path, mistakes: list[Mistake]) -> Iterator[tuple[Path, str | None]]:
    """Files to read at a path, with the kind that must be there where the place says so."""
    try:
        yield from _files_in(path, mistakes) if path.is_dir() else [(path, None)]
    except OSError as error:
        why = f"no way to read it ({error.strerror or error})"
        mistakes.append(Mistake(error.filename or path, 0, 0, "folder", why, "a folder that can be read"))


def _files_in(path: Path, mistakes: list[Mistake]) -> Iterator[tuple[Path, str | None]]:
    if not any((path / name).exists() for name in _PLACES):
        found = list(yaml_files(path, deep=True))
        if not found:
            expected = "a shop or a folder of checklists"
            hint = "'readiness new-shop' begins a shop."
            mistakes.append(Mistake(path, 0, 0, "folder", "no YAML files", expected, hint))
        yield from ((file, None) for file in found)
        return
    placed: set[Path] = set()
    for name, kind in _PLACES.items():
        files = [path / name] if name.endswith(ENDINGS) else list(yaml_files(path / name))
        placed.update(files)
        yield from ((file, kind) for file in files)
        mistakes += _misnamed(path / name) if not name.endswith(ENDINGS) else ()
    yield from ((file, None) for file in yaml_files(path, deep=True) if file not in placed)


def _misnamed(folder: Path) -> Iterator[Mistake]:
    """Files that a person takes for YAML and the program does not: bay-1.yaml.txt, bay-1.YAML."""
    there = sorted(folder.iterdir()) if folder.is_dir() else []
    for path in there:
        if path.suffix.lower() in (*ENDINGS, ".txt") and path.suffix not in ENDINGS:
            expected = "a name that ends in .yaml, in small letters"
            yield Mistake(path, 0, 0, "file", f"the ending {shown(path.suffix)}", expected, "Rename it.")

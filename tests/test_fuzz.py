"""Damaged files of a shop: a mistake is told, or the answer is given; nothing else ever happens.

Of each file only what it says itself is read again, everything beside it is as it was: so it can be done by the thousand.
Journals, answers, entries and floods of bytes are in the modules beside this one.
"""

from __future__ import annotations

import random
import shutil
from collections.abc import Callable
from contextlib import suppress
from dataclasses import replace
from pathlib import Path

import click
import pytest
from msgspec.structs import replace as changed

from readiness import cli
from readiness.checklist import files
from readiness.checklist.mistakes import FileMistakes
from readiness.checks import limit_types
from readiness.checks.finding import Visit
from readiness.records import places
from readiness.records.journal import JournalError
from readiness.records.opening import find_job, mistakes_in
from readiness.records.points_csv import Head, read_points
from readiness.records.shop import ShopError, ShopFolder
from tests.mutants import damaged, slipped
from tests.shop import MOMENT, demo_shop
from tests.through import judged, little_memory, on_pages, on_paper, paper_of, reported, told, watched, within

pytestmark = pytest.mark.slow

ROUND = 100
ROUNDS = {
    "sheet": 22, "bay": 16, "checklist": 10, "part": 10, "survey": 10, "instruments": 9, "points": 6, "shop": 5,
}  # fmt: skip
"""Kind of file -> how many rounds of damages."""

JOBS = ("HB-0414", "HB-0416", "HB-0418", "HB-0419", "HB-0421", "HB-0422", "HB-0424")
"""Of every sheet one at least; HB-0421 in a bay that was surveyed by level, the last two were calibrated."""
SURVEYED = "HB-0421"

ALL_FIELDS = (
    ("marks: {", "axle_loads: {front: 820 kg, rear: 610 kg}\nsprings: {front: 24 N/mm, rear: 26 N/mm}\n"
                 "self_levelling: none\nrefers_to: thrust_line\nmarks: {"),
    ("z: 0.47 m}\n    tolerance: {", "z: 0.47 m}\n    sees: [plate]\n    tolerance: {"),
    ("    at: {x: 5.6 m, y: 0 m, z: 0.47 m}\n    feet:\n      - {x: 5.6 m, y: 0.45 m}\n      - {x: 5.6 m, y: -0.45 m}\n"
     "      - {x: 5.95 m, y: 0 m}\n",
     "    at: {x: 2.56 m, y: 0 m, z: 0.47 m}\n    feet:\n      - {x: 2.56 m, y: 0.45 m}\n      - {x: 2.56 m, y: -0.45 m}\n"
     "      - {x: 2.91 m, y: 0 m}\n    from: {along: front_mark, across: centre_line}\n"
     "    tape: {front_mark: 2.56 m, rear_mark: 6.13 m}\n    stand: plumb\n"),
)  # fmt: skip
"""What a demo sheet does not say, put into it: of these fields, too, everything is damaged."""
SIGNING = "signing: {key: keys/shop, signers: keys/signers}\n"
POINTS = "name;x;y;height mm;what\n" + "".join(
    f"{'ABCDE'[k // 5]}{k % 5 + 1};{1 + k % 5 * 0.9:.2f};{0.8 + k // 5 * 0.7:.2f};{(k * 7) % 5 - 2.5};place {k}\n"
    for k in range(25)
)


def whole_sheet(path: Path) -> None:
    """Put every field into the sheet that it may have."""
    text = path.read_text(encoding="utf-8")
    for old, new in ALL_FIELDS:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    path.write_text(text, encoding="utf-8", newline="\n")
    assert mistakes_in([path]) == []


@pytest.fixture(scope="module")
def bench(tmp_path_factory):
    with little_memory():
        yield Bench(tmp_path_factory.mktemp("fuzz"))


class Bench:
    """The demo shop with its own copy of all checklists, and some visits to it, read once."""

    def __init__(self, to: Path) -> None:
        self.path = demo_shop(to).path
        shutil.copytree(places.checklists(), self.path / "checklists")
        whole_sheet(self.path / "sheets" / "pipit-front.yaml")
        with (self.path / "shop.yaml").open("a", encoding="utf-8", newline="\n") as stream:
            stream.write(SIGNING)
        (self.path / "points.csv").write_text(POINTS, encoding="utf-8", newline="\n")
        self.folder = ShopFolder(self.path)
        self.visits = [find_job(job, self.path).visit for job in JOBS]
        self.texts = {kind: {p: p.read_text(encoding="utf-8") for p in self._files(kind)} for kind in READERS}

    def _files(self, kind: str) -> list[Path]:
        place, names = {
            "checklist": ("checklists", "*.yaml"), "part": ("checklists/common", "*.yaml"), "sheet": ("sheets", "*.yaml"),
            "bay": ("bays", "*.yaml"), "survey": ("surveys", "*.yaml"), "shop": (".", "shop.yaml"),
            "instruments": (".", "instruments.yaml"), "points": (".", "points.csv"),
        }[kind]  # fmt: skip
        return sorted((self.path / place).glob(names))

    def read(self, kind: str, path: Path, chance: random.Random) -> Visit:
        """A visit in which that file says what it says now. Raises FileMistakes, ShopError."""
        return READERS[kind](self, path, chance)


# --- one file of a visit, read anew --------------------------------------------------------------


def _with_sheet(bench: Bench, path: Path, chance: random.Random) -> Visit:
    visit = chance.choice([v for v in bench.visits if v.sheet.sheet == path.stem])
    sheet = files.read_sheet(path)
    return replace(visit, sheet=sheet, checklist=bench.folder.effective(sheet, path))


def _with_checklist(bench: Bench, path: Path, chance: random.Random) -> Visit:
    visit = chance.choice([v for v in bench.visits if v.checklist.checklist == path.stem])
    plain = files.read_checklist(path, limit_types(), (bench.path / "checklists",))
    where = bench.folder.sheets.paths[visit.sheet.sheet]
    return replace(visit, checklist=files.effective_limits(plain, visit.sheet, limit_types(), where))


def _with_part(bench: Bench, path: Path, chance: random.Random) -> Visit:
    lists = [p for p, text in bench.texts["checklist"].items() if path.stem in text]
    return _with_checklist(bench, chance.choice(lists), chance)


def _with_bay(bench: Bench, path: Path, chance: random.Random) -> Visit:
    return replace(chance.choice(bench.visits), bay=files.read_bay(path))


def _with_survey(bench: Bench, path: Path, chance: random.Random) -> Visit:
    [visit] = (v for v in bench.visits if v.job.job == SURVEYED)
    return replace(visit, bay=changed(visit.bay, survey=files.read_survey(path)))


def _with_points(bench: Bench, path: Path, chance: random.Random) -> Visit:
    [visit] = (v for v in bench.visits if v.job.job == SURVEYED)
    head = Head("points", visit.bay, MOMENT.date(), "Tamsin Vale", "laser-1")
    return replace(visit, bay=changed(visit.bay, survey=read_points(path, head)))


def _with_shop(bench: Bench, path: Path, chance: random.Random) -> Visit:
    return replace(chance.choice(bench.visits), shop=files.read_shop(path))


def _with_instruments(bench: Bench, path: Path, chance: random.Random) -> Visit:
    tools = {i.id: i for i in files.read_instruments(path).instruments}
    return replace(chance.choice(bench.visits), instruments=tools)


READERS: dict[str, Callable[[Bench, Path, random.Random], Visit]] = {
    "checklist": _with_checklist, "part": _with_part, "sheet": _with_sheet, "bay": _with_bay, "survey": _with_survey,
    "shop": _with_shop, "instruments": _with_instruments, "points": _with_points,
}  # fmt: skip


# --- damage --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("kind", "nth"), [(kind, nth) for kind, rounds in ROUNDS.items() for nth in range(rounds)]
)
def test_a_damaged_file_is_read_or_its_mistakes_are_told(bench, capsys, kind, nth):
    good = 0
    for k in range(ROUND):
        chance = random.Random(f"{kind} {nth} {k}")
        path, sound = chance.choice(list(bench.texts[kind].items()))
        text = chance.choice((damaged, slipped))(sound, chance)
        path.write_bytes(text.encode("utf-8", "surrogatepass"))
        try:
            visit = read_or_told(bench, kind, path, chance)
            if visit is not None and text != sound:
                shown(bench, visit, chance)
                good += 1
            if k == nth:
                by_commands(bench, kind, path, chance, capsys)
        except BaseException as fault:
            fault.add_note(f"{path.name}, mutant '{kind} {nth} {k}':\n{text}")
            raise
        finally:
            path.write_text(sound, encoding="utf-8", newline="\n")
    assert good


def read_or_told(bench: Bench, kind: str, path: Path, chance: random.Random) -> Visit | None:
    try:
        return within(lambda: bench.read(kind, path, chance))
    except (FileMistakes, ShopError) as fault:
        told(fault)
        return None


def shown(bench: Bench, visit: Visit, chance: random.Random) -> None:
    """On every face, the dear ones now and then."""
    within(lambda: judged(visit, MOMENT))
    dear: list[tuple[int, float, Callable[[], object]]] = [
        (5, 2.0, lambda: on_pages(visit, MOMENT)),
        (9, 2.0, lambda: watched(visit, MOMENT)),
        (20, 2.0, lambda: reported(visit, paper_of(visit, bench.path), MOMENT)),
        (40, 4.0, lambda: on_paper(visit, bench.folder, MOMENT)),
    ]
    for every, longest, show in dear:
        if not chance.randrange(every):
            within(show, longest)


def by_commands(bench: Bench, kind: str, path: Path, chance: random.Random, capsys) -> None:
    """The commands as a whole, everything read anew: every mistake has its place, and nothing steers the terminal."""
    for mistake in within(lambda: mistakes_in([path], bench.path)):
        assert str(mistake).startswith(str(bench.path))
        assert str(mistake).isprintable(), ascii(str(mistake))
    job, sheet = chance.choice(JOBS), chance.choice(sorted(bench.folder.sheets))
    commanded(bench.path, "check", job, "--at", MOMENT.isoformat(), *chance.choice(((), ("--json",))))
    if kind in ("sheet", "shop"):
        commanded(bench.path, "layout", path.stem if kind == "sheet" else sheet)
    if kind in ("survey", "bay", "instruments", "points"):
        how = (
            ("--show",)
            if kind != "points"
            else ("--points", str(path), "--instrument", "laser-1", "--by", "Odo")
        )
        commanded(bench.path, "survey", "bay-4", *how)
        for made in (bench.path / "surveys").glob("bay-4-2*.yaml"):
            made.unlink()
    assert all(line.isprintable() for line in capsys.readouterr().out.split("\n"))


def commanded(folder: Path, *words: str) -> None:
    with suppress(FileMistakes, JournalError, ShopError, click.ClickException):
        args = ["--shop", str(folder), *words]
        code = within(lambda: cli.commands.main(args, prog_name="readiness", standalone_mode=False))
        assert code in (0, 1)

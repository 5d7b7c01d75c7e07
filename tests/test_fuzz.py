"""Damaged files and odd entries: a mistake is told, or the answer is given; nothing else ever happens."""

from __future__ import annotations

import json
import math
import random
import shutil
import time
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

import click
import pytest

from readiness import cli
from readiness.checklist.mistakes import FileMistakes
from readiness.checks.entry import MAX_TEXT, understood
from readiness.checks.finding import ask
from readiness.checks.kind import Question
from readiness.records import places
from readiness.records.journal import JournalError
from readiness.records.opening import mistakes_in
from readiness.records.shop import ShopError, ShopFolder
from readiness.units import UnitsError
from tests.mutants import damaged
from tests.records.invented import SHEETS, filled, opened, typed
from tests.shop import MOMENT, demo_shop

pytestmark = pytest.mark.slow

ROUNDS, DAMAGES = 10, 24
"""For each of the files below."""

JOBS = {
    "tern-rear-corner": "HB-0418",
    "pipit-front": "HB-0419",
    "godwit-camera": "HB-0416",
    "dunlin-surround": "HB-0414",
}
"""The demo job that uses the sheet."""
SURVEYED = ("bay-4", "HB-0421")
"""The demo bay that was surveyed by level, and a job in it."""

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


@pytest.fixture(scope="module")
def folder(tmp_path_factory) -> Path:
    """The demo shop with its own copy of all checklists, so that everything can be damaged."""
    shop = demo_shop(tmp_path_factory.mktemp("fuzz"))
    shutil.copytree(places.checklists(), shop.path / "checklists")
    whole_sheet(shop.path / "sheets" / "pipit-front.yaml")
    return shop.path


def whole_sheet(path: Path) -> None:
    """Put every field into the sheet that it may have."""
    text = path.read_text(encoding="utf-8")
    for old, new in ALL_FIELDS:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    path.write_text(text, encoding="utf-8", newline="\n")
    assert mistakes_in([path]) == []


def files(folder: Path) -> dict[str, list[Path]]:
    return {
        "checklist": sorted((folder / "checklists").glob("*.yaml")),
        "part": sorted((folder / "checklists" / "common").glob("*.yaml")),
        "sheet": sorted((folder / "sheets").glob("*.yaml")),
        "bay": sorted((folder / "bays").glob("*.yaml")),
        "shop": [folder / "shop.yaml"],
        "instruments": [folder / "instruments.yaml"],
        "answers": sorted((folder / "answers").glob("*.yaml")),
        "survey": sorted((folder / "surveys").glob("*.yaml")),
    }


def linted(path: Path, folder: Path) -> None:
    """Every mistake has its place and stands on one line."""
    for mistake in mistakes_in([path], folder):
        assert str(mistake).startswith(str(path.parent.parent)) or str(mistake).startswith(str(folder))
        assert mistake.found
        assert mistake.expected
        assert str(mistake).isprintable(), ascii(str(mistake))


def checked(job: str, folder: Path, how: tuple[str, ...]) -> None:
    """The command as a whole: go, no-go, or what is wrong told."""
    commanded(folder, "check", job, "--at", MOMENT.isoformat(), *how)


def commanded(folder: Path, *words: str) -> None:
    with suppress(FileMistakes, JournalError, ShopError, click.ClickException):
        args = ["--shop", str(folder), *words]
        assert cli.commands.main(args, prog_name="readiness", standalone_mode=False) in (0, 1)


def whole(folder: Path, path: Path, chance: random.Random) -> None:
    linted(path, folder)
    if path.parent.name == "answers":
        jobs = [str(path)]
    elif path.parent.name == "sheets":
        jobs = [JOBS[path.stem]]
        commanded(folder, "layout", path.stem)
    elif path.parent.name == "surveys":
        jobs = [SURVEYED[1]]
    else:
        jobs = chance.sample([*JOBS.values(), SURVEYED[1]], 2)
    if path.parent.name in ("surveys", "bays") or path.name in ("instruments.yaml", "pipit-front.yaml"):
        commanded(folder, "survey", SURVEYED[0], "--show")
    for job in jobs:
        checked(job, folder, chance.choice(((), ("--json",))))


def plain_text(output: str) -> bool:
    return all(line.isprintable() for line in output.split("\n"))


@pytest.mark.parametrize(
    "kind", ["checklist", "part", "sheet", "bay", "shop", "instruments", "answers", "survey"]
)
@pytest.mark.parametrize("nth", range(ROUNDS))
def test_a_damaged_file_is_read_or_its_mistakes_are_told(folder, capsys, kind, nth):
    for k in range(DAMAGES):
        chance = random.Random(f"{kind} {nth} {k}")
        path = chance.choice(files(folder)[kind])
        sound = path.read_bytes()
        text = damaged(sound.decode("utf-8"), chance)
        path.write_bytes(text.encode("utf-8", "surrogatepass"))
        began = time.process_time()
        try:
            whole(folder, path, chance)
        except BaseException as fault:
            fault.add_note(f"{path.name}, mutant '{kind} {nth} {k}':\n{text}")
            raise
        finally:
            path.write_bytes(sound)
        assert time.process_time() - began < 2.0, text
        assert plain_text(capsys.readouterr().out), text


# --- entries -------------------------------------------------------------------------------------

UNITS = ["", " kPa", " bar", "psi", " MPa", " mm", " cm", " m", " in", '"', "'", " ft", " °C", " F", " C", " K", " lx",
         " fc", " L", " gal", " V", " mV", "°", " deg", " %", " mm/m", " in per 10 ft", " µm", " mil", " kg", " lb", " min",
         " h", " of a tank", " kpz", " Kelvin bar", " bar bar", "/", " per", " per 0 ft", "%%"]  # fmt: skip
NUMBERS = ["0", "-0", "1", "231", "2,3", "2.3", ".5", "5.", "1/2", "1 1/2", "1 3/8", "-5", "+5", "1e5", "1e400", "nan", "∞",
           "1_0", "1.000,5", "1'000", "1 000", "٣", "½", "2½", "0x10", "--1", "1/0", "9" * 60, "0." + "0" * 50 + "1",
           "2.3.4", "3 m 20", "12' 3 1/2", "1,2,3", "1-2"]  # fmt: skip
WORDS = ["", " ", "y", "n", "yes", "No", "s", "stood", "in", "out", "?", "x" * 10_000, "[/4]", "[bold]y[/]", "\x1b[2J",
         "\u202e231", "<b>1</b>", "\x00", "\ud800", "é", "NULL", "'; --", "215/60 R17 96H", "\t231\n", "\ufeff231", "😀",
         "{}", "%n", "1\u00a0bar", "2.3\u202fbar", "ẞ", "ſ", "K"]  # fmt: skip


def entries(question: Question, chance: random.Random) -> Iterator[str]:
    for _ in range(8):
        yield chance.choice(NUMBERS) + chance.choice(UNITS)
    for _ in range(5):
        yield chance.choice(WORDS)
    good = typed(question, chance)
    yield good
    at = chance.randint(0, len(good))
    yield good[:at] + chance.choice(",./-' \x1b°") + good[at:]


@pytest.mark.parametrize("sheet", SHEETS)
@pytest.mark.parametrize("units", ["metric", "us"])
def test_every_question_understands_an_entry_or_says_why_not(tmp_path, sheet, units):
    shop = demo_shop(tmp_path)
    questions = every_question(shop, sheet)
    chance, tried = random.Random(sheet + units), 0
    for question in questions:
        for text in entries(question, chance):
            tried += 1
            one_entry(question, text, units)
    assert tried >= 400


def every_question(shop: ShopFolder, sheet: str) -> list[Question]:
    """Those asked along a few ways through the checklist."""
    found: dict[tuple[str, str], Question] = {}
    for seed in range(4):
        job = filled(shop, opened(sheet), seed)
        visit = shop.visit(job)
        for check in (*visit.checklist.walk(), *visit.checklist.close_walk()):
            for side in job.sides if check.per_side else ("",):
                found |= {(check.id, q.key): q for q in ask(visit, check, side, MOMENT)}
    return list(found.values())


def one_entry(question: Question, text: str, units) -> None:
    try:
        value, unit = understood(question, text, units)
    except UnitsError as told:
        said = str(told)
        assert said.isprintable(), ascii((text, said))
        assert 10 < len(said) < 600, (text, said)
        return
    if question.type == "quantity":
        assert isinstance(value, float)
        assert math.isfinite(value)
        assert unit == question.unit
        assert question.low is None or value >= question.low - 1e-9 * abs(question.low), (text, value)
        assert question.high is None or value <= question.high + 1e-9 * abs(question.high), (text, value)
    elif question.type == "choice":
        assert value in [c.value for c in question.choices]
    else:
        assert isinstance(value, str)
        assert value.isprintable()
        assert 0 < len(value) <= MAX_TEXT
    json.dumps(value, allow_nan=False)

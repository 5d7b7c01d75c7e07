"""Damaged files of answers: every mistake is told at its place, or the job is judged and shown; nothing else."""

from __future__ import annotations

import random
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pytest

from readiness.checklist.mistakes import FileMistakes
from readiness.checks.finding import Visit
from readiness.records.answers import MOST_AGAIN, load_answers
from readiness.records.shop import ShopError, ShopFolder
from tests.mutants import damaged, slipped
from tests.shop import MOMENT, demo_shop
from tests.test_fuzz import commanded
from tests.through import judged, little_memory, on_pages, paper_of, reported, told, watched, within

pytestmark = pytest.mark.slow

ROUND, ROUNDS = 100, 30


class Bench:
    """The demo shop, read once; its checklists and sheets with it."""

    def __init__(self, to: Path) -> None:
        self.folder: ShopFolder = demo_shop(to)
        answers = sorted((self.folder.path / "answers").glob("*.yaml"))
        self.texts = {path: path.read_text(encoding="utf-8") for path in answers}

    def read(self, path: Path) -> Visit | None:
        """The visit; None where the mistakes are told."""
        try:
            answers = within(lambda: load_answers(path, self.folder))
            return self.folder.visit(answers.job, answers.units)
        except (FileMistakes, ShopError) as fault:
            told(fault)
            return None


@pytest.fixture(scope="module")
def bench(tmp_path_factory):
    with little_memory():
        yield Bench(tmp_path_factory.mktemp("answers"))


def shown(bench: Bench, visit: Visit, chance: random.Random) -> None:
    now = chance.choice((MOMENT, visit.job.opened, max(r.at for r in visit.job.readings)))
    within(lambda: judged(visit, now))
    dear: list[tuple[int, Callable[[], object]]] = [
        (5, lambda: on_pages(visit, now)),
        (10, lambda: watched(visit, now)),
        (15, lambda: reported(visit, paper_of(visit, bench.folder.path), now)),
    ]
    for every, show in dear:
        if not chance.randrange(every):
            within(show)


@pytest.mark.parametrize("nth", range(ROUNDS))
def test_damaged_answers_are_understood_or_their_mistakes_are_told(bench, capsys, nth):
    good = 0
    for k in range(ROUND):
        chance = random.Random(f"answers {nth} {k}")
        path, sound = chance.choice(list(bench.texts.items()))
        text = chance.choice((damaged, slipped, slipped))(sound, chance)
        path.write_bytes(text.encode("utf-8", "surrogatepass"))
        try:
            visit = bench.read(path)
            if visit is not None:
                shown(bench, visit, chance)
                good += 1
            if k == nth:
                commanded(bench.folder.path, "check", str(path), "--at", MOMENT.isoformat())
                commanded(bench.folder.path, "report", str(path), "--text")
                assert all(line.isprintable() for line in capsys.readouterr().out.split("\n"))
        except BaseException as fault:
            fault.add_note(f"{path.name}, mutant 'answers {nth} {k}':\n{text}")
            raise
        finally:
            path.write_text(sound, encoding="utf-8", newline="\n")
    assert good > ROUND / 20


# --- found once ----------------------------------------------------------------------------------


def answered(bench: Bench, line: str, instead: str) -> Visit | None:
    """The answers of one job with other words in a line's place."""
    path = next(path for path in bench.texts if path.stem == "HB-0417")
    sound = bench.texts[path]
    assert sound.count(line) == 1
    path.write_text(sound.replace(line, instead), encoding="utf-8", newline="\n")
    try:
        return bench.read(path)
    finally:
        path.write_text(sound, encoding="utf-8", newline="\n")


@pytest.mark.parametrize("value", ["231 kPa", "23 bar"])
@pytest.mark.parametrize("shape", ["{v}, {v}", "[{v}, {v}]"], ids=["flat", "in lists"])
def test_a_series_without_end_is_one_mistake_and_takes_no_time(bench, value, shape):
    many = ", ".join(shape.replace("{v}", value) for _ in range(10_000))
    assert answered(bench, "    pressure.lf: 231 kPa", f"    pressure.lf: [{many}]") is None


def test_as_many_answers_as_a_file_takes_to_one_question_are_judged_and_told_in_time(bench):
    many = ", ".join(["231 kPa", "230 kPa"] * (MOST_AGAIN // 2))
    visit = answered(bench, "    pressure.lf: 231 kPa", f"    pressure.lf: [{many}]")
    assert visit is not None
    assert sum(r.question == "pressure.lf" for r in visit.job.readings) == MOST_AGAIN
    now = visit.job.opened + timedelta(minutes=1)
    within(lambda: judged(visit, now))
    within(lambda: reported(visit, paper_of(visit, bench.folder.path), now))


@pytest.mark.parametrize("at", ["0001-01-02 00:00", "1969-12-31 23:59Z", "9000-01-01 00:00", "9999-12-31 23:59-12:00"])  # fmt: skip
def test_a_time_that_no_clock_shows_is_a_mistake(bench, at):
    assert answered(bench, "\nat: 2026-11-25T09:41:00+00:00", f"\nat: {at}") is None

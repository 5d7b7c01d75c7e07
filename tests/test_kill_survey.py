"""What a survey showed as kept survives: kills while it is read and while its file is written, a disk that fails."""

from __future__ import annotations

import json
import random
import subprocess
import sys
import time
from contextlib import suppress
from pathlib import Path

import pytest

from readiness.checklist.files import read_survey
from readiness.records.chained import JournalError
from readiness.records.opening import mistakes_in
from readiness.records.shop import ShopFolder
from readiness.records.surveys import SurveyJournal, begin, finish, resume, unfinished, uses_of
from readiness.survey.finish import finished
from readiness.survey.surveying import questions
from readiness.wizard.surveying_session import SurveySession
from tests.shop import MOMENT, Clock, demo_shop
from tests.survey.floors import exact, read
from tests.test_kill import Died, Disk, on

pytestmark = pytest.mark.slow

ROOT = Path(__file__).parents[1]
KILLS = 12
"""For each survey."""
BAY, SHEET = "bay-3", "dunlin-surround"


def begun(folder: ShopFolder, way: str) -> SurveyJournal:
    length = 2.0 if way == "level" else None
    uses = uses_of(folder, [SHEET])
    return begin(folder, BAY, way, uses, by="Odo Brack", at=MOMENT, straightedge=length)  # type: ignore[arg-type]


# --- killed while it is read ---------------------------------------------------------------------


def surveying(shop: str, seed: int) -> None:
    """The process that is killed: does what the screen does, prints a reading when it counts as kept."""
    folder, chance = ShopFolder(Path(shop)), random.Random(seed)
    journal = resume(folder, BAY)
    assert journal is not None
    session = SurveySession(folder, journal, "Odo Brack", Clock())
    while True:
        row = chance.choice(session.rows())
        value = exact(session.surveying, lambda x, y: 2 * x - y, 0.2)[row.question.key]
        session.answer(row, f"{value + chance.gauss(0, 0.3):.1f}", chance.choice(("repeat", "correct")))
        kept = session.surveying.readings[-1]
        sys.stdout.write(json.dumps([kept.number, kept.question, kept.text]) + "\n")
        sys.stdout.flush()
        if chance.random() < 0.1:
            session.leave_out(chance.choice(session.surveying.nodes).name, "a trolley stands there")
        if chance.random() < 0.1:
            session.undo()


def killed(code: str, chance: random.Random, within: float) -> list[bytes]:
    """Whole lines that a process printed before it was killed, at a moment of chance after its first line."""
    with subprocess.Popen([sys.executable, "-c", code], stdout=subprocess.PIPE, cwd=ROOT) as process:
        assert process.stdout is not None
        told = [process.stdout.readline()]
        time.sleep(chance.uniform(0.0, within))
        process.kill()
        told += process.stdout.read().splitlines(keepends=True)
    return [line for line in told if line.endswith(b"\n")]


def entries(path: Path) -> dict[int, tuple[str, str]]:
    """Every reading that the file holds, taken back or not: number -> question, text."""
    found = (json.loads(line) for line in path.read_text(encoding="utf-8").splitlines())
    return {e["n"]: (e["question"], e["text"]) for e in found if e["kind"] == "reading"}


@pytest.mark.parametrize("way", ["laser", "level"])
def test_no_kill_loses_a_reading_that_was_shown_as_kept(tmp_path, way):
    folder, shown = demo_shop(tmp_path), {}
    begun(folder, way).close()
    for seed in range(KILLS):
        code = f"from tests.test_kill_survey import surveying; surveying({str(folder.path)!r}, {seed})"
        for line in killed(code, random.Random(seed), 0.08):
            number, question, text = json.loads(line)
            shown[number] = (question, text)
        with resume(folder, BAY) as journal:  # type: ignore[union-attr]
            assert shown.items() <= entries(journal.path).items()
            session = SurveySession(folder, journal, "Odo Brack", Clock())
            assert session.so_far().of == len(session.rows())
    assert len(shown) >= KILLS
    assert mistakes_in([folder.path]) == []


# --- killed while its file is written ------------------------------------------------------------


def read_rest(journal: SurveyJournal) -> None:
    """Answer what has no reading yet, as exact instruments would."""
    there = journal.surveying
    missing = {q.key for q in questions(there)} - {r.question for r in there.readings}
    answered = read(there, lambda x, y: 2 * x - y, tool="laser-1", round_to=2, keys=tuple(missing))
    for reading in answered.readings[len(there.readings) :]:
        journal.record(reading)


def finishing(shop: str) -> None:
    """The process that is killed: a survey that is read is finished, a new one begun and read, and so on."""
    folder = ShopFolder(Path(shop))
    while True:
        journal = resume(folder, BAY) or begun(folder, "laser")
        with journal:
            read_rest(journal)
            sys.stdout.write(f"{journal.path.stem} read\n")
            sys.stdout.flush()
            survey = finished(journal.surveying, folder.instruments)
            finish(folder, journal, survey, by="Odo Brack", at=MOMENT)
        sys.stdout.write(f"{survey.survey} written\n")
        sys.stdout.flush()


def test_no_kill_leaves_half_a_survey_or_takes_one_away(tmp_path):
    folder, written, halfway = demo_shop(tmp_path), set(), 0
    code = f"from tests.test_kill_survey import finishing; finishing({str(folder.path)!r})"
    for seed in range(KILLS):
        within = (
            0.05 if seed % 2 else 0.0
        )  # every other one at once, so that some files surely are not written
        told = [line.decode().split() for line in killed(code, random.Random(seed), within)]
        written |= {id for id, what in told if what == "written"}
        folder.forget_surveys()
        for path in folder.surveys_folder.glob("*.yaml"):
            assert read_survey(path).survey == path.stem  # whole, whatever was being written
        assert {f"{id}.yaml" for id in written} <= {p.name for p in folder.surveys_folder.iterdir()}
        going_on = unfinished(folder, BAY)
        halfway += going_on is not None
        if going_on is not None and told[-1][1] == "read":
            with SurveyJournal.open(going_on) as journal:
                assert journal.surveying.readings  # what was shown as read is still there to finish from
    assert written
    assert halfway
    with resume(folder, BAY) or begun(folder, "laser") as journal:
        read_rest(journal)
        path = finish(
            folder, journal, finished(journal.surveying, folder.instruments), by="Odo Brack", at=MOMENT
        )
    assert folder.bays[BAY].survey == read_survey(max(folder.surveys_folder.glob(f"{BAY}*.yaml")))
    assert path.exists()
    assert [m for m in mistakes_in([folder.path]) if "HB-0414" not in str(m.path)] == []


# --- a disk that fails ---------------------------------------------------------------------------


def a_run(tmp_path: Path, disk: Disk) -> None:
    """A survey is read and finished over a disk that fails; afterwards what was shown is there and it goes on."""
    folder, shown = demo_shop(tmp_path / f"{disk.how}-{disk.fails_at}"), {}
    with begun(folder, "laser") as journal:
        path = journal.path
    whole = path.read_bytes()
    path.write_bytes(whole + b'{"n":2,"at":"2026-11-25T09:5')
    with pytest.MonkeyPatch.context() as patch:
        on(disk, patch)
        with suppress(Died):
            worked_on(folder, path, shown)
    with SurveyJournal.open(path) as again:
        assert path.read_bytes().startswith(whole)
        assert shown.items() <= entries(path).items()
        if again.surveying.finished is None:
            missing = SurveySession(folder, again, "Odo Brack", Clock())
            for row in missing.rows():
                if not row.answered:
                    missing.answer(row, "1500 mm")
            again.close()
    for yaml in folder.surveys_folder.glob("*.yaml"):
        read_survey(yaml)


def worked_on(folder: ShopFolder, path: Path, shown: dict[int, tuple[str, str]]) -> None:
    """Read every place and finish; each refusal is the disk's, in a sentence."""
    journal, told = None, []
    try:
        journal = SurveyJournal.open(path)
        session = SurveySession(folder, journal, "Odo Brack", Clock())
        for row in session.rows():
            try:
                session.answer(row, "1500 mm")
            except JournalError as refused:
                told.append(str(refused))
                continue
            kept = session.surveying.readings[-1]
            shown[kept.number] = (kept.question, kept.text)
        with suppress(ValueError):  # some place is not read
            session.keep()
    except JournalError as refused:
        told.append(str(refused))
    finally:
        if journal is not None:
            journal.close()
    assert all("no space left on device" in t for t in told), told


@pytest.mark.parametrize("how", ["refused", "half", "stays", "died"])
def test_a_disk_that_fails_at_any_call_loses_nothing_shown(tmp_path, how):
    sound = Disk()
    a_run(tmp_path / "sound", sound)
    assert sound.calls > 20
    for k in range(sound.calls):
        a_run(tmp_path, Disk(k, how))

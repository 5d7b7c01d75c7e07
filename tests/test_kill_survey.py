"""What a survey showed as kept survives: kills while it is read and while its file is written, a disk that fails."""

from __future__ import annotations

import random
from contextlib import suppress
from pathlib import Path

import pytest

from readiness.checklist.files import read_survey
from readiness.job import Reading
from readiness.records.chained import JournalError
from readiness.records.opening import mistakes_in
from readiness.records.shop import ShopFolder
from readiness.records.surveys import SurveyJournal, begin, finish, resume, unfinished, uses_of
from readiness.survey.finish import finished
from readiness.survey.surveying import CHECK, questions
from readiness.wizard.surveying_session import SurveySession
from tests.failing_disk import HOW, Died, Disk, on
from tests.killing import Killer, show
from tests.shop import MOMENT, Clock, demo_shop
from tests.survey.floors import exact, read
from tests.test_kill import FORK, entries, opened

pytestmark = pytest.mark.slow

KILLS = 20
"""For each of two surveys that are read, and one that is finished."""
BAY, SHEET = "bay-3", "dunlin-surround"


def begun(folder: ShopFolder, way: str) -> SurveyJournal:
    length = 2.0 if way == "level" else None
    uses = uses_of(folder, [SHEET])
    return begin(folder, BAY, way, uses, by="Odo Brack", at=MOMENT, straightedge=length)  # type: ignore[arg-type]


# --- killed while it is read ---------------------------------------------------------------------


def surveying(shop: str, seed: int) -> None:
    """The program that is killed: does what the screen does, shows a reading when it counts as kept."""
    folder, chance = opened(shop), random.Random(seed)
    journal = resume(folder, BAY)
    assert journal is not None
    session = SurveySession(folder, journal, "Odo Brack", Clock())
    while True:
        row = chance.choice(session.rows())
        value = exact(session.surveying, lambda x, y: 2 * x - y, 0.2)[row.question.key]
        session.answer(row, f"{value + chance.gauss(0, 0.3):.1f}", chance.choice(("repeat", "correct")))
        kept = session.surveying.readings[-1]
        show([kept.number, kept.question, kept.text])
        if chance.random() < 0.1 and len(session.surveying.nodes) > 6:
            session.leave_out(chance.choice(session.surveying.nodes).name, "a trolley stands there")
        if chance.random() < 0.1:
            session.undo()


def warm(shop: str) -> None:
    """Look at the survey once, so that everything is loaded and the shop is read."""
    folder = opened(shop)
    path = unfinished(folder, BAY)
    if path is not None:
        session = SurveySession(folder, SurveyJournal.open(path, write=False), "Odo Brack", Clock())
        session.rows()


@FORK
@pytest.mark.parametrize("way", ["laser", "level"])
def test_no_kill_loses_a_reading_that_was_shown_as_kept(tmp_path, way):
    folder, shown, chance = demo_shop(tmp_path), {}, random.Random(way)
    begun(folder, way).close()
    with Killer(surveying, warm, str(folder.path)) as killer:
        for seed in range(KILLS):
            told = killer.kill(str(folder.path), seed, lines=1, and_then=chance.uniform(0, 0.02))
            shown |= {n: (q, t) for n, q, t in told}
            with resume(folder, BAY) as journal:  # type: ignore[union-attr]
                assert shown.items() <= entries(journal).items()
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
    """The program that is killed: a survey that is read is finished, a new one begun and read, and so on."""
    folder = ShopFolder(Path(shop))
    while True:
        journal = resume(folder, BAY) or begun(folder, "laser")
        with journal:
            read_rest(journal)
            show([journal.path.stem, "read"])
            survey = finished(journal.surveying, folder.instruments)
            finish(folder, journal, survey, by="Odo Brack", at=MOMENT)
        show([survey.survey, "written"])


@FORK
def test_no_kill_leaves_half_a_survey_or_takes_one_away(tmp_path):
    folder, chance = demo_shop(tmp_path), random.Random(1)
    with Killer(finishing, warm, str(folder.path)) as killer:
        written, halfway = killed_while_finishing(folder, killer, chance)
    assert written
    assert halfway
    with resume(folder, BAY) or begun(folder, "laser") as journal:
        read_rest(journal)
        survey = finished(journal.surveying, folder.instruments)
        path = finish(folder, journal, survey, by="Odo Brack", at=MOMENT)
    assert folder.bays[BAY].survey == read_survey(max(folder.surveys_folder.glob(f"{BAY}*.yaml")))
    assert path.exists()
    assert mistakes_in([folder.path]) == []


def killed_while_finishing(folder: ShopFolder, killer: Killer, chance: random.Random) -> tuple[set[str], int]:
    """The ids of the surveys that were shown as written, and how often one was left to be gone on with."""
    written, halfway = set(), 0
    for seed in range(KILLS):
        # every other one as soon as all is read, so that some files surely are not written
        told = killer.kill(str(folder.path), lines=1 + seed % 2, and_then=chance.uniform(0, 0.01))
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
    return written, halfway


# --- a disk that fails ---------------------------------------------------------------------------


@pytest.fixture(scope="module")
def shop(tmp_path_factory) -> tuple[ShopFolder, Path, bytes]:
    """A shop with a survey just begun, for all runs: its journal's path and bytes."""
    folder = demo_shop(tmp_path_factory.mktemp("disk"))
    with begun(folder, "laser") as journal:
        return folder, journal.path, journal.path.read_bytes()


def a_run(shop: tuple[ShopFolder, Path, bytes], disk: Disk) -> None:
    """A survey is read and finished over a disk that fails; afterwards what was shown is there and it goes on."""
    folder, path, whole = shop
    path.write_bytes(whole + b'{"n":2,"at":"2026-11-25T09:5')
    path.with_suffix(".yaml").unlink(missing_ok=True)
    shown: dict[int, tuple[str, str]] = {}
    with pytest.MonkeyPatch.context() as patch:
        on(disk, patch)
        with suppress(Died):
            worked_on(folder, path, shown)
    with SurveyJournal.open(path) as again:
        assert path.read_bytes().startswith(whole)
        assert shown.items() <= entries(again).items()
        if again.surveying.finished is None:
            read_rest(again)
        else:
            assert path.with_suffix(".yaml").exists()
    if path.with_suffix(".yaml").exists():
        read_survey(path.with_suffix(".yaml"))


def worked_on(folder: ShopFolder, path: Path, shown: dict[int, tuple[str, str]]) -> None:
    """Read every place and finish; each refusal is the disk's, in a sentence."""
    journal, told = None, []
    try:
        journal = SurveyJournal.open(path)
        for row in SurveySession(folder, journal, "Odo Brack", Clock()).rows():
            try:
                kept = journal.record(
                    Reading(check=CHECK, question=row.question.key, value=1500.0, unit="mm", at=MOMENT, by="Odo Brack", text="1500", instrument="laser-1")
                )  # fmt: skip
            except JournalError as refused:
                told.append(str(refused))
                continue
            shown[kept.number] = (kept.question, kept.text)
        with suppress(ValueError):  # some place is not read
            SurveySession(folder, journal, "Odo Brack", Clock()).keep()
    except JournalError as refused:
        told.append(str(refused))
    finally:
        if journal is not None:
            journal.close()
    assert all("no space left on device" in t for t in told), told


@pytest.mark.parametrize("how", HOW)
def test_a_disk_that_fails_at_any_call_loses_nothing_shown(shop, how):
    sound = Disk()
    a_run(shop, sound)
    assert sound.calls > 20
    for k in range(sound.calls):
        a_run(shop, Disk(k, how))

"""What was shown as kept survives: kills at random moments, and a disk that fails at every single call."""

from __future__ import annotations

import os
import random
from contextlib import suppress
from pathlib import Path

import pytest

from readiness.job import Ended, Job
from readiness.records import places
from readiness.records.journal import Journal, JournalError
from readiness.records.shop import ShopFolder
from readiness.wizard.app import ReadinessApp
from readiness.wizard.rows import Row
from readiness.wizard.session import Session
from readiness.wizard.walk import Walk
from tests.failing_disk import HOW, Died, Disk, on
from tests.killing import Killer, killed_for_real, show
from tests.records.invented import SHEETS, typed
from tests.shop import MOMENT, Clock, demo_shop
from tests.wizard.driver import settled

pytestmark = pytest.mark.slow

FORKED, REAL = 60, 4
"""Kills of each of four jobs, by a child that begins at once; and of one job by a program of its own."""
TORN = b'{"n":99999,"at":"2026-11-25T09:5'
FORK = pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork")


# --- answering, as the wizard does ---------------------------------------------------------------


def answer_one(session: Session, chance: random.Random) -> list[object]:
    """Answer one random question of the job, at times with a note, an event, a fix; what was kept."""
    verdict = session.verdict()
    row = chance.choice([row for step in session.steps for row in session.rows(step, verdict)])
    again = chance.choice(("repeat", "correct", "fixed"))
    kept = session.answer(row, typed(row.question, chance), again)  # type: ignore[arg-type]
    if chance.random() < 0.1:
        session.happened(chance.choice(("door_opened", "car_moved")))
    if chance.random() < 0.1:
        session.note(Row(row.check, row.side, row.question, (kept,)), f"note to {kept.number}")
    return [kept.number, kept.question, kept.text]


def answering(shop: str, job: str, seed: int) -> None:
    """The program that is killed: shows an answer when it counts as kept, and not before."""
    folder, chance = opened(shop), random.Random(seed)
    session = Session(folder, folder.journal(job, by="Odo Brack"), "Odo Brack", Clock())
    while True:
        show(answer_one(session, chance))


def warm(shop: str, job: str) -> None:
    """Judge the job once, so that everything is loaded and the shop is read."""
    folder = opened(shop)
    session = Session(folder, folder.journal(job, write=False), "Odo Brack", Clock())
    for step in session.steps:
        session.rows(step, session.verdict())


_shops: dict[str, ShopFolder] = {}


def opened(shop: str) -> ShopFolder:
    return _shops.setdefault(shop, ShopFolder(Path(shop)))


def entries(journal: Journal) -> dict[int, tuple[str, str]]:
    """Every reading that the file holds, taken back or not: number -> question, text."""
    return {e.n: (e.body["question"], e.body["text"]) for e in journal.entries if e.kind == "reading"}


# --- killed --------------------------------------------------------------------------------------


def begun(folder: ShopFolder, sheet: str) -> Path:
    with Journal.create(
        folder.jobs_folder, job="K1", sheet=sheet, bay="bay-2", sides=SHEETS[sheet], by="x", at=MOMENT
    ) as journal:
        return journal.path


def all_there(path: Path, shown: dict[int, tuple[str, str]], *, left: bool) -> None:
    """The journal opens, everything shown is in it, and if a program `left` it open it says so."""
    with Journal.open(path) as journal:
        assert shown.items() <= entries(journal).items()
        told = [w for w in journal.warnings if "ended without closing it" in w]
        assert len(told) == left or not left, journal.warnings


@FORK
@pytest.mark.parametrize("sheet", SHEETS)
async def test_no_kill_loses_an_answer_that_was_shown_as_kept(tmp_path, sheet):
    folder, chance = demo_shop(tmp_path), random.Random(sheet)
    path, shown = begun(folder, sheet), {}
    with Killer(answering, warm, str(folder.path), "K1") as killer:
        for seed in range(FORKED):
            if chance.random() < 0.2:  # so that some are killed while they set a torn line aside
                with path.open("ab") as stream:
                    stream.write(
                        TORN.replace(b"99999", str(len(path.read_bytes().splitlines()) + 1).encode())
                    )
            lines, moment = chance.choice((0, 1, 1, 2)), chance.uniform(0, 0.02)
            told = killer.kill(str(folder.path), "K1", seed, lines=lines, and_then=moment)
            shown |= {n: (q, t) for n, q, t in told}
            all_there(path, shown, left=bool(told))
    assert len(shown) >= FORKED / 2
    await resumes(folder, "K1")


def test_nor_does_a_kill_of_a_program_of_its_own(tmp_path):
    folder, shown = demo_shop(tmp_path), {}
    path, shop = begun(folder, "pipit-front"), str(folder.path)
    for seed in range(REAL):
        code = f"from tests.test_kill import answering; answering({shop!r}, 'K1', {seed})"
        told = killed_for_real(code, random.Random(seed).uniform(0, 0.05))
        shown |= {n: (q, t) for n, q, t in told}
        all_there(path, shown, left=True)
    assert shown


async def resumes(folder: ShopFolder, job: str) -> None:
    app = ReadinessApp(folder.path, job, person="Odo Brack", clock=Clock())
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(app, pilot)
        await settled(app, pilot)
        assert isinstance(app.screen, Walk)
        assert app.screen.verdict is not None
        assert app.screen.session.journal.job.readings


# --- a disk that fails at one call ---------------------------------------------------------------


@pytest.fixture(scope="module")
def shop(tmp_path_factory) -> ShopFolder:
    """One for all runs: only its jobs change."""
    return demo_shop(tmp_path_factory.mktemp("disk"))


def worked_on(
    path: Path, folder: ShopFolder, shown: dict[int, tuple[str, str]], told: list[str]
) -> Job | None:
    """Open a journal with a torn end, answer, correct, note, end; the job as the program saw it last."""
    chance, journal = random.Random(5), None
    try:
        journal = Journal.open(path)
        session = Session(folder, journal, "Odo Brack", Clock())
        verdict = session.verdict()
        for step in session.steps[:3]:
            row = session.rows(step, verdict)[0]
            for again in ("repeat", "correct"):
                try:
                    kept = session.answer(row, typed(row.question, chance), again)
                except JournalError as refused:
                    told.append(str(refused))
                    continue
                shown[kept.number] = (kept.question, kept.text)
                row = Row(row.check, row.side, row.question, (kept,))
        journal.end(Ended(at=Clock()(), by="Odo Brack", why="enough"))
        return journal.job
    except JournalError as refused:
        told.append(str(refused))
        return journal.job if journal is not None and journal.entries else None
    finally:
        if journal is not None:
            journal.close()


def a_run(folder: ShopFolder, disk: Disk, whole: bytes) -> None:
    """One run over a disk that fails; afterwards all that was shown is there, and the work goes on."""
    path = folder.jobs_folder / "HB-0420.jsonl"
    path.write_bytes(whole + TORN.replace(b"99999", str(whole.count(b"\n") + 1).encode()))
    shown: dict[int, tuple[str, str]] = {}
    told: list[str] = []
    before = None
    with pytest.MonkeyPatch.context() as patch:
        on(disk, patch)
        with suppress(Died):
            before = worked_on(path, folder, shown, told)
    assert all("no space left on device" in t for t in told), told
    assert told or disk.how in ("died", "done") or disk.fails_at < 0
    with Journal.open(path) as journal:
        assert path.read_bytes().startswith(whole)
        assert shown.items() <= entries(journal).items()
        if (
            disk.how != "stays"
        ):  # a line that the disk let nobody take back may turn up again; none may be missing
            assert before is None or journal.job == before
        if journal.job.ended is not None:
            journal.withdraw(journal.job.ended.number, "it goes on", "Odo Brack", journal.last_at)
        again = Ended(at=journal.last_at, by="Odo Brack", why="over")
        assert journal.end(again).number == journal.head.lines


@pytest.mark.parametrize("how", HOW)
def test_a_disk_that_fails_at_any_call_loses_nothing_shown(shop, how):
    whole = (places.demo() / "jobs" / "HB-0420.jsonl").read_bytes()
    sound = Disk()
    a_run(shop, sound, whole)
    assert sound.calls > 20
    for k in range(sound.calls):
        a_run(shop, Disk(k, how), whole)


@pytest.mark.parametrize("how", HOW)
def test_a_job_that_cannot_be_begun_leaves_no_half_journal(tmp_path, how):
    """It is there and opens, or it is not there and can be begun again."""

    def run(disk: Disk) -> None:
        made, path = None, tmp_path / "K1.jsonl"
        with pytest.MonkeyPatch.context() as patch:
            on(disk, patch)
            with suppress(Died, JournalError):
                made = create(tmp_path)
        if made is not None:
            made.close()
        assert path.exists() or made is None
        with Journal.open(path) if path.exists() else create(tmp_path) as journal:
            assert journal.job.bay == "bay-2"
        path.unlink()

    sound = Disk()
    run(sound)
    assert sound.calls > 4
    for k in range(sound.calls):
        run(Disk(k, how))


def create(folder: Path) -> Journal:
    return Journal.create(folder, job="K1", sheet="tern", bay="bay-2", sides=("left",), by="x", at=MOMENT)

"""What was shown as kept survives: kills at random moments, and a disk that fails at every single call."""

from __future__ import annotations

import errno
import json
import os
import random
import subprocess
import sys
import time
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

import pytest

from readiness.job import Job
from readiness.records.journal import Journal, JournalError
from readiness.records.shop import ShopFolder
from readiness.wizard.app import ReadinessApp
from readiness.wizard.rows import Row
from readiness.wizard.session import Session
from readiness.wizard.walk import Walk
from tests.records.invented import SHEETS, typed
from tests.shop import MOMENT, Clock, demo_shop
from tests.wizard.driver import settled

pytestmark = pytest.mark.slow

KILLS, KILLS_A_JOB = 120, 12
ROOT = Path(__file__).parents[1]


# --- answering, as the wizard does ---------------------------------------------------------------


def answers_of(session: Session, chance: random.Random) -> str:
    """Answer one random question of the job, at times with a note, an event, a fix; what was kept, in a line."""
    verdict = session.verdict()
    row = chance.choice(session.rows(chance.choice(session.steps), verdict))
    again = chance.choice(("repeat", "correct", "fixed"))
    kept = session.answer(row, typed(row.question, chance), again)  # type: ignore[arg-type]
    if chance.random() < 0.1:
        session.happened(chance.choice(("door_opened", "car_moved")))
    if chance.random() < 0.1:
        row = Row(row.check, row.side, row.question, (kept,))
        session.note(row, f"note to {kept.number}")
    return json.dumps([kept.number, kept.question, kept.text])


def answering(shop: str, job: str, seed: int) -> None:
    """The process that is killed: prints an answer when it counts as kept, and not before."""
    folder, chance = ShopFolder(Path(shop)), random.Random(seed)
    session = Session(folder, folder.journal(job, write=True), "Odo Brack", Clock())
    while True:
        sys.stdout.write(answers_of(session, chance) + "\n")
        sys.stdout.flush()


def entries(journal: Journal) -> dict[int, tuple[str, str]]:
    """Every reading that the file holds, taken back or not: number -> question, text."""
    found = (json.loads(line) for line in journal.path.read_text(encoding="utf-8").splitlines())
    return {e["n"]: (e["question"], e["text"]) for e in found if e["kind"] == "reading"}


# --- killed --------------------------------------------------------------------------------------


def killed_while_answering(folder: ShopFolder, job: str, seed: int) -> list[tuple[int, str, str]]:
    """What the process had shown as kept when it was killed, at a moment of chance."""
    chance = random.Random(seed)
    code = f"from tests.test_kill import answering; answering({str(folder.path)!r}, {job!r}, {seed})"
    with subprocess.Popen([sys.executable, "-c", code], stdout=subprocess.PIPE, cwd=ROOT) as process:
        assert process.stdout is not None
        told = [process.stdout.readline()] if chance.random() < 0.9 else []
        time.sleep(chance.uniform(0.0, 0.08))
        process.kill()
        told += process.stdout.read().splitlines(keepends=True)
    return [tuple(json.loads(line)) for line in told if line.endswith(b"\n")]


@pytest.mark.parametrize("nth", range(KILLS // KILLS_A_JOB))
async def test_no_kill_loses_an_answer_that_was_shown_as_kept(tmp_path, nth):
    folder, sheet = demo_shop(tmp_path), list(SHEETS)[nth % len(SHEETS)]
    Journal.create(
        folder.jobs_folder, job="K1", sheet=sheet, bay="bay-2", sides=SHEETS[sheet], by="x", at=MOMENT
    ).close()
    shown: dict[int, tuple[str, str]] = {}
    for k in range(KILLS_A_JOB):
        shown |= {n: (q, t) for n, q, t in killed_while_answering(folder, "K1", nth * 1000 + k)}
        with folder.journal("K1", write=True) as journal:
            found = entries(journal)
            assert shown.items() <= found.items()
    assert len(shown) >= KILLS_A_JOB / 2
    await resumes(folder, "K1")


async def resumes(folder: ShopFolder, job: str) -> None:
    app = ReadinessApp(folder.path, job, person="Odo Brack", clock=Clock())
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(app, pilot)
        await settled(app, pilot)
        assert isinstance(app.screen, Walk)
        assert app.screen.verdict is not None
        assert app.screen.session.journal.job.readings


# --- a disk that fails ---------------------------------------------------------------------------


class Died(BaseException):
    """The machine stopped at this call."""


@dataclass
class Disk:
    """Counts the calls that reach the disk; one of them, or all from it on, go wrong.

    `how`: 'refused' (an error, nothing done), 'half' (a write stops in the middle, then an error), 'stays' (all
    later calls are refused too), 'died' (a write stops in the middle and the program is gone).
    """

    fails_at: int = -1
    how: str = "refused"
    calls: int = 0

    def call(self, do, *given):
        here, self.calls = self.calls, self.calls + 1
        hit = here == self.fails_at or (self.how == "stays" and 0 <= self.fails_at <= here)
        if not hit:
            return do(*given)
        if self.how in ("half", "died") and given and isinstance(given[0], (bytes, memoryview)):
            do(bytes(given[0])[: len(given[0]) // 2])
        if self.how == "died":
            raise Died
        raise OSError(errno.ENOSPC, "No space left on device")


class Stream:
    """A file of the journal, all of whose calls go by the disk."""

    def __init__(self, stream, disk: Disk) -> None:
        self.stream, self.disk = stream, disk

    def __getattr__(self, name):
        real = getattr(self.stream, name)
        if name in ("write", "seek", "truncate", "flush"):
            return lambda *given: self.disk.call(real, *given)
        return real

    def __enter__(self):
        return self

    def __exit__(self, *fault):
        self.stream.close()


def on(disk: Disk, patch: pytest.MonkeyPatch) -> None:
    opened, synced = Path.open, os.fsync

    def open_path(path, mode="r", *more, **named):
        if ".jsonl" not in path.name or path.suffix == ".lock" or "b" not in mode or mode == "rb":
            return opened(path, mode, *more, **named)
        return Stream(disk.call(lambda: opened(path, mode, *more, **named)), disk)

    patch.setattr(Path, "open", open_path)
    patch.setattr(os, "fsync", lambda descriptor: disk.call(synced, descriptor))


def worked_on(
    path: Path, folder: ShopFolder, shown: dict[int, tuple[str, str]], told: list[str]
) -> Job | None:
    """Open a journal with a torn end, answer, correct, note, set aside; the job as the program saw it last."""
    chance, journal = random.Random(5), None
    try:
        journal = Journal.open(path)
        session = Session(folder, journal, "Odo Brack", Clock())
        for step in session.steps[:3]:
            row = session.rows(step, session.verdict())[0]
            for again in ("repeat", "correct"):
                try:
                    kept = session.answer(row, typed(row.question, chance), again)
                except JournalError as refused:
                    told.append(str(refused))
                    continue
                shown[kept.number] = (kept.question, kept.text)
                row = Row(row.check, row.side, row.question, (kept,))
        return journal.job
    except JournalError as refused:
        told.append(str(refused))
        return None
    finally:
        if journal is not None:
            journal.close()


def a_run(tmp_path: Path, disk: Disk) -> None:
    """One run over a disk that fails; afterwards all that was shown is there, and the work goes on."""
    name = f"{disk.how}-{disk.fails_at}"
    folder = demo_shop(tmp_path / name)
    path = folder.jobs_folder / "HB-0420.jsonl"
    whole = path.read_bytes()
    path.write_bytes(whole + b'{"n":99,"at":"2026-11-25T09:5')
    shown: dict[int, tuple[str, str]] = {}
    told: list[str] = []
    before = None
    with pytest.MonkeyPatch.context() as patch:
        on(disk, patch)
        with suppress(Died):
            before = worked_on(path, folder, shown, told)
    assert all("could not be written: no space left on device" in t for t in told), told
    assert told or disk.how == "died" or disk.fails_at < 0
    with Journal.open(path) as journal:
        assert path.read_bytes().startswith(whole), name
        assert shown.items() <= entries(journal).items(), name
        if (
            disk.how != "stays"
        ):  # a line that the disk let nobody take back may turn up again; none may be missing
            assert before is None or journal.job == before, name
        session = Session(folder, journal, "Odo Brack", Clock())
        row = session.rows(session.steps[0], session.verdict())[0]
        assert session.answer(row, typed(row.question, random.Random(1))).number


@pytest.mark.parametrize("how", ["refused", "half", "stays", "died"])
def test_a_disk_that_fails_at_any_call_loses_nothing_shown(tmp_path, how):
    sound = Disk()
    a_run(tmp_path / "sound", sound)
    assert sound.calls > 20
    for k in range(sound.calls):
        a_run(tmp_path, Disk(k, how))

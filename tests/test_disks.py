"""Disks that refuse, go away and come back, clocks that go backwards, two programs on one job: through the wizard.

Whatever happens, the wizard stays up and says so, what was typed stays in the field, and Enter writes it once it can
be written. What the screen shows as kept is in the file of that name.
"""

from __future__ import annotations

import errno
import os
import shutil
import stat
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import timedelta
from pathlib import Path

import pytest

from readiness.records.chained import HeldElsewhere
from readiness.records.journal import Journal, JournalError
from readiness.records.shop import ShopFolder
from readiness.wizard.app import ReadinessApp
from readiness.wizard.dialogs import Ask
from readiness.wizard.form import Form
from readiness.wizard.start import Start
from readiness.wizard.walk import Walk
from tests.records.test_journal import AT, begun, reading
from tests.shop import Clock, demo_shop
from tests.wizard.driver import Technician, until

ROOT = Path(__file__).parents[1]
slow = pytest.mark.slow
JOB = "HB-0420"
"""A demo job that is half done; its next question is the voltage at the battery."""
posix = pytest.mark.skipif(os.name == "nt", reason="Windows does not let go of a file that is open")


# --- at the keyboard -----------------------------------------------------------------------------


@contextmanager
def mounted(on: Path, *options: str) -> Iterator[Path]:
    """A file system of its own; skips where this machine does not let us mount one."""
    on.mkdir(exist_ok=True)
    command = shutil.which("mount")
    if command is None or subprocess.run([command, *options, str(on)], capture_output=True).returncode:
        pytest.skip("no right to mount: the injected error is tested instead")
    try:
        yield on
    finally:
        subprocess.run(["umount", "-l", str(on)], check=True)


def app_of(folder: ShopFolder, clock: Clock, job: str = JOB, person: str = "Odo Brack") -> ReadinessApp:
    return ReadinessApp(folder.path, job, person=person, clock=clock)


async def walking(app: ReadinessApp, pilot) -> Technician:
    """In the job, the cursor on the voltage."""
    await until(pilot, lambda: isinstance(app.screen, Walk) and app.screen.verdict is not None)
    who = Technician(app, pilot, {})
    await who.go_to("power", "supply")
    return who


def said(app: ReadinessApp) -> str:
    return str(app.screen.query_one("#sentence").content)


def banner(app: ReadinessApp) -> str:
    line = app.screen.query_one("#locked")
    return str(line.content) if line.display else ""


def field(app: ReadinessApp) -> str:
    return app.screen.query_one(Form).entry.value


def path_of(folder: ShopFolder) -> Path:
    return folder.jobs_folder / f"{JOB}.jsonl"


def on_disk(path: Path) -> list[str]:
    """What is kept of the voltage, as it was typed."""
    return [r.text for r in Journal.open(path, write=False).job.readings if r.question == "supply"]


async def refused_then_kept(who: Technician, path: Path, sentence: str, mend: Callable[[], None]) -> None:
    """An answer is refused, stays in the field however often it is tried, and is kept once all is well again."""
    before = who.walk.session.journal.job
    await who.press("1", "3", "full_stop", "1")
    for _ in range(2):
        await who.press("enter")
        assert sentence in said(who.app)
        assert field(who.app) == "13.1"
        assert who.walk.session.journal.job == before
        assert who.walk.session.visit.job == before
    mend()
    await who.press("enter")
    assert on_disk(path)[-1:] == ["13.1"]
    assert [r.text for r in who.walk.session.journal.job.readings if r.question == "supply"] == ["13.1"]


# --- a full disk ---------------------------------------------------------------------------------


@slow
async def test_a_disk_that_is_really_full(tmp_path):
    """512 kB of memory as a disk, filled up; a page that is half used takes a little more, so it is used up first."""
    with mounted(tmp_path / "small", "-t", "tmpfs", "-o", "size=512k", "tmpfs") as small:
        folder = demo_shop(small)
        path, fill = path_of(folder), small / "fill"
        app = app_of(folder, Clock())
        async with app.run_test(size=(80, 24)) as pilot:
            who = await walking(app, pilot)
            use_up_the_page(who.walk.session.journal)
            with pytest.raises(OSError, match="No space left"):
                fill.write_bytes(bytes(1_000_000))
            await refused_then_kept(who, path, "no space left on device", fill.unlink)


def use_up_the_page(journal: Journal) -> None:
    """Write notes until the next line needs another page of 4096 bytes."""
    number = journal.job.readings[-1].number
    while (room := 4096 - journal.path.stat().st_size % 4096) > 150:
        journal.note(number, "x" * max(1, min(150, room - 320)), "Odo Brack", AT)


@slow
@pytest.mark.parametrize(
    ("call", "number", "sentence"),
    [
        ("write", errno.ENOSPC, "no space left on device"),
        ("fsync", errno.ENOSPC, "no space left on device"),
        ("write", errno.EROFS, "read-only file system"),
        ("fsync", errno.EIO, "input/output error"),
    ],
)
async def test_a_disk_that_refuses(tmp_path, monkeypatch, call, number, sentence):
    """The error is injected: so it is the same on every machine."""
    folder = demo_shop(tmp_path)
    app = app_of(folder, Clock())
    async with app.run_test(size=(80, 24)) as pilot:
        who = await walking(app, pilot)
        with monkeypatch.context() as patch:
            file = who.walk.session.journal._file
            assert file is not None

            def refuse(*_: object) -> int:
                raise OSError(number, os.strerror(number))

            if call == "write":
                real = file._file
                patch.setattr(file, "_file", _Refusing(real, refuse))
            else:
                patch.setattr(os, "fsync", refuse)
            await refused_then_kept(who, path_of(folder), sentence, patch.undo)


class _Refusing:
    """A file of which only writing goes wrong."""

    def __init__(self, real, refuse) -> None:
        self.real, self.write = real, refuse

    def __getattr__(self, name):
        return getattr(self.real, name)


@slow
async def test_words_that_were_asked_for_are_not_lost_either(tmp_path, monkeypatch):
    """A note that could not be kept stands in its question again, with what the disk said."""
    folder = demo_shop(tmp_path)
    app = app_of(folder, Clock())
    async with app.run_test(size=(80, 24)) as pilot:
        who = await walking(app, pilot)
        await who.press("1", "3", "enter", "up")
        with monkeypatch.context() as patch:
            patch.setattr(os, "fsync", _full)
            await who.ask("f2", Ask)
            await who.press(*"old", "enter")
            await until(pilot, lambda: "no space left" in hint(app))
            assert app.screen.query_one("Input").value == "old"
        await who.press("enter")
        await until(pilot, lambda: isinstance(app.screen, Walk))
    notes = [
        r.note for r in Journal.open(path_of(folder), write=False).job.readings if r.question == "supply"
    ]
    assert notes == ["old"]


def _full(_: int) -> None:
    raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))


def hint(app: ReadinessApp) -> str:
    return str(app.screen.query_one(".keys").content) if isinstance(app.screen, Ask) else ""


@slow
async def test_a_correction_on_a_full_disk_takes_nothing_back(tmp_path, monkeypatch):
    """Both lines, or none: what stood there before still stands, and the new answer is still in the field."""
    folder = demo_shop(tmp_path)
    app = app_of(folder, Clock())
    async with app.run_test(size=(80, 24)) as pilot:
        who = await walking(app, pilot)
        await who.press("1", "3", "enter", "up")
        with monkeypatch.context() as patch:
            patch.setattr(os, "fsync", _full)
            await who.press("1", "2")
            await who.ask("enter")
            await who.press("c")
            await until(pilot, lambda: "no space left" in said(app))
            assert field(app) == "12"
            assert on_disk(path_of(folder)) == ["13"]
        await who.ask("enter")
        await who.press("c")
        await until(pilot, lambda: on_disk(path_of(folder)) == ["12"])


# --- a folder that cannot be written -------------------------------------------------------------


@slow
async def test_a_job_in_a_folder_that_is_read_only_is_looked_at(tmp_path):
    """Mounted read-only, for a superuser is not held by permissions; then mounted to be written."""
    folder = demo_shop(tmp_path)
    jobs = str(folder.jobs_folder)
    app = app_of(folder, Clock())
    with mounted(folder.jobs_folder, "--bind", jobs):
        subprocess.run(["mount", "-o", "remount,ro,bind", jobs], check=True)
        async with app.run_test(size=(80, 24)) as pilot:
            who = await walking(app, pilot)
            await looked_at_then_taken(who, "read-only file system", lambda: remounted(jobs), path_of(folder))


def remounted(path: str) -> None:
    subprocess.run(["mount", "-o", "remount,rw,bind", path], check=True)


@slow
async def test_a_job_that_cannot_be_opened_for_writing_is_looked_at(tmp_path, monkeypatch):
    """The same with an injected error, for machines that do not let us mount."""
    folder = demo_shop(tmp_path)
    app, opened = app_of(folder, Clock()), Path.open

    def read_only(path, mode="r", *more, **named):
        if ".jsonl" in path.name and mode not in ("r", "rb"):
            raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))
        return opened(path, mode, *more, **named)

    monkeypatch.setattr(Path, "open", read_only)
    async with app.run_test(size=(80, 24)) as pilot:
        who = await walking(app, pilot)
        await looked_at_then_taken(who, "permission denied", monkeypatch.undo, path_of(folder))


async def looked_at_then_taken(
    who: Technician, why: str, mend: Callable[[], None], path: Path, notice: str = ""
) -> None:
    """Read-only, and says why; everything can be looked at, nothing entered; Ctrl+W takes it once it is free."""
    app, before = who.app, path.read_bytes()
    assert banner(app).startswith("Read-only. ")
    assert why in banner(app)
    for key in ("f10", "pageup", "f1", "escape", "ctrl+l", "escape"):
        await who.press(key)
    assert isinstance(app.screen, (Walk, Start)), app.screen
    await who.go_to("power", "supply")
    for keys in (
        ("f2",),
        ("f3",),
        ("f4",),
        ("f6",),
        ("f7",),
        ("f8",),
        ("f9",),
        ("ctrl+z",),
        ("1", "3", "enter"),
    ):
        who.walk.say("")
        await who.press(*keys)
        assert said(app).startswith("Nothing can be entered: "), keys
        assert why in said(app), keys
    assert path.read_bytes() == before
    await who.press("ctrl+w")
    assert "still cannot be written" in said(app)
    mend()
    await who.press("ctrl+w")
    assert banner(app) == ""
    assert notice in said(app)
    assert field(app) == "13"
    await who.press("enter")
    assert on_disk(path) == ["13"]


# --- files and folders that go away and come back ------------------------------------------------


@posix
@slow
async def test_a_folder_that_goes_away_and_comes_back(tmp_path):
    """As a network share does."""
    folder = demo_shop(tmp_path)
    app, away = app_of(folder, Clock()), tmp_path / "away"
    async with app.run_test(size=(80, 24)) as pilot:
        who = await walking(app, pilot)
        folder.path.rename(away)
        await refused_then_kept(
            who, path_of(folder), "its folder is not there any more", lambda: back(away, folder.path)
        )


def back(away: Path, to: Path) -> None:
    away.rename(to)


@posix
@slow
async def test_without_its_folder_the_wizard_goes_on_where_it_can(tmp_path):
    folder = demo_shop(tmp_path)
    app, away = app_of(folder, Clock()), tmp_path / "away"
    async with app.run_test(size=(80, 24)) as pilot:
        who = await walking(app, pilot)
        folder.path.rename(away)
        for key in ("f10", "pageup", "escape", "f9", "escape"):
            await who.press(key)
        who.walk._enter(0)
        await who.press("escape")
        await until(pilot, lambda: isinstance(app.screen, Start))
        away.rename(folder.path)
        app.screen.open_job(JOB)  # type: ignore[attr-defined]
        await walking(app, pilot)
        assert banner(app) == ""


@posix
@slow
async def test_a_folder_that_comes_back_as_another_one(tmp_path):
    """As a share does that is mounted anew, or a folder put back from a copy: the same bytes in other files."""
    folder = demo_shop(tmp_path)
    app, away = app_of(folder, Clock()), tmp_path / "away"

    def put_back() -> None:
        shutil.copytree(away, folder.path)

    async with app.run_test(size=(80, 24)) as pilot:
        who = await walking(app, pilot)
        folder.path.rename(away)
        await refused_then_kept(who, path_of(folder), "its folder is not there any more", put_back)
        with pytest.raises(HeldElsewhere):
            Journal.open(path_of(folder))
        assert on_disk(away / "jobs" / f"{JOB}.jsonl") == []
    Journal.open(path_of(folder)).close()


@posix
@slow
async def test_a_file_that_was_deleted_is_written_anew_once_that_was_said(tmp_path):
    folder = demo_shop(tmp_path)
    app, path = app_of(folder, Clock()), path_of(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        who = await walking(app, pilot)
        whole = path.read_bytes()
        path.unlink()
        await who.press("1", "3", "enter")
        assert f"{JOB}.jsonl was deleted or moved away" in said(app)
        assert field(app) == "13"
        assert not path.exists()
        await who.press("enter")
        assert path.read_bytes().startswith(whole)
        assert on_disk(path) == ["13"]


@posix
@slow
@pytest.mark.parametrize("how", ["replaced", "lengthened", "shortened"])
async def test_a_file_that_another_program_changed_is_not_written_to(tmp_path, how):
    folder = demo_shop(tmp_path)
    app, path = app_of(folder, Clock()), path_of(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        who = await walking(app, pilot)
        whole = path.read_bytes()
        other = {
            "replaced": whole.replace(b"QM", b"XY", 1),
            "lengthened": whole + b"x",
            "shortened": whole[:-9],
        }[how]
        if how == "replaced":
            path.unlink()
        path.write_bytes(other)
        await who.press("1", "3")
        for _ in range(2):
            await who.press("enter")
            assert f"{JOB}.jsonl was changed or replaced by something else meanwhile" in said(app)
            assert field(app) == "13"
        assert path.read_bytes() == other


def test_a_share_on_which_a_file_is_not_known_again_can_be_written_to(tmp_path, monkeypatch):
    """Some number their files anew at every look: then what stands in the file of that name is looked at."""
    with begun(tmp_path) as journal:
        monkeypatch.setattr(os.path, "samestat", lambda *_: False)
        for n in range(3):
            journal.record(reading(minutes=n))
        with pytest.raises(HeldElsewhere):
            Journal.open(journal.path)
    assert len(Journal.open(journal.path, write=False).job.readings) == 3


def test_a_share_whose_folders_cannot_be_synced_can_be_written_to(tmp_path, monkeypatch):
    synced = os.fsync

    def files_only(descriptor: int) -> None:
        if stat.S_ISDIR(os.fstat(descriptor).st_mode):
            raise OSError(errno.EINVAL, os.strerror(errno.EINVAL))
        synced(descriptor)

    monkeypatch.setattr(os, "fsync", files_only)
    with begun(tmp_path) as journal:
        assert journal.record(reading()).number == 2


@posix
@pytest.mark.parametrize("what", ["file", "folder"])
def test_what_goes_away_while_a_line_is_written_does_not_count(tmp_path, monkeypatch, what):
    """The line was synced, but no longer in the file of that name; moved back, the file is as it was before."""
    jobs, synced = tmp_path / "jobs", os.fsync
    with begun(jobs) as journal:
        gone = journal.path if what == "file" else jobs
        before, away = journal.path.read_bytes(), tmp_path / "away"

        def vanish(descriptor: int) -> None:
            synced(descriptor)
            gone.rename(away)

        with monkeypatch.context() as patch:
            patch.setattr(os, "fsync", vanish)
            with pytest.raises(JournalError, match="no such file"):
                journal.record(reading(219.0))
        away.rename(gone)
        assert journal.path.read_bytes() == before
        journal.record(reading(231.0))
    assert [r.value for r in Journal.open(journal.path, write=False).job.readings] == [231.0]


def test_on_a_full_disk_a_journal_with_a_torn_line_is_read_as_it_is(tmp_path, monkeypatch):
    path = closed(tmp_path)
    torn = path.read_bytes() + b'{"n":2,"at":"2026'
    path.write_bytes(torn)
    with monkeypatch.context() as patch:
        patch.setattr(os, "fsync", _full)
        with pytest.raises(JournalError, match="could not be opened for writing: no space left on device"):
            Journal.open(path)
        journal = Journal.open(path, or_read=True)
        assert "no space left on device" in journal.locked
        assert path.read_bytes() == torn
    journal.take("Odo Brack")
    with journal:
        assert "cut off" in journal.warnings[-1]
        assert journal.record(reading()).number == 2


# --- a clock that goes backwards -----------------------------------------------------------------


@slow
async def test_a_clock_that_goes_backwards_is_told_and_nothing_stands_before_what_came_first(tmp_path):
    folder, clock = demo_shop(tmp_path), Clock()
    app, path = app_of(folder, clock), path_of(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        who = await walking(app, pilot)
        before = who.walk.session.journal.last_at
        clock.at -= timedelta(days=1)
        await who.press("1", "3", "enter")
        assert "The clock of this machine" in said(app)
        assert "Set the clock" in said(app)
        await who.press("y")
        assert "The clock" not in said(app)
    with Journal.open(path) as journal:
        assert journal.last_at >= before
        assert on_disk(path) == ["13"]


# --- two programs --------------------------------------------------------------------------------

HOLDS = """
import sys
from pathlib import Path
from tests.test_disks import no_locks
from readiness.records.journal import Journal
if sys.argv[2] == "soft":
    no_locks()
journal = Journal.open(Path(sys.argv[1]), by="Lio Fenn")
print("held", flush=True)
sys.stdin.read()
journal.close()
"""


@contextmanager
def another_program(path: Path, locks: str = "") -> Iterator[subprocess.Popen[bytes]]:
    """One that has the journal open in Lio Fenn's name until it is killed or its input closed."""
    with subprocess.Popen(
        [sys.executable, "-c", HOLDS, str(path), locks],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        cwd=ROOT,
    ) as process:
        assert process.stdout is not None
        assert process.stdin is not None
        assert process.stdout.readline().strip() == b"held"
        try:
            yield process
        finally:
            process.stdin.close()
            process.wait(20)


def no_locks(patch: pytest.MonkeyPatch | None = None) -> None:
    """From now on this process's file systems know no locks, as some network shares."""
    import filelock

    def refuse(_: object) -> None:
        raise OSError(errno.ENOLCK, os.strerror(errno.ENOLCK))

    (patch or pytest.MonkeyPatch()).setattr(filelock.FileLock, "_acquire", refuse)


@slow
async def test_the_second_program_looks_on_and_takes_over_when_the_first_is_dead(tmp_path):
    folder = demo_shop(tmp_path)
    app, path = app_of(folder, Clock()), path_of(folder)
    with another_program(path) as other:

        def die() -> None:
            other.kill()
            other.wait(20)

        async with app.run_test(size=(80, 24)) as pilot:
            who = await walking(app, pilot)
            await looked_at_then_taken(
                who, f"Lio Fenn has {JOB} open on ", die, path, notice=f"Lio Fenn had {JOB} open on "
            )


@slow
async def test_what_the_other_program_enters_is_seen(tmp_path):
    folder = demo_shop(tmp_path)
    app, path = app_of(folder, Clock()), path_of(folder)
    with Journal.open(path, by="Lio Fenn") as other:
        async with app.run_test(size=(80, 24)) as pilot:
            who = await walking(app, pilot)
            await who.press("1", "3")
            other.record(reading(12.5, 1e6, check="power", question="supply", unit="V"))
            who.walk._time_passed()
            await pilot.pause()
            assert "12.5" in [
                who.walk.session.shown(r) for r in who.walk.session.rows(who.walk.step, who.walk.verdict)
            ]  # type: ignore[arg-type]
            assert field(app) == "13"
            assert banner(app)


def test_a_second_program_is_told_who_has_it_where_and_since_when(tmp_path):
    path = closed(tmp_path)
    with another_program(path) as other:
        with pytest.raises(HeldElsewhere, match=r"^Lio Fenn has HB-1 open on .+ since \d\d:\d\d\.$") as told:
            Journal.open(path)
        assert told.value.holder.by == "Lio Fenn"
        assert told.value.holder.machine
        assert Journal.open(path, write=False).locked == "The job HB-1 is open for reading only."
        other.kill()
        other.wait(20)
        with Journal.open(path, by="Odo Brack") as journal:
            assert journal.warnings[0].startswith("Lio Fenn had HB-1 open on ")
    with Journal.open(path) as journal:
        assert journal.warnings == [], "who closed it left nothing behind"


@slow
def test_where_there_are_no_locks_a_file_stands_in_for_one(tmp_path, monkeypatch):
    path = closed(tmp_path)
    no_locks(monkeypatch)
    with another_program(path, "soft") as other:
        with pytest.raises(HeldElsewhere, match=r"Lio Fenn has HB-1 open on .+ delete .+soft-lock"):
            Journal.open(path)
        other.kill()
        other.wait(20)
        with Journal.open(path, by="Odo Brack") as journal:
            assert "Lio Fenn had HB-1 open" in " ".join(journal.warnings)
            assert "knows no locks" in " ".join(journal.warnings)
            journal.record(reading())
    assert sorted(p.suffix for p in tmp_path.iterdir()) == [".jsonl", ".lock"]


@slow
def test_a_lock_of_another_machine_is_not_taken_over(tmp_path, monkeypatch):
    """Whether a program there is alive cannot be known from here; what to do is said."""
    path = closed(tmp_path)
    no_locks(monkeypatch)
    with another_program(path, "soft") as other:
        other.kill()
        other.wait(20)
    stands_in = path.with_name(path.name + ".soft-lock")
    pid, _, *rest = stands_in.read_text(encoding="utf-8").splitlines()
    stands_in.write_text("\n".join([pid, "bench-9", *rest]) + "\n", encoding="utf-8", newline="\n")
    with pytest.raises(HeldElsewhere, match="If it runs there no more, delete"):
        Journal.open(path)
    stands_in.unlink()
    Journal.open(path).close()


def test_a_holder_that_cannot_be_read_or_written_is_no_reason_not_to_open(tmp_path):
    path = closed(tmp_path)
    held = path.with_name(path.name + ".held")
    held.write_bytes(b"\xff{")
    with Journal.open(path, by="Odo \x1b[2J Brack"):
        assert "\x1b" in held.read_text(encoding="utf-8") or "\\u001b" in held.read_text(encoding="utf-8")
        with pytest.raises(HeldElsewhere) as told:
            Journal.open(path)
        assert "\x1b" not in str(told.value)
    with Journal.open(path) as journal:
        journal.held_by("Lio Fenn")
        with pytest.raises(HeldElsewhere, match="Lio Fenn has HB-1 open"):
            Journal.open(path)
    held.mkdir()
    with Journal.open(path) as journal:
        journal.record(reading())
        with pytest.raises(HeldElsewhere, match=r"^Another program has HB-1 open\.$"):
            Journal.open(path)


def closed(folder: Path) -> Path:
    with begun(folder) as journal:
        return journal.path


@posix
@slow
def test_a_lock_lost_with_its_folder_is_taken_again_or_the_job_is_only_read(tmp_path):
    """While the share was away another program took the job there: nothing is written over its head."""
    jobs, away = tmp_path / "jobs", tmp_path / "away"
    with begun(jobs) as journal:
        jobs.rename(away)
        shutil.copytree(away, jobs)
        with another_program(journal.path):
            with pytest.raises(HeldElsewhere, match="Lio Fenn has HB-1 open"):
                journal.record(reading())
            assert "Lio Fenn" in journal.locked
            with pytest.raises(JournalError, match="Nothing can be entered: Lio Fenn has HB-1 open"):
                journal.record(reading())
            assert (jobs / "HB-1.jsonl.held").exists()
        journal.take("Odo Brack")
        assert journal.locked == ""
        assert journal.record(reading()).number == 2

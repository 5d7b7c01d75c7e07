"""The wizard in a real pseudo-terminal: starts, leaves, is told to leave, loses its terminal, crashes.

No terminal and TERM=dumb are in test_cli.
"""

from __future__ import annotations

import os
import re
import signal
import sys
from datetime import datetime
from pathlib import Path

import pytest

if os.name == "nt":
    pytest.skip("Windows has no pseudo-terminals of this kind", allow_module_level=True)

from readiness.records.journal import Journal
from readiness.records.shop import ShopFolder
from tests.shop import demo_shop
from tests.terminal import ALTERNATE, Terminal, surroundings

LEAVE, F10 = "\x11", "\x1b[21~"

CRASHING = """
import sys
from readiness.cli import main
from readiness.wizard.walk import Walk

def broken(self):
    raise RuntimeError("the [/4] wheel came off")

Walk.action_verdict = broken
main()
"""


@pytest.fixture
def folder(tmp_path) -> ShopFolder:
    """A copy of the demo shop at this machine's own time, with a job nobody has answered yet."""
    now = datetime.now().astimezone()
    folder = demo_shop(tmp_path, now)
    Journal.create(
        folder.jobs_folder, job="T1", sheet="tern-rear-corner", bay="bay-2", sides=("left",), by="x", at=now
    ).close()
    return folder


def wizard(folder: ShopFolder, *args: str, how: tuple[str, ...] = ("-m", "readiness")) -> Terminal:
    command = [sys.executable, *how, "--shop", str(folder.path), *args]
    return Terminal(command, surroundings(str(folder.path.parent / "home")))


def answered(terminal: Terminal) -> None:
    """Open the job as Odo, and accept the document that the sheet names."""
    terminal.wait_for("Who is working")
    terminal.type("2")
    terminal.wait_for("The reference printed on it")
    drawn = len(terminal.output)
    terminal.type("\r")
    terminal.wait_for("kept ", after=drawn)


def kept(folder: ShopFolder) -> list[str]:
    with Journal.open(folder.jobs_folder / "T1.jsonl") as journal:
        assert journal.warnings == []
        return [r.question for r in journal.job.readings]


def test_starts_and_leaves_the_terminal_as_it_was(folder):
    with wizard(folder) as terminal:
        terminal.wait_for("New job")
        terminal.wait_for("HB-0417")
        assert ALTERNATE in terminal.output
        terminal.type(LEAVE)
        assert terminal.leave() == 0
        assert terminal.restored
        assert terminal.left_behind.strip() == ""


def test_leaves_from_within_a_job_and_goes_on_there(folder):
    with wizard(folder, "--job", "T1") as terminal:
        answered(terminal)
        terminal.type(LEAVE)
        assert terminal.leave() == 0
        assert terminal.restored
    assert kept(folder) == ["document"]
    with wizard(folder, "--job", "T1") as terminal:
        terminal.wait_for("Who is working")
        terminal.type("2")
        terminal.wait_for("kept ")
        terminal.type(LEAVE)
        assert terminal.leave() == 0


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGHUP], ids=lambda s: s.name)
def test_told_to_leave_it_restores_the_screen(folder, number):
    with wizard(folder, "--job", "T1") as terminal:
        answered(terminal)
        terminal.process.send_signal(number)
        assert terminal.leave() == 128 + number
        assert terminal.restored
        assert "Traceback" not in terminal.left_behind
    assert kept(folder) == ["document"]


@pytest.mark.parametrize("_", range(4))
def test_a_closed_window_ends_it_and_loses_nothing(folder, _):
    """Told to leave and to go on at the same moment: which comes first is a matter of luck."""
    with wizard(folder, "--job", "T1") as terminal:
        answered(terminal)
        terminal.close()
        assert terminal.leave() == 128 + signal.SIGHUP
    assert kept(folder) == ["document"]


def test_killed_outright_it_has_kept_what_it_showed_and_the_next_one_is_told(folder):
    """Nothing restores the screen then, nothing takes the lock back; the answers are there all the same."""
    with wizard(folder, "--job", "T1") as terminal:
        answered(terminal)
        terminal.process.kill()
        terminal.process.wait()
    with Journal.open(folder.jobs_folder / "T1.jsonl") as journal:
        assert [r.question for r in journal.job.readings] == ["document"]
        assert "Odo Brack had T1 open" in journal.warnings[0]


def test_a_demo_that_is_told_to_leave_takes_its_copy_away(tmp_path):
    home = surroundings(str(tmp_path))
    with Terminal([sys.executable, "-m", "readiness", "demo"], home) as terminal:
        terminal.wait_for("HB-0417")
        assert len(list(tmp_path.rglob("HB-0417.jsonl"))) == 1
        terminal.process.terminate()
        assert terminal.leave() == 128 + signal.SIGTERM
        assert terminal.restored
    assert list(tmp_path.rglob("HB-0417.jsonl")) == []


def test_a_crash_leaves_one_sentence_and_a_log(folder):
    with wizard(folder, "--job", "T1", how=("-c", CRASHING)) as terminal:
        answered(terminal)
        terminal.type(F10)
        assert terminal.leave() == 3
        assert terminal.restored
        told = terminal.left_behind
        assert "Traceback" not in told
        assert len(told.split()) < 40
        assert "RuntimeError: the [/4] wheel came off" in told
        where = re.search(r"The details are in (\S+\.log)\.", told.replace("\n", ""))
        assert where is not None, told
    log = Path(where[1]).read_text(encoding="utf-8")
    assert "Traceback" in log
    assert "in broken" in log
    assert kept(folder) == ["document"]

"""`readiness bays` and the search behind it under hostile names, narrow terminals, signals and odd places."""

from __future__ import annotations

import os
import random
import signal
import sys
import time

import pytest

from readiness import progress
from tests.halls import crowded
from tests.shop import demo_shop

SHEET = "tern-rear-corner"


@pytest.mark.skipif(os.name == "nt", reason="a pseudo-terminal is POSIX only")
class TestOnATerminal:
    def terminal(self, folder, *args, size=(80, 24)):
        from tests.terminal import Terminal, surroundings

        words = [sys.executable, "-m", "readiness", "bays", SHEET, "--shop", str(folder.path), *args]
        return Terminal(words, surroundings(str(folder.path.parent / "home")), size)

    def test_a_file_name_does_not_steer_the_terminal(self, tmp_path):
        folder = demo_shop(tmp_path)
        for name in ("odd\x1b[31mname", "turned\u202eround"):
            (folder.path / "bays" / f"{name}.yaml").write_text("a\n", encoding="utf-8", newline="\n")
        with self.terminal(folder, "--side", "left") as terminal:
            terminal.leave(60.0)
        text = terminal.output.decode()
        assert text.count("is left out") == 2
        assert "\x1b" not in text
        assert "\u202e" not in text

    @pytest.mark.parametrize("columns", [20, 40, 80])
    def test_the_line_of_progress_stays_one_line(self, tmp_path, columns):
        """Of a bay whose title has wide characters, on a narrow terminal: it never comes to the last column."""
        folder = crowded(tmp_path, 1, 300)
        path = folder.path / "bays" / "hall-01.yaml"
        text = path.read_text(encoding="utf-8").replace("Hall 1", "第一工場の長い名前 " * 5)
        path.write_text(text, encoding="utf-8", newline="\n")
        with self.terminal(folder, size=(columns, 24)) as terminal:
            terminal.wait_for("1 of 1", after=0)
            terminal.process.send_signal(signal.SIGINT)
            terminal.leave(30.0)
        before = terminal.output.decode().partition("The search was ended")[0]
        assert "\n" not in before
        lines = [part for part in before.split("\r") if part]
        assert lines
        assert max(map(cells, lines)) < columns

    @pytest.mark.slow
    @pytest.mark.parametrize("nth", range(12))
    def test_ctrl_c_at_any_moment_ends_it_quietly(self, tmp_path, nth):
        folder = crowded(tmp_path, 4, 200)
        with self.terminal(folder) as terminal:
            time.sleep(random.Random(nth).uniform(0.2, 6.0))
            terminal.process.send_signal(signal.SIGINT)
            code = terminal.leave(10.0)
        text = terminal.output.decode()
        assert "Traceback" not in text
        assert "Exception ignored" not in text
        assert code in (130, -signal.SIGINT), "before Python is up it just ends"
        said = [line.rpartition("\r")[2] for line in text.replace("\r\n", "\n").split("\n")]
        assert [line for line in said if line.strip()] in (
            [],
            ["The search was ended, so nothing is said of any bay."],
        )


def cells(text: str) -> int:
    """By an outside reference, Rich's table of widths, which the command itself does not use."""
    from rich.cells import cell_len

    return cell_len(text)


@pytest.mark.parametrize("text", ["Halle 3", "第一工場", "a第b工c場", "e\u0301", ""])
def test_a_text_is_cut_to_columns(text):
    for width in range(8):
        assert cells(progress._cut(text, width)) <= width
        assert text.startswith(progress._cut(text, width))
    assert progress._cut(text, 9) == text

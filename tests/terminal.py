"""A program in a real pseudo-terminal: what it draws, what is typed into it, how it leaves. POSIX only."""

from __future__ import annotations

import fcntl
import os
import pty
import re
import select
import struct
import subprocess
import sys
import termios
import time
from collections.abc import Mapping, Sequence
from types import TracebackType

ESCAPES = re.compile(
    rb"\x1b\[[0-?]*[ -/]*[@-~]"  # control sequences
    rb"|\x1b[\]PX^_].*?(?:\x07|\x1b\\)"  # operating system commands and their like
    rb"|\x1b[ -/]*[0-Z\\^-~]",
    re.DOTALL,
)
MOVES = re.compile(rb"\x1b\[[0-9;]*[HfABEFd]")

ALTERNATE, RESTORED = b"\x1b[?1049h", b"\x1b[?1049l"
CURSOR_SHOWN, MOUSE_OFF = b"\x1b[?25h", b"\x1b[?1000l"

OWN_TERMINAL = "import fcntl, os, sys, termios; fcntl.ioctl(0, termios.TIOCSCTTY, 0); os.execv(sys.argv[1], sys.argv[1:])"
"""Makes the pseudo-terminal the one that hangs up the program when it is closed, then becomes the program."""


class Terminal:
    """One program on a pseudo-terminal of 80 by 24 cells or another size; killed at the end if it stays."""

    def __init__(
        self, command: Sequence[str], env: Mapping[str, str], size: tuple[int, int] = (80, 24)
    ) -> None:
        self.ours, theirs = pty.openpty()
        fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", size[1], size[0], 0, 0))
        self.before = termios.tcgetattr(theirs)
        """The terminal's settings before the program came."""
        self.output = b""
        self.began = time.monotonic()
        self.process = subprocess.Popen(
            [sys.executable, "-c", OWN_TERMINAL, *command],
            stdin=theirs, stdout=theirs, stderr=theirs, start_new_session=True, env=env,
        )  # fmt: skip
        self.theirs = theirs

    def __enter__(self) -> Terminal:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, fault: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self.process.poll() is None:
            self.process.kill()
        self.process.wait()
        self.close()

    def close(self) -> None:
        """Close the terminal, as a person closes a window."""
        for descriptor in (self.theirs, self.ours):
            if descriptor >= 0:
                os.close(descriptor)
        self.theirs = self.ours = -1

    def type(self, keys: str) -> None:
        os.write(self.ours, keys.encode())

    def wait_for(self, text: str, limit: float = 20.0, after: int = 0) -> float:
        """Seconds from the start until the text was drawn; `after` skips what was written before."""
        end = time.monotonic() + limit
        while text not in visible(self.output[after:]):
            if not self._read(end):
                raise AssertionError(f"{text!r} did not come; the screen says:\n{visible(self.output)}")
        return time.monotonic() - self.began

    def leave(self, limit: float = 8.0) -> int:
        """The exit code, once the program has ended by itself and all it wrote has been read."""
        end = time.monotonic() + limit
        while self.process.poll() is None:
            if self.ours >= 0:
                self._read(min(end, time.monotonic() + 0.05))
            else:
                time.sleep(0.01)
            if time.monotonic() > end:
                raise AssertionError(f"it does not end; the screen says:\n{visible(self.output)}")
        while self.ours >= 0 and self._read(time.monotonic() + 0.02):
            pass
        return self.process.returncode

    @property
    def left_behind(self) -> str:
        """What stands on the terminal after the full screen was left."""
        return visible(self.output.rpartition(RESTORED)[2])

    @property
    def restored(self) -> bool:
        """The full screen left, the cursor shown, the mouse let go, keys echoed as before."""
        last = self.output.rfind(RESTORED)
        return (
            last > self.output.rfind(ALTERNATE) >= 0
            and self.output.rfind(CURSOR_SHOWN) > self.output.rfind(b"\x1b[?25l")
            and self.output.rfind(MOUSE_OFF) > self.output.rfind(b"\x1b[?1000h")
            and termios.tcgetattr(self.theirs)[3] == self.before[3]
        )

    def _read(self, until: float) -> bool:
        """Whether something more was written before that time."""
        ready, _, _ = select.select([self.ours], [], [], max(0.0, until - time.monotonic()))
        if not ready:
            return False
        try:
            chunk = os.read(self.ours, 65_536)
        except OSError:
            return False
        self.output += chunk
        return bool(chunk)


def visible(output: bytes) -> str:
    """The drawn text; a move of the cursor to another place is a line end."""
    plain = ESCAPES.sub(b"", MOVES.sub(b"\n", output)).decode("utf-8", "replace")
    return "".join(c for c in plain if c == "\n" or c >= " ")


def surroundings(home: str, **more: str) -> dict[str, str]:
    """An environment in which everything the program writes lands below `home`."""
    own = dict.fromkeys(("HOME", "XDG_STATE_HOME", "XDG_CACHE_HOME", "XDG_DATA_HOME"), home)
    kept = {k: v for k, v in os.environ.items() if k not in ("NO_COLOR", "COLORTERM", "READINESS_SHOP")}
    return kept | own | {"TERM": "xterm-256color", "PYTHONIOENCODING": "utf-8"} | more

"""Programs that are killed while they work: children of one warmed-up process, so that a kill costs milliseconds.

A program under test is a function of a module that never ends by itself and prints a line for everything that it has
shown as kept. POSIX only: `Killer` forks.
"""

from __future__ import annotations

import json
import os
import select
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Sequence
from importlib import import_module
from pathlib import Path
from types import TracebackType
from typing import Any, NoReturn

ROOT = Path(__file__).parents[1]
PATIENCE = 30.0
"""Seconds to wait for a line."""


class Killer:
    """A process that has loaded everything, and forks, for each kill, a child that begins at once."""

    def __init__(self, program: Callable[..., None], warm: Callable[..., None], *args: Any) -> None:
        """`warm(*args)` is done once, before the first fork."""
        code = "from tests.killing import serve; serve()"
        self.process = subprocess.Popen(
            [sys.executable, "-c", code], stdin=subprocess.PIPE, stdout=subprocess.PIPE, cwd=ROOT
        )
        self._send([program.__module__, program.__qualname__, warm.__qualname__, args])

    def __enter__(self) -> Killer:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, fault: BaseException | None, trace: TracebackType | None
    ) -> None:
        assert self.process.stdin is not None
        self.process.stdin.close()
        self.process.wait(PATIENCE)

    def kill(self, *args: Any, lines: int, and_then: float) -> list[Any]:
        """What a child showed as kept until it was killed, so many seconds after its n-th line; of 0, from its start."""
        self._send([args, lines, and_then])
        assert self.process.stdout is not None
        told = json.loads(self.process.stdout.readline())
        assert isinstance(told, list), told
        return told

    def _send(self, what: object) -> None:
        assert self.process.stdin is not None
        self.process.stdin.write(json.dumps(what).encode() + b"\n")
        self.process.stdin.flush()


def serve() -> None:
    """The warmed-up process: reads what to do, line by line, until its input is closed."""
    module, program, warm, args = json.loads(sys.stdin.readline())
    loaded = import_module(module)
    getattr(loaded, warm)(*args)
    for line in sys.stdin:
        given, lines, and_then = json.loads(line)
        told = _killed(getattr(loaded, program), given, lines, and_then)
        print(json.dumps(told), flush=True)


def _killed(
    program: Callable[..., None], args: Sequence[Any], lines: int, and_then: float
) -> list[Any] | str:
    ours, theirs = os.pipe()
    child = os.fork()
    if not child:
        _become(program, args, theirs)
    os.close(theirs)
    told = b""
    while told.count(b"\n") < lines:
        if not select.select([ours], [], [], PATIENCE)[0] or not (more := os.read(ours, 65_536)):
            break
        told += more
    time.sleep(and_then)
    os.kill(child, signal.SIGKILL)
    _, status = os.waitpid(child, 0)
    with open(ours, "rb") as rest:  # noqa: PTH123
        told += rest.read()
    if not os.WIFSIGNALED(status) or told.count(b"\n") < lines:
        return f"the program does not do what it should: {told[-300:]!r}"
    return [json.loads(line) for line in told.splitlines(keepends=True) if line.endswith(b"\n")]


def _become(program: Callable[..., None], args: Sequence[Any], theirs: int) -> NoReturn:
    try:
        os.dup2(theirs, 1)
        program(*args)
    except BaseException as fault:  # it is told instead of dying in silence
        show(f"{type(fault).__name__}: {fault}")
    os._exit(1)


def show(what: object) -> None:
    """Show something as kept, for the one who kills."""
    os.write(1, json.dumps(what).encode() + b"\n")


def killed_for_real(code: str, after: float) -> list[Any]:
    """As a program of its own, from its start on, killed `after` seconds from its first line."""
    with subprocess.Popen([sys.executable, "-c", code], stdout=subprocess.PIPE, cwd=ROOT) as process:
        assert process.stdout is not None
        told = [process.stdout.readline()]
        time.sleep(after)
        process.kill()
        told += process.stdout.read().splitlines(keepends=True)
    return [json.loads(line) for line in told if line.endswith(b"\n")]

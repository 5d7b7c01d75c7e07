"""From anything that goes wrong to one sentence and an exit code."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from datetime import datetime
from enum import IntEnum
from pathlib import Path
from typing import Any

import click

from readiness import __version__


class Exit(IntEnum):
    """What the program's exit code says."""

    GO = 0
    NO_GO = 1
    INPUT_WRONG = 2
    MACHINE_TROUBLE = 3
    INTERRUPTED = 130


class OutputGone(Exception):
    """What the program says can no longer be written: a closed pipe, a full disk."""


def put(text: str) -> None:
    """Print text as it is. Raises OutputGone."""
    try:
        sys.stdout.write(text)
        sys.stdout.flush()
    except OSError as fault:
        raise OutputGone(fault.strerror or type(fault).__name__) from fault


def need_terminal(instead: str = "'readiness check JOB' gives the same answer as plain lines.") -> None:
    """Raises ClickException where the wizard cannot run; `instead` says what else would serve."""
    dumb = os.environ.get("TERM", "") in ("", "dumb") and os.name != "nt"
    # keys come from stdin, and the screen is drawn on stderr
    if dumb or not all(stream.isatty() for stream in (sys.stdin, sys.stdout, sys.stderr)):
        raise click.ClickException(f"The wizard needs a full-screen terminal, and this is none. {instead}")


def guarded(run: Callable[[], Any]) -> int:
    """The exit code of a command; faults are told on stderr, surprises also written to a log."""
    try:
        return int(run() or 0)
    except click.ClickException as fault:
        say(_sentence_of(fault))
        return Exit.INPUT_WRONG
    except (click.Abort, KeyboardInterrupt):
        return Exit.INTERRUPTED
    except OutputGone as fault:
        return _output_gone(fault)
    except Exception as fault:
        return _expected(fault) or _surprise(fault)


def _output_gone(fault: OutputGone) -> int:
    """Nothing of it may pass for a verdict; a reader that went away on purpose needs no message."""
    if not isinstance(fault.__cause__, BrokenPipeError):
        say(f"The answer could not be written: {fault}.")
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    return Exit.MACHINE_TROUBLE


def _sentence_of(fault: click.ClickException) -> str:
    context = getattr(fault, "ctx", None)
    plain = fault.format_message()
    return plain if context is None else f"{plain} See '{context.command_path} --help'."


def _expected(fault: Exception) -> int:
    """The exit code of a fault whose text is meant for a person, 0 for any other."""
    from readiness.checklist.mistakes import FileMistakes
    from readiness.records.journal import JournalError
    from readiness.records.shop import ShopError

    if isinstance(fault, PermissionError) and fault.filename:
        say(f"{fault.filename} cannot be used: {(fault.strerror or 'no permission').lower()}.")
        return Exit.MACHINE_TROUBLE
    if not isinstance(fault, (FileMistakes, JournalError, ShopError)):
        return 0
    say(str(fault))
    return Exit.MACHINE_TROUBLE if isinstance(fault.__cause__, OSError) else Exit.INPUT_WRONG


def _surprise(fault: Exception) -> int:
    what = f"{type(fault).__name__}: {fault}".splitlines()[0]
    try:
        where = f"The details are in {_log(fault)}."
    except OSError as trouble:
        where = f"The details could not be written ({trouble.strerror})."
    say(f"Something failed on this machine ({what}). {where}")
    return Exit.MACHINE_TROUBLE


def _log(fault: Exception) -> Path:
    import platform
    import traceback
    from importlib.metadata import PackageNotFoundError, version

    from platformdirs import user_log_path

    now = datetime.now().astimezone()
    path = user_log_path("readiness", appauthor=False, ensure_exists=True) / f"fault-{now:%Y%m%d-%H%M%S}.log"
    lines = [f"{now.isoformat()}  readiness {__version__}", f"Python {sys.version}", platform.platform()]
    for name in ("click", "msgspec", "numpy", "pint", "pyyaml", "textual"):
        try:
            lines.append(f"{name} {version(name)}")
        except PackageNotFoundError:
            lines.append(f"{name} is missing")
    trace = "".join(traceback.format_exception(fault))
    path.write_text("\n".join([*lines, "", trace]), encoding="utf-8", errors="replace")
    return path


def say(text: str) -> None:
    from readiness.report.text import clean

    for line in text.splitlines():
        click.echo(clean(line), err=True)

"""Writing a report: whole or not at all, and never over something that is not a report of ours."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Final

from readiness.records.on_disk import write_whole

PEEK = 4096
"""Bytes; a report says within these that it is one."""
OURS: Final = (
    re.compile(rb'<meta name="generator" content="readiness '),
    re.compile(rb'\A\{\s*"report": \{\s*"program": "readiness '),
    re.compile(rb"\A(\xef\xbb\xbf)?job,plate,sheet,bay,side,"),
    re.compile(rb"\A(\xef\xbb\xbf)?person,seed,level,sheet,at,"),
    re.compile(rb"\AReport of job .{1,200} made by readiness ", re.DOTALL),
    re.compile(rb"\AWorksheet: .{1,2000}\nMade by readiness ", re.DOTALL),
)
"""How our reports begin, whatever their format."""
NEVER: Final = (".jsonl", ".yaml", ".yml")
"""Endings of what a shop is made of."""


class Refused(Exception):
    """The file is not to be written; one clear sentence."""


def write_report(path: Path, data: bytes) -> Path:
    """Write a report, over an older one without a word; returns where it lies now.

    The file appears under its name only when it is whole and on the disk. Raises Refused, or OSError.
    """
    target = path.resolve()
    _check(path, target)
    write_whole(target, data)
    return target


def file_name(job: str, ending: str = ".html") -> str:
    """A name for the report of a job, whatever a file of answers calls it: 'HB-0417.html'."""
    plain = re.sub(r"[^A-Za-z0-9_.-]+", "-", job).strip(".-")[:60]
    return f"{plain or 'job'}{ending}"


def _check(path: Path, target: Path) -> None:
    if target.is_dir():
        raise Refused(f"{path} is a folder; name the file that the report is to be written to.")
    if target.suffix.lower() in NEVER:
        raise Refused(
            f"{path} has the name of a file of the shop; name the report otherwise, such as {target.stem}.html."
        )
    if not target.parent.is_dir():
        raise Refused(f"There is no folder {target.parent}; make it first, or name another.")
    if target.exists() and not _ours(target):
        raise Refused(
            f"{path} is there already and is no report of this program; take it away first, or name another file."
        )


def _ours(target: Path) -> bool:
    """Whether a file is an older report, or empty; anything that is no plain file is not."""
    if not target.is_file():
        return False
    with target.open("rb") as stream:
        begin = stream.read(PEEK)
    return not begin or any(mark.search(begin) for mark in OURS)

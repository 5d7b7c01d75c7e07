"""The number under which a new job is kept."""

from __future__ import annotations

import re


def job_id(text: str) -> str:
    """A file name that every system takes, from what a person typed."""
    return re.sub(r"[^A-Za-z0-9_-]+", "-", text).strip("-")[:60] or "job"


def free_number(stem: str, taken: set[str]) -> str:
    """The first of stem-1, stem-2, ... that no job has."""
    return next(name for k in range(1, len(taken) + 2) if (name := f"{stem}-{k}") not in taken)

"""The files that people edit by hand: what there is, how each is read, how all are checked.

Every reader raises FileMistakes, which carries all mistakes of the file in one run.
"""

from readiness.checklist.checklists import effective_limits, load_checklist, read_checklist
from readiness.checklist.lint import cross_check, lint
from readiness.checklist.load import (
    KINDS_OF_FILE,
    Loaded,
    kind_of,
    load,
    read_bay,
    read_instruments,
    read_sheet,
    read_shop,
    read_survey,
)
from readiness.checklist.mistakes import FileMistakes, Mistake

__all__ = [
    "KINDS_OF_FILE",
    "FileMistakes",
    "Loaded",
    "Mistake",
    "cross_check",
    "effective_limits",
    "kind_of",
    "lint",
    "load",
    "load_checklist",
    "read_bay",
    "read_checklist",
    "read_instruments",
    "read_sheet",
    "read_shop",
    "read_survey",
]

"""The hash on a printed report, held against a journal."""

from __future__ import annotations

import io
import re
from pathlib import Path

from msgspec import Struct

from readiness.records.lines import LONGEST, digest
from readiness.records.plain_file import CHUNK, open_plain

FEWEST_DIGITS = 12
"""Of a hash on paper: with fewer, another file with the same could be made by trying."""
_HEX = re.compile(r"[0-9a-f]*")


class Paper(Struct, frozen=True):
    """Which line of a journal a hash on paper is of."""

    digits: str
    line: int
    """0 where it is of none."""
    later: int
    """Lines that came after it."""


def paper(path: Path, digits: str) -> Paper:
    """The line whose hash begins with these digits. Raises OSError."""
    stream, _ = open_plain(path)
    found = number = 0
    with io.BufferedReader(stream, CHUNK) as lines:
        # a line longer than any entry is taken in pieces, which no paper can be of
        while line := lines.readline(LONGEST + 1):
            number += 1
            if digest(line).startswith(digits):
                found = number
    return Paper(digits, found, number - found)


def as_digits(typed: str) -> str:
    """What a person copied from paper, as digits. Raises ValueError, a sentence."""
    digits = "".join(typed.split()).lower()
    if not _HEX.fullmatch(digits):
        odd = next(c for c in digits if not _HEX.fullmatch(c))
        raise ValueError(f"A hash has the digits 0 to 9 and a to f only, not '{odd}'.")
    if not FEWEST_DIGITS <= len(digits) <= 64:
        raise ValueError(
            f"A hash takes {FEWEST_DIGITS} to 64 digits, its beginning or all of it; these are {len(digits)}."
        )
    return digits

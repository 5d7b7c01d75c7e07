"""How outcomes read: a word, then a glyph, then a colour. One table for every screen."""

from __future__ import annotations

from readiness.job import Outcome
from readiness.report import signs

WORDS: dict[Outcome, str] = {**signs.WORDS, "too_close": "too close"}
"""As on paper, but for what has to be short."""
GLYPHS = signs.SIGNS
STYLES: dict[Outcome, str] = {
    "pass": "$text-success",
    "fail": "bold $text-error",
    "too_close": "bold $text-warning",
    "not_done": "$text-muted",
    "lapsed": "$text-warning",
    "waived": "$text-muted",
}


def said(outcome: Outcome) -> str:
    """'✗ fail'."""
    return f"{GLYPHS[outcome]} {WORDS[outcome]}"

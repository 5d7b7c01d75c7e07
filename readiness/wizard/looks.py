"""How outcomes read: a word, then a glyph, then a colour. One table for every screen."""

from __future__ import annotations

from readiness.job import Outcome

WORDS: dict[Outcome, str] = {
    "pass": "pass",
    "fail": "fail",
    "too_close": "too close",
    "not_done": "not done",
    "lapsed": "lapsed",
    "waived": "set aside",
}
GLYPHS: dict[Outcome, str] = {
    "pass": "✓",
    "fail": "✗",
    "too_close": "≈",
    "not_done": "·",
    "lapsed": "○",
    "waived": "–",
}
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

"""How an outcome reads on paper: a word, a sign before it, and a colour that only repeats them."""

from __future__ import annotations

from readiness.job import Outcome

WORDS: dict[Outcome, str] = {
    "pass": "pass",
    "fail": "fail",
    "too_close": "too close to call",
    "not_done": "not done",
    "lapsed": "lapsed",
    "waived": "set aside",
}
SIGNS: dict[Outcome, str] = {
    "pass": "✓",
    "fail": "✗",
    "too_close": "≈",
    "not_done": "·",
    "lapsed": "○",
    "waived": "–",
}
COLOURS: dict[Outcome, str] = {
    "pass": "good",
    "fail": "bad",
    "too_close": "doubt",
    "not_done": "quiet",
    "lapsed": "doubt",
    "waived": "doubt",
}
"""Class of the style sheet."""

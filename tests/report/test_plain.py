"""Plain lines: compared with golden files, so that a reader of a change sees the words change."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from readiness.report.plain import plain
from readiness.report.text import WIDTH, clean, wrapped
from tests.report.findings import judged_by_hand

GOLDEN = Path(__file__).parent / "golden"


@pytest.mark.parametrize(("name", "go"), [("go.txt", True), ("no_go.txt", False)])
def test_plain_lines_are_as_agreed(name, go):
    seen, verdict = judged_by_hand(go)
    assert plain(verdict, seen) == (GOLDEN / name).read_text(encoding="utf-8")


@pytest.mark.parametrize("go", [True, False])
def test_lines_fit_and_hold_no_control_characters(go):
    seen, verdict = judged_by_hand(go)
    text = plain(verdict, seen)
    assert all(len(line) <= WIDTH for line in text.splitlines())
    assert all(c == "\n" or c.isprintable() for c in text)


def test_the_answer_comes_first_then_what_to_do_then_why():
    seen, verdict = judged_by_hand()
    text = plain(verdict, seen)
    places = [text.index(word) for word in ("NO-GO", "What to do first", "Why", "Take care")]
    assert places == sorted(places)


@given(st.text())
def test_clean_text_is_one_line_and_cannot_steer_a_terminal(text):
    cleaned = clean(text)
    assert "\x1b" not in cleaned
    assert len(cleaned.splitlines()) <= 1
    assert not any(
        0x202A <= ord(c) <= 0x202E or 0x2066 <= ord(c) <= 0x2069 or 0x7F <= ord(c) < 0xA0 for c in cleaned
    )
    assert clean(cleaned) == cleaned


@given(st.text(st.characters(codec="utf-8")))
def test_cleaning_keeps_every_character_that_can_be_read(text):
    assert [c for c in text if c.isalnum()] == [c for c in clean(text) if c.isalnum()]


@given(st.text())
def test_wrapped_lines_keep_to_the_width(text):
    assert all(len(line) <= WIDTH for line in wrapped(text, " 1. "))

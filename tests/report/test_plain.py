"""Plain lines: compared with golden files, so that a reader of a change sees the words change."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from readiness.report.plain import plain
from readiness.report.text import WIDTH, clean, wrapped
from tests.report.findings import judged_by_hand, told_by_hand

GOLDEN = Path(__file__).parent / "golden"


JUDGED = {"go": (True, False), "go_with_waivers": (True, True), "no_go": (False, True)}
"""Golden file: whether the sides go, and whether something was set aside."""


@pytest.mark.parametrize("name", JUDGED)
def test_plain_lines_are_as_agreed(name):
    seen, verdict = judged_by_hand(*JUDGED[name])
    text = plain(verdict, seen, told_by_hand())
    assert text == (GOLDEN / f"{name}.txt").read_text(encoding="utf-8")


@pytest.mark.parametrize("name", JUDGED)
def test_lines_fit_and_hold_no_control_characters(name):
    seen, verdict = judged_by_hand(*JUDGED[name])
    text = plain(verdict, seen, told_by_hand())
    assert all(len(line) <= WIDTH for line in text.splitlines())
    assert all(c == "\n" or c.isprintable() for c in text)


def test_the_answer_comes_first_then_what_to_do_then_why():
    seen, verdict = judged_by_hand()
    text = plain(verdict, seen)
    places = [text.index(word) for word in ("NO-GO", "What to do first", "Why", "Take care")]
    assert places == sorted(places)


def test_what_was_set_aside_is_told_with_the_answer_and_before_all_other_reasons():
    seen, verdict = judged_by_hand(True, True)
    answer, why = plain(verdict, seen).split("\n\n")[1:3]
    assert "GO WITH WAIVERS" in answer
    assert "Set aside: Centre marks (A. Test)" in answer
    assert why.splitlines()[1].startswith("  set aside  Centre marks")


@pytest.mark.parametrize("by_journal", [True, False])
def test_what_became_of_an_answer_stands_under_its_check(by_journal):
    seen, verdict = judged_by_hand(True)
    text = plain(verdict, seen, told_by_hand() if by_journal else None)
    line = "             Left rear, pressure: measured twice, fix in between."
    assert (line in text.splitlines()) == by_journal
    assert text.count("Air in the bay: measured twice.") == by_journal  # it serves more than one check


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

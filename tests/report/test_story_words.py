"""What became of an answer, line by line and in short, as every face says it."""

from __future__ import annotations

from datetime import timedelta

from readiness.records.history import stories
from readiness.records.lines import Entry
from readiness.report.story_words import Told, lines
from tests.report.findings import judged_by_hand, told_by_hand
from tests.scenes import AT

REAR = {"check": "tyres", "question": "pressure.lr", "unit": "kPa", "by": "Odo Brack"}
GAUGE = {"instrument": "tyre-gauge-2"}


def story(*bodies):
    """Entries a minute apart, numbered from 2."""
    entries = [Entry(n, AT + timedelta(minutes=n), kind, body) for n, (kind, body) in enumerate(bodies, 2)]
    return next(iter(stories(entries).values()))


def test_each_step_is_a_line_with_time_and_person():
    told = story(
        ("reading", {**REAR, **GAUGE, "value": 291.0, "text": "291"}),
        ("reading", {**REAR, **GAUGE, "value": 219.0, "text": "219"}),
        ("withdrawn", {"entry": 2, "why": "mistyped", "by": "Odo Brack"}),
        ("fix", {"check": "tyres", "question": "", "text": "inflated", "by": "Lio Fenn"}),
        ("reading", {**REAR, "value": 230.0, "text": "230", "evidence": "told", "told_by": "the owner"}),
        ("note", {"entry": 6, "text": "no gauge at hand", "by": "Lio Fenn"}),
        ("withdrawn", {"entry": 5, "why": "undone", "by": "Lio Fenn"}),
    )
    assert lines(told, AT) == [
        "09:02 Odo Brack: 291 kPa (tyre-gauge-2), taken back 09:04",
        "09:03 Odo Brack: 219 kPa (tyre-gauge-2)",
        "09:04 Odo Brack took back 291 kPa: mistyped",
        "09:05 Lio Fenn put right: inflated, taken back 09:08",
        "09:06 Odo Brack: 230 kPa (told by the owner)",
        "09:07 Lio Fenn noted: no gauge at hand",
        "09:08 Lio Fenn took back the fix of 09:05: undone",
    ]


def test_another_day_has_its_date_and_an_unnamed_person_is_said_to_be_one():
    told = story(("waiver", {"check": "tyres", "reason": "", "by": ""}), ("withdrawn", {"entry": 2}))
    assert lines(told, AT + timedelta(days=1)) == [
        "2026-05-04 09:02 somebody unnamed set it aside, taken back 2026-05-04 09:03",
        "2026-05-04 09:03 somebody unnamed took back the waiver of 2026-05-04 09:02",
    ]


def test_a_face_may_say_choices_by_their_words():
    told = story(
        ("reading", {**REAR, "unit": "", "question": "parked", "value": "stood", "evidence": "seen"})
    )
    assert lines(told, AT) == ["09:02 Odo Brack: stood (seen)"]
    assert lines(told, AT, lambda _: "stood over night") == ["09:02 Odo Brack: stood over night (seen)"]


def test_in_short_it_stands_under_the_first_check_that_asks_it_and_once():
    seen, verdict = judged_by_hand()
    told = Told(seen, verdict.at, told_by_hand())
    checks = {c.id: c for c in seen.checklist.checks}
    assert told.in_short(checks["tyres"], "left") == [
        "Air in the bay: measured twice.",
        "Left rear, pressure: measured twice, fix in between.",
    ]
    assert told.in_short(checks["tyres"], "right") == []
    assert told.in_short(checks["centre_marks"], "left") == []  # its finding says that it was set aside
    assert told.in_short(checks["stance"], "left") == []


def test_what_is_not_asked_any_more_is_told_by_its_key():
    seen, verdict = judged_by_hand()
    twice = {**REAR, "question": "pressure.fifth", "value": 200.0, "text": "200"}
    told = Told(seen, verdict.at, stories([Entry(2, AT, "reading", twice), Entry(3, AT, "reading", twice)]))
    tyres = next(c for c in seen.checklist.checks if c.id == "tyres")
    assert told.in_short(tyres, "left") == ["Pressure.fifth: measured twice."]

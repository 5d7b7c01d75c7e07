"""States: yes or no, as wanted."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from msgspec.structs import replace as changed

from readiness.checks.finding import find
from readiness.job import Event, Reading
from tests.scenes import AT, NOW, asked, check, given, judged, part, visit

ITEMS = [
    {"key": "doors", "label": "All doors shut", "remedy": "Shut all doors."},
    {"key": "faults", "label": "Faults are stored", "wanted": "no"},
    {"key": "spare", "label": "Spare wheel aboard", "evidence": "told"},
]


def states(**more):
    return check("states", {"items": ITEMS}, **more)


def test_asks_each_item_with_its_evidence():
    questions = asked(states())
    assert list(questions) == ["doors", "faults", "spare"]
    assert questions["doors"].evidence == "seen"
    assert questions["spare"].evidence == "told"
    assert {c.key for c in questions["doors"].choices} == {"y", "n"}


@pytest.mark.parametrize(
    ("key", "answer", "outcome"),
    [
        ("doors", "y", "pass"), ("doors", "n", "fail"), ("faults", "n", "pass"), ("faults", "y", "fail"),
        ("doors", None, "not_done"),
    ],
)  # fmt: skip
def test_passes_only_as_wanted(key, answer, outcome):
    answers = {} if answer is None else {key: answer}
    assert part(judged(states(), answers), key).outcome == outcome


def test_remedy_is_the_items_own_or_the_checks():
    j = judged(states(), {"doors": "n", "faults": "y"})
    assert part(j, "doors").remedy == "Shut all doors."
    assert part(j, "faults").remedy == "Put states right."


def test_only_told_what_should_be_seen_is_said():
    seen = judged(states(), {"doors": "y", "spare": "y"})
    assert seen.notes == ()
    told = judged(states(), {"doors": given("y", evidence="told")})
    assert len(told.notes) == 1
    assert "All doors shut" in told.notes[0]


def test_names_who_told_it():
    one = states()
    reading = Reading(
        check=one.id, question="doors", value="yes", at=AT, by="A. Test", evidence="told", told_by="B. Test"
    )
    made = visit(one)
    told = replace(made, job=changed(made.job, readings=(reading,)))
    finding = find(told, one, "", NOW)
    assert "told by B. Test" in finding.notes[0]
    assert finding.evidence == "told"


def test_the_last_answer_counts():
    j = judged(states(), {"doors": (given("n"), given("y", minutes=3))})
    assert part(j, "doors").outcome == "pass"


def test_an_event_voids_the_answer():
    opened = Event(event="door_opened", at=AT.replace(minute=5), by="A. Test")
    one = states(voided_by=("door_opened",))
    assert part(judged(one, {"doors": "y"}, events=[opened]), "doors").outcome == "lapsed"
    assert part(judged(one, {"doors": given("y", minutes=6)}, events=[opened]), "doors").outcome == "pass"


@pytest.mark.parametrize(
    ("items", "field"),
    [
        ([], "items"),
        ([ITEMS[0], ITEMS[0]], "items[2].key"),
        ([{"key": "a", "label": " "}], "items[1].label"),
        ([{"key": "", "label": "a"}], "items[1].key"),
    ],
)
def test_items_that_make_no_sense_are_named(items, field):
    assert field in [path for path, _, _ in check("states", {"items": items}).limits.problems()]


def test_sound_items_have_no_problems():
    assert list(states().limits.problems()) == []


def test_a_state_holds_from_when_it_was_last_found_and_on_that_evidence():
    # ISO 8601 clock arithmetic: last seen 25 minutes after the first answer, held for 60 minutes from then
    shut = {"doors": (given("n", evidence="told"), given("y", minutes=25)), "faults": given("n", minutes=30),
            "spare": given("y", minutes=30, evidence="seen")}  # fmt: skip
    late = AT + timedelta(minutes=31)
    found = find(visit(states(), readings={"states": shut}, now=late), states(), "", late)
    assert (found.outcome, found.evidence) == ("pass", "seen")
    assert found.lapses_at == AT + timedelta(minutes=85)

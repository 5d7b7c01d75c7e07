"""What a paper says of each side: which moment it is about, and what belongs to it."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from msgspec.structs import replace as changed

from readiness.job import Event
from readiness.records.account import account
from readiness.records.dossier import dossier
from readiness.verdict import judge
from tests.papers import BEGUN, CLOSED, GIVEN_UP, LATER, MIXED, of_job, shop_with_papers
from tests.shop import MOMENT


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return shop_with_papers(tmp_path_factory.mktemp("papers"))


def test_a_side_with_a_result_is_judged_as_it_stood_then(folder):
    told, found = of_job(folder, CLOSED)
    side = told.sides["left"]
    assert (side.basis, side.at) == ("result", MOMENT + timedelta(minutes=5))
    assert side.verdict.verdict == "go"
    assert side.verdict == judge(found.visit, side.at, ("left",)).sides["left"]
    # by the time the report is made nothing of it holds any more
    assert judge(found.visit, LATER, ("left",)).sides["left"].verdict == "no-go"


def test_a_side_without_one_is_judged_at_the_last_entry_about_the_car(folder):
    told, found = of_job(folder, MIXED)
    right = told.sides["right"]
    assert (right.basis, right.at) == ("last entry", MOMENT)  # that a check was set aside
    assert [f.check for f in right.of_outcome("fail")] == ["clear_area"]
    assert told.sides["left"].basis == "result"
    # what came after the calibration of the other side is no entry about the car
    assert max(r.at for r in found.visit.job.readings) > right.at


def test_an_event_is_an_entry_about_the_car(folder):
    _, found = of_job(folder, MIXED)
    moved = Event(event="car_moved", at=MOMENT + timedelta(hours=1), by="Odo Brack")
    visit = replace(found.visit, job=changed(found.visit.job, events=(moved,)))
    right = account(visit, LATER).sides["right"]
    assert right.at == moved.at
    assert right.of_outcome("lapsed")


def test_a_moment_asked_for_counts_and_later_entries_are_not_seen(folder):
    then = MOMENT + timedelta(minutes=2)
    told, _ = of_job(folder, CLOSED, at=then)
    side = told.sides["left"]
    assert (side.basis, side.at, told.now, told.made) == ("asked", then, then, LATER)
    assert not told.closing.begun
    assert told.visit.job.ended is None
    assert side.go


def test_a_job_that_is_over_without_a_go(folder):
    assert of_job(folder, GIVEN_UP)[0].ended_without_go
    assert not of_job(folder, CLOSED)[0].ended_without_go
    assert not of_job(folder, BEGUN)[0].ended_without_go  # it is not over


def test_what_lapsed_without_a_result(folder):
    assert [s.side for s in of_job(folder, "HB-0409")[0].lapsed] == ["right"]
    assert of_job(folder, CLOSED)[0].lapsed == ()


def test_a_finding_of_both_sides_is_one_and_one_of_a_side_is_its_own(folder):
    told, _ = of_job(folder, MIXED)
    sides = {(f.finding.check, f.sides): f.every for f in told.findings}
    assert sides[("tyres", ("left", "right"))]
    assert not sides[("clear_area", ("left",))]
    assert not sides[("clear_area", ("right",))]
    walk = [c.id for c in told.visit.checklist.walk()]
    assert [w for w in walk if any(f.finding.check == w for f in told.findings)] == walk
    left, right = (told.sides[s].verdict.finding("tyres") for s in ("left", "right"))
    assert left is right


def test_who_did_it_and_with_what(folder):
    told, _ = of_job(folder, MIXED)
    assert told.hands == ("Odo Brack", "Lio Fenn")
    due = [i.due for i in told.instruments]
    assert due == sorted(due)
    survey = told.visit.bay.survey
    assert survey is not None
    used = {r.instrument for r in told.visit.job.readings if r.instrument}
    assert {i.id for i in told.instruments} == {*used, survey.instrument}  # the floor rests on its survey
    assert told.last_entry == max(r.at for r in told.visit.job.readings)


# --- the dossier ---------------------------------------------------------------------------------


def test_a_dossier_holds_what_the_shop_knows_of_a_job(folder):
    found = dossier(CLOSED, folder.path)
    with folder.journal(CLOSED, write=False) as journal:
        assert found.head == journal.head
        assert found.visit.job == journal.job
    assert [c.state for c in found.attachments] == ["same"]
    assert found.label(("tyres", "", "pressure.lr")) == "left rear: pressure"
    assert found.label(("tyres", "", "no.such")) == "no.such"
    stands = next(r for r in found.visit.job.readings if r.question == "where")
    assert found.answer(stands) == "on the bay's own marks"


def test_a_file_of_answers_has_no_head_and_its_answers_were_each_given_once(folder):
    found = dossier(str(folder.path / "answers" / "HB-0421.yaml"), None)
    assert found.head is None
    assert found.attachments == ()
    steps = [s for story in found.stories.values() for s in story.steps]
    assert len(steps) == len(found.visit.job.readings)
    assert {s.what for s in steps} == {"read"}


def test_what_became_of_an_answer_later_is_left_out_where_an_earlier_moment_is_asked_for(folder):
    place = ("tyres", "", "pressure.lr")
    assert len(dossier(GIVEN_UP, folder.path).stories[place].readings) == 3
    early = dossier(GIVEN_UP, folder.path, MOMENT - timedelta(minutes=1))
    assert len(early.stories[place].readings) == 1


def test_an_attached_file_that_changed_is_told(folder, tmp_path):
    (folder.path / "photos" / "last-page.txt").write_text("changed\n", encoding="utf-8")
    try:
        assert dossier(CLOSED, folder.path).attachments[0].state == "changed"
    finally:
        (folder.path / "photos" / "last-page.txt").write_text("invented\n", encoding="utf-8")

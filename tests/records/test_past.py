"""What was in the way of a go in the course of a job: counted by what is known of invented jobs, and kept in the index."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from msgspec.structs import replace as changed

from readiness.checks.finding import Visit
from readiness.job import Event, Fix, Reading, Waiver
from readiness.records import index as module
from readiness.records.index import JobIndex
from readiness.records.past import Past, Trouble, moments, past
from readiness.records.shop import ShopFolder
from readiness.verdict import judge
from tests.shop import MOMENT, demo_shop

MINUTE = timedelta(minutes=1)
GO, NO_GO, CLOSE, FIXED, WITHOUT = "HB-0417", "HB-0415", "HB-0419", "HB-0422", "HB-0423"


@pytest.fixture(scope="module")
def shop(tmp_path_factory) -> ShopFolder:
    return demo_shop(tmp_path_factory.mktemp("past"))


def visit(shop: ShopFolder, job: str) -> Visit:
    return shop.visit(shop.journal(job, write=False).job)


def told(shop: ShopFolder, job: str) -> dict[str, tuple[str, ...]]:
    return {t.title: (t.outcome, *t.parts) for t in past(visit(shop, job)).troubles}


def with_job(found: Visit, **changes: object) -> Visit:
    return replace(found, job=changed(found.job, **changes))


def again(found: Visit, question: str, value: float, minutes: float) -> Reading:
    """The reading of a tyre once more, so many minutes after the job was left."""
    first = next(r for r in found.job.readings if r.question == question)
    return changed(first, value=value, text=f"{value:g} kPa", at=found.last_entry + minutes * MINUTE)


def test_the_demo_jobs_tell_what_their_story_has(shop):
    assert told(shop, GO) == {}
    assert told(shop, NO_GO) == {"Tyres": ("fail", "Left rear, cold", "Rear pressure, left against right")}
    assert told(shop, CLOSE)["Tyres"][0] == "too_close"
    assert set(told(shop, WITHOUT)) == {"Fuel and load"}


def test_what_was_put_right_before_it_could_be_judged_is_told(shop):
    """The air that a cold pressure takes was typed in last, so at the time of the fix nothing could be said."""
    assert told(shop, FIXED) == {"Tyres": ("put right", "Left rear, cold")}


def test_that_it_passes_in_the_end_hides_nothing_that_was_put_right(shop):
    """A tyre is read low, inflated and read again: the tyres pass, and they were in the way."""
    found = visit(shop, GO)
    low = again(found, "pressure.lr", 200.0, 1)
    right = again(found, "pressure.lr", 231.0, 5)
    before = Fix(check="tyres", question="pressure.lr", at=found.last_entry + MINUTE / 2, by="x")
    fix = Fix(check="tyres", question="pressure.lr", at=low.at + 3 * MINUTE, by="x", text="inflated")
    put_right = with_job(found, readings=(*found.job.readings, low, right), fixes=(before, fix))
    assert judge(put_right, right.at).sides["left"].finding("tyres").outcome == "pass"
    (trouble,) = past(put_right).troubles
    assert (trouble.title, trouble.outcome) == ("Tyres", "fail")
    assert "Left rear, cold" in trouble.parts


def test_what_was_found_before_work_rested_counts_too(shop):
    """Nobody kept a fix: the next morning the tyre is right."""
    found = visit(shop, NO_GO)
    fine = tuple(
        changed(r, value=240.0, at=r.at + timedelta(hours=20)) if r.question.startswith("pressure") else
        changed(r, at=r.at + timedelta(hours=20)) for r in found.job.readings
    )  # fmt: skip
    rested = with_job(found, readings=(*found.job.readings, *fine))
    assert found.last_entry in moments(rested)
    assert [t.title for t in past(rested).troubles] == ["Tyres"]


def test_an_event_before_which_it_was_wrong_hides_nothing(shop):
    found = visit(shop, NO_GO)
    moved = Event(event="car_moved", at=found.last_entry + MINUTE, by="x")
    assert [t.title for t in past(with_job(found, events=(moved,))).troubles] == ["Tyres"]


def test_what_was_set_aside_is_in_nobodys_way_any_more(shop):
    found = visit(shop, GO)
    aside = Waiver(check="light", reason="daylight from above", at=found.last_entry, by="x")
    assert past(with_job(found, waivers=(aside,))).troubles == ()


def test_a_job_that_was_only_begun_has_nothing_in_its_way(shop):
    assert past(visit(shop, "HB-0420")).troubles == ()


def test_the_document_named_is_told(shop):
    assert past(visit(shop, GO)).document == "QM-TERN-88-RC issue 4"


def test_it_is_the_same_whenever_one_asks_and_however_often(shop):
    found = visit(shop, FIXED)
    assert past(found) == past(visit(shop, FIXED))
    assert all(m <= found.last_entry for m in moments(found))


# --- kept in the index ----------------------------------------------------------------------------


def test_the_index_keeps_it_and_says_the_same(tmp_path, monkeypatch):
    shop, store = demo_shop(tmp_path), tmp_path / "jobs.cache"
    worked_out = []
    whole = module._told
    monkeypatch.setattr(
        module, "_told", lambda folder, line: worked_out.append(line.id) or whole(folder, line)
    )

    def look() -> dict[str, Past]:
        index = JobIndex(ShopFolder(shop.path), store, worth_it=0)
        return index.pasts(index.lines())

    first = look()
    assert len(worked_out) == len(first) == len(shop.jobs())
    assert isinstance(first[NO_GO].troubles[0], Trouble)
    assert look() == first
    assert len(worked_out) == len(first)
    sheet = shop.path / "sheets" / "pipit-front.yaml"
    sheet.write_text(f"{sheet.read_text(encoding='utf-8')}# other\n", encoding="utf-8", newline="\n")
    assert look() == first
    assert {line.sheet for line in shop.jobs() if line.id in worked_out[len(first) :]} == {"pipit-front"}


def test_a_job_that_cannot_be_judged_says_why_and_the_others_stand(tmp_path):
    shop = demo_shop(tmp_path)
    (shop.path / "sheets" / "godwit-camera.yaml").write_text("sheet: [\n", encoding="utf-8", newline="\n")
    (shop.jobs_folder / "HB-0417.jsonl").write_bytes(b"nonsense\n")
    index = JobIndex(ShopFolder(shop.path), tmp_path / "jobs.cache")
    found = index.pasts(index.lines())
    assert {id for id, told in found.items() if told.problem} == {"HB-0416", "HB-0423", "HB-0417"}
    assert [t.title for t in found[NO_GO].troubles] == ["Tyres"]


def test_moments_are_few_and_end_when_the_job_was_left(shop):
    found = visit(shop, GO)
    events = tuple(Event(event="got_in", at=found.last_entry + n * MINUTE, by="x") for n in range(1, 300))
    many = moments(with_job(found, events=events))
    assert len(many) <= 60
    assert many[-1] == events[-1].at
    assert many[-1] > MOMENT

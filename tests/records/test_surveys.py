"""Surveys on disk: kept answer by answer, resumed, finished into a file that the bay uses."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
from datetime import date, timedelta
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from readiness.checklist.files import read_survey
from readiness.job import LevelRun, Survey, SurveyPoint
from readiness.records.chained import JournalError
from readiness.records.demo import copy_demo
from readiness.records.journal import Journal
from readiness.records.opening import mistakes_in
from readiness.records.shop import ShopError, ShopFolder
from readiness.records.survey_file import survey_text, write_new
from readiness.records.surveys import (
    SurveyJournal,
    begin,
    damaged,
    finish,
    is_survey,
    keep_new,
    next_id,
    resume,
    said_of,
    sheets_used,
    unfinished,
    uses_of,
)
from readiness.survey.finish import finished
from readiness.survey.net import with_node, without
from readiness.survey.surveying import Plan
from tests.records.invented import demo_shop, opened
from tests.survey.floors import AT, read, surveying

BY = "A. Test"


@pytest.fixture
def own(tmp_path) -> ShopFolder:
    """The demo shop without the surveys it has in files of their own."""
    shop = demo_shop(tmp_path)
    for path in shop.surveys_folder.glob("*"):
        path.unlink()
    return ShopFolder(shop.path)


def begun(folder: Path, way="laser", id="bay-1-2026-05-04") -> SurveyJournal:
    survey = surveying(way)
    return SurveyJournal.create(
        folder, id=id, bay="bay-1", way=way, plan=Plan(survey.nodes, survey.runs), by=BY, at=AT,
        straightedge=survey.straightedge,
    )  # fmt: skip


def taken(journal: SurveyJournal, count: int | None = None) -> None:
    """Answer as exact instruments would, up to so many answers."""
    tool = "laser-1" if journal.surveying.way == "laser" else "level-1"
    for reading in read(journal.surveying, lambda x, y: 2 * x - y, zero=0.2, tool=tool, round_to=2).readings[
        :count
    ]:
        journal.record(reading)


# --- being taken ---------------------------------------------------------------------------------


@pytest.mark.parametrize("way", ["laser", "level"])
def test_a_survey_is_resumed_after_every_prefix_of_its_entries(tmp_path, way):
    with begun(tmp_path, way) as journal:
        states = [journal.surveying]
        taken(journal, 4)
        journal.note(3, "by the drain", BY, AT)
        journal.withdraw(2, "mistyped", BY, AT)
        journal.plan(with_node(journal.surveying, 1.0, 1.0, "drain"), BY, AT, "added")
        journal.plan(without(journal.surveying, "4"), BY, AT, "a trolley stands there")
        journal.set_units("us", BY, AT)
        path = journal.path
    lines = path.read_bytes().splitlines(keepends=True)
    for count in range(1, len(lines) + 1):
        for torn in (b"", lines[count][: len(lines[count]) // 2] if count < len(lines) else b'{"n"'):
            part = tmp_path / f"part-{count}-{len(torn)}" / path.name
            part.parent.mkdir()
            part.write_bytes(b"".join(lines[:count]) + torn)
            with SurveyJournal.open(part) as again:
                states.append(again.surveying)
                assert again.units == ("us" if count == len(lines) else None)
                assert bool(again.warnings) == bool(torn)
                assert len(again.surveying.readings) == min(count - 1, 4) - (count >= 7)
                taken(again, 1)
                assert again.surveying.readings[-1].number == count + 1
    last = states[-1]
    assert [n.name for n in last.nodes if n.what == "drain"] == [str(len(states[0].nodes) + 1)]
    assert "4" not in [n.name for n in last.nodes]
    assert next(r.note for r in last.readings if r.number == 3) == "by the drain"


def test_a_change_of_the_plan_can_be_taken_back(tmp_path):
    with begun(tmp_path, "level") as journal:
        before = journal.surveying
        kept = journal.plan(without(journal.surveying, "3"), BY, AT, "a trolley")
        assert journal.latest == (kept.number, kept)
        assert "3" not in [n.name for n in journal.surveying.nodes]
        journal.withdraw(kept.number, "undone", BY, AT)
        assert journal.surveying == before
    with SurveyJournal.open(journal.path, write=False) as again:
        assert again.surveying == before


@pytest.mark.parametrize("runs", [(("1", "99"),), (("1", "1"),)])
def test_a_plan_that_cannot_be_is_refused_and_leaves_no_trace(tmp_path, runs):
    with begun(tmp_path) as journal:
        before = journal.path.read_bytes()
        with pytest.raises(JournalError, match="cannot be kept"):
            journal.plan(Plan(journal.surveying.nodes, runs), BY, AT)
        with pytest.raises(JournalError, match="two places have one name"):
            journal.plan(Plan(journal.surveying.nodes[:1] * 2), BY, AT)
        assert journal.path.read_bytes() == before


def test_nothing_is_entered_after_the_end(tmp_path):
    with begun(tmp_path) as journal:
        journal.finish(BY, AT)
        assert journal.surveying.finished is not None
        with pytest.raises(JournalError, match="after the survey was finished"):
            taken(journal, 1)
    with SurveyJournal.open(journal.path) as again:
        assert again.surveying.readings == ()


def test_a_second_window_is_refused(tmp_path):
    with begun(tmp_path) as journal:
        with pytest.raises(JournalError, match=r"has bay-1-2026-05-04 open on .+ since"):
            SurveyJournal.open(journal.path)
        assert SurveyJournal.open(journal.path, write=False).surveying == journal.surveying


def test_a_job_is_no_survey_and_a_survey_no_job(tmp_path, own):
    with begun(tmp_path) as journal:
        path = journal.path
    job = sorted(own.jobs_folder.glob("*.jsonl"))[0]
    with pytest.raises(JournalError, match="it is the journal of a survey, not of a job"):
        Journal.open(path, write=False)
    with pytest.raises(JournalError, match="it is the journal of a job, not of a survey"):
        SurveyJournal.open(job, write=False)
    assert (is_survey(path), is_survey(job)) == (True, False)
    assert mistakes_in([path]) == []
    path.write_bytes(path.read_bytes().replace(b"A. Test", b"B. Test", 1))
    assert "cannot be trusted" in str(mistakes_in([path])[0])


APPENDING = """
import sys
from pathlib import Path
from tests.records.test_surveys import begun, taken
with begun(Path(sys.argv[1])) as journal:
    while True:
        taken(journal, 1)
        sys.stdout.write(f"{journal.surveying.readings[-1].number}\\n")
        sys.stdout.flush()
"""


def test_no_answer_shown_as_kept_is_missing_after_a_kill(tmp_path):
    with subprocess.Popen(
        [sys.executable, "-c", APPENDING, str(tmp_path)],
        stdout=subprocess.PIPE,
        cwd=Path(__file__).parents[2],
    ) as process:
        assert process.stdout is not None
        told = [process.stdout.readline() for _ in range(20)]
        process.kill()
        told += process.stdout.read().splitlines(keepends=True)
    last = max(int(line) for line in told if line.endswith(b"\n"))
    with SurveyJournal.open(tmp_path / "bay-1-2026-05-04.jsonl") as journal:
        numbers = [r.number for r in journal.surveying.readings]
        assert numbers == list(range(2, len(numbers) + 2))
        assert numbers[-1] >= last


# --- beginning, resuming, finishing --------------------------------------------------------------


@pytest.mark.parametrize(("way", "straightedge"), [("laser", None), ("level", 2.0)])
def test_from_the_first_place_to_the_bays_new_survey(own, way, straightedge):
    uses = uses_of(own, ["tern-rear-corner"])
    assert uses[0].sides == ("left", "right")
    old = own.bays["bay-2"].survey
    with begin(own, "bay-2", way, uses, by=BY, at=AT, straightedge=straightedge) as journal:
        assert unfinished(own, "bay-2") == journal.path
        taken(journal)
        survey = finished(journal.surveying, own.instruments)
        assert own.bays["bay-2"].survey == old
        path = finish(own, journal, survey, by=BY, at=AT + timedelta(hours=2))
    assert path == own.surveys_folder / f"{survey.survey}.yaml"
    assert unfinished(own, "bay-2") is None
    assert own.bays["bay-2"].survey == own.surveys[survey.survey] == survey
    assert own.visit(opened(bay="bay-2")).bay.survey == survey
    assert ShopFolder(own.path).bays["bay-2"].survey == survey
    assert sorted(p.name for p in own.surveys_folder.iterdir() if p.suffix != ".lock") == [
        f"{survey.survey}.jsonl", f"{survey.survey}.yaml",
    ]  # fmt: skip
    assert mistakes_in([own.surveys_folder, own.path / "bays"]) == []
    assert b"\r" not in path.read_bytes()


def test_the_newest_unfinished_survey_of_the_bay_is_resumed(own):
    uses = uses_of(own, ["pipit-front"])
    for hours in (0, 1, 2):
        begin(own, "bay-3", "laser", uses, by=BY, at=AT + timedelta(hours=hours)).close()
    begin(own, "bay-1", "laser", uses, by=BY, at=AT + timedelta(hours=9)).close()
    with resume(own, "bay-3") as journal:
        assert journal.path.stem == "bay-3-2026-05-04c"
        taken(journal)
        finish(own, journal, finished(journal.surveying, own.instruments), by=BY, at=AT + timedelta(hours=3))
    with resume(own, "bay-3") as journal:
        assert journal.path.stem == "bay-3-2026-05-04b"
    assert resume(own, "bay-2") is None


def test_a_damaged_journal_is_told_and_hides_no_other(own):
    begin(own, "bay-3", "laser", uses_of(own, ["pipit-front"]), by=BY, at=AT).close()
    bad = own.surveys_folder / "bay-3-2026-05-05.jsonl"
    bad.write_bytes(b"nonsense\n")
    assert unfinished(own, "bay-3").stem == "bay-3-2026-05-04"
    assert len(damaged(own, "bay-3")) == 1
    assert "bay-3-2026-05-05" in damaged(own, "bay-3")[0]
    assert damaged(own, "bay-1") == ()


def test_ids_of_one_day_differ_and_bays_of_long_names_have_files(own):
    assert next_id(own, "bay-1", date(2026, 5, 4)) == "bay-1-2026-05-04"
    for id in ("bay-1-2026-05-04", "bay-1-2026-05-04b"):
        begun(own.surveys_folder, id=id).close()
    assert next_id(own, "bay-1", date(2026, 5, 4)) == "bay-1-2026-05-04c"
    long = next_id(own, "b" * 64, date(2026, 5, 4))
    begun(own.surveys_folder, id=long).close()


def test_if_the_program_ends_before_the_last_entry_finishing_again_does_it(own, monkeypatch):
    with begin(own, "bay-3", "laser", uses_of(own, ["pipit-front"]), by=BY, at=AT) as journal:
        taken(journal)
        survey = finished(journal.surveying, own.instruments)

        def full(by, at):
            raise JournalError("no space left")

        with monkeypatch.context() as patch:
            patch.setattr(journal, "finish", full)
            with pytest.raises(JournalError):
                finish(own, journal, survey, by=BY, at=AT)
    with resume(own, "bay-3") as journal:
        finish(own, journal, finished(journal.surveying, own.instruments), by=BY, at=AT)
    assert own.bays["bay-3"].survey == survey


def test_a_disk_that_fails_leaves_no_half_file(own, monkeypatch):
    with begin(own, "bay-3", "laser", uses_of(own, ["pipit-front"]), by=BY, at=AT) as journal:
        taken(journal)
        survey = finished(journal.surveying, own.instruments)

        def full(_):
            raise OSError(28, "No space left on device")

        with monkeypatch.context() as patch:
            patch.setattr(os, "fsync", full)
            with pytest.raises(JournalError, match="no space left"):
                finish(own, journal, survey, by=BY, at=AT)
        assert not list(own.surveys_folder.glob("*.yaml*"))
        assert not list(own.surveys_folder.glob(".*new"))
        assert journal.surveying.finished is None


# --- which survey a bay has ----------------------------------------------------------------------


def plain(day: date, id: str = "", note: str = "") -> Survey:
    points = tuple(
        SurveyPoint(name=n, x=x, y=y, height=1.0) for n, x, y in (("a", 1, 1), ("b", 5, 1), ("c", 3, 4))
    )
    return Survey(survey=id, bay="bay-1", date=day, by=BY, instrument="laser-1", points=points, note=note)


def test_a_bay_has_its_newest_survey_and_at_equal_dates_one_in_surveys(own):
    own_date = own.bays["bay-1"].survey.date
    assert own.bays["bay-1"].survey.survey == ""
    keep_new(own, plain(own_date - timedelta(days=1), "old"), "")
    assert own.bays["bay-1"].survey.survey == ""
    keep_new(own, plain(own_date, "same-b"), "")
    keep_new(own, plain(own_date, "same-a"), "")
    assert own.bays["bay-1"].survey.survey == "same-b"
    keep_new(own, plain(own_date + timedelta(days=1), "a-new"), "")
    assert own.bays["bay-1"].survey.survey == "a-new"
    assert own.bays["bay-2"].survey.survey == ""


def test_a_survey_with_mistakes_is_no_reason_to_fall_back_on_an_older_one(own):
    path = keep_new(own, plain(date(2030, 1, 1), "bad"), "")
    path.write_text(
        path.read_text(encoding="utf-8").replace("x: 5 m", "x: 5"), encoding="utf-8", newline="\n"
    )
    own.forget_surveys()
    with pytest.raises(ShopError, match=r"bad\.yaml:9:"):
        _ = own.bays["bay-1"]
    assert own.bays["bay-2"].bay == "bay-2"
    assert any("bad.yaml" in str(m) for m in mistakes_in([own.surveys_folder]))


def test_of_two_surveys_of_one_id_none_counts(own):
    keep_new(own, plain(date(2030, 1, 1), "one"), "")
    copy = own.surveys_folder / "copy.yaml"
    copy.write_text(survey_text(plain(date(2030, 2, 1), "one")), encoding="utf-8", newline="\n")
    own.forget_surveys()
    with pytest.raises(ShopError, match=r"one\.yaml and copy\.yaml both say 'survey: one'"):
        _ = own.bays["bay-1"]
    assert own.bays["bay-2"].bay == "bay-2"
    assert any("'one' again" in str(m) for m in mistakes_in([own.path]))


@pytest.mark.parametrize("how", ["late", "quoted", "flow"])
def test_a_survey_counts_wherever_its_file_says_the_bay(own, how):
    text = survey_text(plain(date(2030, 1, 1), "mine"))
    if how == "late":
        text = text.replace("bay: bay-1\n", "note: " + "long " * 790 + "\n") + "bay: bay-1\n"
    elif how == "quoted":
        text = text.replace("bay: bay-1\n", '"bay" : bay-1\n')
    else:
        points = "[{name: a, x: 1 m, y: 1 m, height: 0 mm}, {name: b, x: 5 m, y: 1 m, height: 0 mm}, {name: c, x: 3 m, y: 4 m, height: 0 mm}]"
        text = f"{{survey: mine, bay: bay-1, date: 2030-01-01, by: A. Test, instrument: laser-1, points: {points}}}\n"
    (own.surveys_folder / "mine.yaml").write_text(text, encoding="utf-8", newline="\n")
    assert own.bays["bay-1"].survey.date == date(2030, 1, 1)
    assert own.bays["bay-2"].survey.date < date(2030, 1, 1)


def test_a_journal_under_another_name_is_told(own):
    with begin(own, "bay-3", "laser", uses_of(own, ["pipit-front"]), by=BY, at=AT) as journal:
        path = journal.path
    copy = path.with_name("bay-1-2026-05-04.jsonl")
    copy.write_bytes(path.read_bytes())
    with pytest.raises(
        JournalError, match=r"holds the survey bay-3-2026-05-04: name it bay-3-2026-05-04\.jsonl again"
    ):
        SurveyJournal.open(copy)
    assert unfinished(own, "bay-3") == path
    assert len(damaged(own, "bay-1")) == 1
    copy.rename(copy.with_suffix(".away"))
    SurveyJournal.open(path).close()


def test_lint_of_a_shop_looks_at_its_journals(tmp_path):
    own = demo_shop(tmp_path)
    begin(own, "bay-3", "laser", uses_of(own, ["pipit-front"]), by=BY, at=AT).close()
    assert mistakes_in([own.path]) == []
    (own.surveys_folder / "bay-3-2026-05-05.jsonl").write_bytes(b"nonsense\n")
    job = sorted(own.jobs_folder.glob("*.jsonl"))[0]
    job.write_bytes(job.read_bytes().replace(b"kPa", b"bar", 1))
    assert [Path(m.path).name for m in mistakes_in([own.path])] == [job.name, "bay-3-2026-05-05.jsonl"]


def test_nothing_is_overwritten(own):
    path = keep_new(own, plain(date(2026, 5, 4), "one"), "")
    before = path.read_bytes()
    with pytest.raises(JournalError, match="is there already"):
        keep_new(own, plain(date(2026, 5, 5), "one"), "")
    assert path.read_bytes() == before


def test_lint_compares_a_survey_with_its_shop(own):
    text = survey_text(plain(date(2026, 5, 4), "one"))
    for n, (old, new) in enumerate(
        [
            ("bay: bay-1", "bay: bay-7"),
            ("laser-1", "laser-9"),
            ("x: 5 m", "x: 50 m"),
            ("survey: one", "survey: two"),
        ]
    ):
        write_new(own.surveys_folder / f"{n}.yaml", text.replace(old, new))
    write_new(own.surveys_folder / "run.yaml", LEVELLED)
    said = [str(m).partition("surveys")[2][1:] for m in mistakes_in([own.surveys_folder])]
    again = "found 'one' again, already in 0.yaml"
    assert [m.split(", expected")[0] for m in said] == [
        "0.yaml:3:6: bay: found no such bay, 'bay-7'",
        f"1.yaml:2:9: survey: {again}",
        "1.yaml:6:13: instrument: found no such instrument, 'laser-9'",
        f"2.yaml:2:9: survey: {again}",
        "2.yaml:9:5: points[b]: found a point at 50.00 m, 1.00 m, far outside the bay",
        "run.yaml:9:66: runs[2].instrument: found no such instrument, 'level-9'",
    ]


LEVELLED = """survey: three
bay: bay-1
date: 2026-05-04
by: A. Test
instrument: level-1
points: [{name: a, x: 1 m, y: 1 m}, {name: b, x: 3 m, y: 1 m}, {name: c, x: 2 m, y: 2 m}]
runs:
  - {from: a, to: b, first: 1 mm/m, turned: -1 mm/m}
  - {from: b, to: c, first: 1 mm/m, turned: -1 mm/m, instrument: level-9}
"""


def test_demo_copies_carry_their_surveys(tmp_path):
    assert copy_demo(tmp_path / "demo", AT).surveys.mistakes() == ()


def test_sheets_used_are_those_of_the_bays_jobs(own):
    for path in own.jobs_folder.glob("*"):
        path.unlink()
    assert sheets_used(own, "bay-1") == tuple(own.sheets)
    Journal.create(
        own.jobs_folder, job="J1", sheet="pipit-front", bay="bay-1", sides=("single",), by=BY, at=AT
    ).close()
    assert sheets_used(own, "bay-1") == ("pipit-front",)
    assert sheets_used(own, "bay-2") == tuple(own.sheets)


def test_what_a_bays_survey_says(own):
    said = said_of(own, "bay-1")
    assert said[0].startswith("Bay 1, the long one by the street door: floor of")
    with pytest.raises(ShopError, match="has no survey yet"):
        said_of(own, "bay-3")
    with pytest.raises(ShopError, match=r"there: bay-1, bay-2, bay-3"):
        said_of(own, "bay-9")


# --- the file ------------------------------------------------------------------------------------

words = st.text(
    st.characters(exclude_categories=("Cs", "Cc", "Cf", "Zl", "Zp", "Cn", "Co")), min_size=1, max_size=30
).filter(str.strip)
thousandths = st.integers(-50_000, 50_000).map(lambda v: v / 1000)
metres = st.integers(-30, 30).map(float)
names = st.lists(words, min_size=3, max_size=6, unique=True)


@settings(max_examples=60, deadline=None)
@given(names, st.lists(metres, min_size=6, max_size=6, unique=True), words, words, st.booleans(), st.data())
def test_every_survey_reads_back_as_itself(called, lengths, by, note, level, data):
    points = tuple(
        SurveyPoint(
            name=n, x=x, y=x * x / 8 + 0.001, height=None if level else data.draw(thousandths), what=by
        )
        for n, x in zip(called, lengths, strict=False)
    )
    walk = zip(called, (*called[1:], called[0]), strict=True)
    runs = tuple(
        LevelRun(start=a, end=b, first=data.draw(thousandths), turned=data.draw(thousandths), instrument=note)
        for a, b in walk
    )
    survey = Survey(
        survey="s-1", bay="bay-1", date=date(2026, 5, 4), by=by, instrument=note, note=note, points=points,
        runs=runs if level else (), straightedge=200.5 if level else None, renew_after=data.draw(st.sampled_from([365, 90])),
    )  # fmt: skip
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "s.yaml"
        write_new(path, survey_text(survey, "by a test"))
        assert read_survey(path) == survey


def test_the_journal_holds_the_readings_as_they_were_typed(tmp_path):
    with begun(tmp_path) as journal:
        reading = replace(read(journal.surveying, lambda x, y: x).readings[0], text="1.5 m", note="#2, 'so'")
        journal.record(reading)
    fields = json.loads(journal.path.read_bytes().splitlines()[1])
    assert (fields["kind"], fields["question"], fields["text"]) == ("reading", "staff.1", "1.5 m")
    assert json.loads(journal.path.read_bytes().splitlines()[0])["kind"] == "survey"

"""The demo shop's copy: its story happens now, whatever now is."""

from __future__ import annotations

import json
import re
from datetime import UTC, datetime, timedelta, timezone

import pytest

from readiness.records import places
from readiness.records.attachments import check
from readiness.records.demo import copy_demo
from readiness.records.journal import Journal
from readiness.records.opening import mistakes_in, open_job
from readiness.records.shop import ShopError
from readiness.report.data import as_dict
from readiness.verdict import judge

MOMENT = datetime.fromisoformat((places.demo() / "moment.txt").read_text(encoding="utf-8").strip())
NOWS = [
    MOMENT,
    datetime(2031, 2, 28, 23, 59, tzinfo=UTC),
    datetime(2024, 2, 29, 0, 5, tzinfo=timezone(timedelta(hours=-7))),
]
JOBS = sorted(p.name for p in (places.demo() / "answers").glob("*.yaml"))


@pytest.mark.parametrize("now", NOWS)
def test_the_copy_has_no_mistakes(tmp_path, now):
    folder = copy_demo(tmp_path / "shop", now)
    assert [str(m) for m in mistakes_in([folder.path])] == []
    for line in folder.jobs():
        with Journal.open(line.path) as journal:
            assert journal.warnings == []


@pytest.mark.parametrize("now", NOWS[1:])
def test_the_story_is_the_same_at_any_time(tmp_path, now):
    """Every outcome of every visit is what it is at the moment at which the demo stands still."""
    still, moved = copy_demo(tmp_path / "still", MOMENT), copy_demo(tmp_path / "moved", now)
    for name in JOBS:
        seen = [_outcomes(f.path / "answers" / name, at) for f, at in ((still, MOMENT), (moved, now))]
        assert seen[0] == seen[1], name


def test_journals_say_what_the_answers_say(tmp_path):
    folder = copy_demo(tmp_path / "shop", MOMENT)
    for line in folder.jobs():
        answers = folder.path / "answers" / f"{line.id}.yaml"
        if answers.exists():
            assert _told(line.path, MOMENT) == _told(answers, MOMENT), line.id


def test_dates_move_by_whole_days_and_nothing_else_changes(tmp_path):
    later = MOMENT + timedelta(days=100)
    folder = copy_demo(tmp_path / "shop", later)
    before = (places.demo() / "instruments.yaml").read_text(encoding="utf-8")
    after = (folder.path / "instruments.yaml").read_text(encoding="utf-8")
    date = re.compile(r"\d{4}-\d\d-\d\d")
    assert date.sub("", before) == date.sub("", after)
    pairs = list(zip(date.findall(before), date.findall(after), strict=True))
    assert len(pairs) >= 6
    assert all(datetime.fromisoformat(b) - datetime.fromisoformat(a) == timedelta(days=100) for a, b in pairs)


def test_attached_papers_come_along_byte_for_byte(tmp_path):
    folder = copy_demo(tmp_path / "shop", NOWS[1])
    attached = [a for line in folder.jobs() for a in folder.journal(line.id, write=False).job.attached]
    assert attached
    assert {check(a, folder.path).state for a in attached} == {"same"}


def test_it_is_copied_into_an_empty_folder_only(tmp_path):
    (tmp_path / "precious.txt").write_text("x", encoding="utf-8")
    with pytest.raises(ShopError, match="not an empty folder"):
        copy_demo(tmp_path, MOMENT)
    assert [p.name for p in tmp_path.iterdir()] == ["precious.txt"]


def test_the_shipped_demo_is_untouched(tmp_path):
    before = {p: p.read_bytes() for p in places.demo().rglob("*") if p.is_file()}
    folder = copy_demo(tmp_path / "shop", NOWS[1])
    for line in folder.jobs():
        with Journal.open(line.path) as journal:
            if journal.job.ended is None:
                journal.set_units("us", "A. Test", NOWS[1])
    assert {p: p.read_bytes() for p in places.demo().rglob("*") if p.is_file()} == before


def _told(path, at) -> str:
    visit, _ = open_job(str(path), None)
    return json.dumps(as_dict(judge(visit, at), visit))


def _outcomes(path, at) -> dict:
    sides = json.loads(_told(path, at))["sides"]
    return {s: [(f["check"], f["outcome"]) for f in told["findings"]] for s, told in sides.items()}

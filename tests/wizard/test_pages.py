"""The pages of a job fit their width: what is wrapped by hand must not be wrapped once more."""

from __future__ import annotations

from pathlib import Path

import pytest
from rich.cells import cell_len

from readiness.records.account import account
from readiness.records.ending import unsettled
from readiness.records.shop import ShopFolder
from readiness.verdict import judge
from readiness.wizard import closing_pages, pages
from tests.shop import MOMENT

DEMO = ShopFolder(Path(__file__).parent.parent.parent / "demo")


def too_long(text: str, width: int) -> list[str]:
    return [line for line in text.splitlines() if cell_len(line) > width]


@pytest.mark.parametrize("job", sorted(path.stem for path in DEMO.jobs_folder.glob("*.jsonl")))
def test_no_line_of_the_two_pages_is_longer_than_the_page(job):
    visit = DEMO.visit(DEMO.journal(job, write=False).job)
    verdict = judge(visit, MOMENT)
    told = account(visit, MOMENT)
    for width in (57, 58, 99):
        assert too_long(pages.go_page(verdict, visit, width).plain, width) == []
        assert too_long(closing_pages.end_page(told, unsettled(told), width).plain, width) == []


def test_the_head_names_the_bay_in_short_where_there_is_no_room_for_its_whole_name():
    visit = DEMO.visit(DEMO.journal("HB-0417", write=False).job)
    heads = [pages.header(visit, "Odo Brack", MOMENT, 18.2, width) for width in (120, 80, 50)]
    assert [cell_len(head) for head in heads] == [119, 79, 49]
    assert "Bay 2, the wide one in the middle  " in heads[0]
    assert "18.2 °C  Bay 2  " in heads[1]
    assert "…" in heads[2]

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

"""The pages of a job fit their width: what is wrapped by hand must not be wrapped once more."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from msgspec.structs import replace as changed
from rich.cells import cell_len

from readiness.job import Again, Compared, Drawn, SpotCheck
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


def spot_checked(visit):
    """One that did not agree, in many words, and one still to come."""
    first, second = visit.job.readings[:2]
    drawn = tuple(
        Drawn(entry=r.number, what="Tyres, left rear pressure", weight=1.0) for r in (first, second)
    )
    check = SpotCheck(at=MOMENT, by="Tamsin Vale", seed=1, of=40, drawn=drawn, number=90)
    compared = Compared(
        first=231.0, first_u=2.0, again=219.0, again_u=6.0, unit="kPa", e_n=-1.9, how="both at 18.4 °C"
    )
    again = Again(
        spot_check=90, entry=first.number, at=MOMENT, by="Tamsin Vale", what=drawn[0].what, outcome="differs", first_said="231 kPa",
        said="219 kPa", compared=compared,
    )  # fmt: skip
    return replace(visit, job=changed(visit.job, spot_checks=(check,), again=(again,)))


@pytest.mark.parametrize("job", ["HB-0417", "HB-0422"])
def test_what_a_spot_check_found_is_said_on_both_pages_and_fits(job):
    """HB-0422 is ended: its verdict is of a moment before."""
    visit = spot_checked(DEMO.visit(DEMO.journal(job, write=False).job))
    told = account(visit, MOMENT)
    notice = "A spot check did not agree: Tyres, left rear pressure 231 kPa, re-measured 219 kPa, E_n -1.9 (both at 18.4 °C)."
    for width in (57, 99):
        go = pages.go_page(judge(visit, MOMENT - timedelta(minutes=20)), visit, width).plain
        end = closing_pages.end_page(told, unsettled(told), width).plain
        assert too_long(go, width) == too_long(end, width) == []
        for page in (go, end):
            assert notice in " ".join(page.split())
        assert "0 of 2 agree, 1 does not, 1 is still to come." in " ".join(end.split())


def test_the_head_names_the_bay_in_short_where_there_is_no_room_for_its_whole_name():
    visit = DEMO.visit(DEMO.journal("HB-0417", write=False).job)
    heads = [pages.header(visit, "Odo Brack", MOMENT, 18.2, width) for width in (120, 80, 50)]
    assert [cell_len(head) for head in heads] == [119, 79, 49]
    assert "Bay 2, the wide one in the middle  " in heads[0]
    assert "18.2 °C  Bay 2  " in heads[1]
    assert "…" in heads[2]

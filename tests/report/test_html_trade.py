"""The page for the trade as evidence: how each thing is known, with what, and what became of it."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from msgspec.structs import replace as replaced

from readiness.job import Reading
from readiness.records.account import Account
from readiness.report.html_annex import annex
from readiness.report.html_trade import trade_sheet
from readiness.report.markup import Element, text_of
from tests.papers import of_job
from tests.shop import MOMENT, demo_shop

OVER = "HB-0422"
"""Both sides; one tyre, not the one nearest to its limit, was measured three times with a fix in between."""


@pytest.fixture(scope="module")
def paper(tmp_path_factory) -> tuple[Account, str, str]:
    told, found = of_job(demo_shop(tmp_path_factory.mktemp("trade")), OVER)
    return told, words(trade_sheet(told, found, [])), words(annex(told, found, []))


def words(sheet: Element) -> str:
    return " ".join(text_of(sheet).split())


def test_what_became_of_an_answer_stands_on_the_page_whichever_answer_decided(paper):
    told, trade, _ = paper
    tyres = next(f.finding for f in told.findings if f.finding.check == "tyres")
    assert tyres.deciding is not None
    assert tyres.deciding.key != "pressure.lr"
    assert trade.count("Left rear, pressure: measured three times, fix in between.") == 1


def test_every_grade_of_evidence_is_named(paper):
    """Pressures were measured; that the tyres are cold, somebody said."""
    assert "measured, told · Odo Brack" in paper[1]


def test_a_floor_from_a_survey_says_of_which_day_by_whom_and_with_what(paper):
    told, trade, more = paper
    survey = told.visit.bay.survey
    assert survey is not None
    source = f"floor survey of {survey.date} by {survey.by}, {survey.instrument}"
    assert "seen · Odo Brack 08:10 · floor survey" in trade
    assert f"Known from before: {source}." in trade
    assert source in more
    assert not any(r.instrument == survey.instrument for r in told.visit.job.readings)
    assert survey.instrument in [tool.id for tool in told.instruments]
    assert told.used[survey.instrument] == survey.date


def test_what_the_bays_plan_says_is_not_told_as_if_somebody_had_measured_it(paper):
    told, trade, more = paper
    assert "seen · Odo Brack 08:10 · the bay's plan" in trade
    clear = next(f.finding for f in told.findings if f.finding.check == "clear_area")
    plan = [p for p in clear.parts if not p.readings]
    assert plan
    assert more.count("%the bay's plan") == len(plan) * len(told.sides)  # in the column after the probability


def test_a_fix_names_what_was_put_right(paper):
    assert "Tyres, left rear, pressure: put right, inflated" in paper[2]


def test_what_speaks_against_the_record_stands_at_the_top_of_the_page(tmp_path):
    folder = demo_shop(tmp_path)
    (folder.path / "papers" / f"{OVER}-last-page.txt").write_text("another page\n", encoding="utf-8")
    told, found = of_job(folder, OVER)
    torn = replace(found, warnings=(f"{OVER}.jsonl, line 79, was cut off while it was written.",))
    trade = words(trade_sheet(told, torn, []))
    head = trade[: trade.index("Outcome")]
    assert f"The record: the file papers/{OVER}-last-page.txt is CHANGED since then." in head
    assert "The record: HB-0422.jsonl, line 79, was cut off" in head


def test_a_sound_record_makes_no_words(paper):
    assert "The record" not in paper[1]


def test_answers_that_were_typed_in_later_are_told_of(tmp_path):
    folder = demo_shop(tmp_path)
    with folder.journal("HB-0420") as journal:
        for n, minute in enumerate((31, 33)):
            journal.take_as_of(MOMENT - timedelta(minutes=40), MOMENT)
            journal.record(
                Reading(check="light", question=f"light.{n + 1}", value=400.0, unit="lx", text="400", by="Lio Fenn",
                        at=MOMENT + timedelta(minutes=minute), instrument="lux-1")
            )  # fmt: skip
        anew = journal.job.readings[-1]
        journal.instead(anew, replaced(anew, at=MOMENT + timedelta(minutes=35)), "mistyped", "Lio Fenn")
    told, found = of_job(folder, "HB-0420")
    trade = words(trade_sheet(told, found, []))
    assert (
        "The record: 2 answers were typed in later, from 10:31 to 10:33; when they were read, the paper said."
        in trade
    )


def test_a_result_out_of_range_is_told_beside_the_go(tmp_path):
    told, found = of_job(demo_shop(tmp_path), "HB-0424")
    trade = words(trade_sheet(told, found, []))
    head = trade[: trade.index("Outcome")]
    assert "✓ go, judged as of" in head
    assert "✗ not in order after the calibration: Result." in head
    assert "not in order" not in words(trade_sheet(*of_job(demo_shop(tmp_path / "sound"), OVER), []))

"""Procedure: the document is named and the limits match it."""

from __future__ import annotations

from dataclasses import replace as with_readings
from datetime import date

import pytest
from msgspec.structs import replace

from readiness.checks import procedure
from readiness.checks.entry import understood
from readiness.checks.finding import find
from readiness.job import Document, Reading
from readiness.units import UnitsError
from tests.scenes import AT, NOW, SHEET, asked, check, judged, part, scene, visit

ONE = check("procedure")


def test_offers_the_sheets_reference():
    document = asked(ONE)["document"]
    assert document.default == SHEET.document.reference
    assert document.type == "text"


def test_hint_gives_the_date_of_issue():
    sheet = replace(SHEET, document=Document(reference="INV-002", issued=date(2025, 11, 3)))
    assert "2025-11-03" in asked(ONE, sheet=sheet)["document"].hint


@pytest.mark.parametrize("text", ["-", "ab", "  x  "])
def test_refuses_what_names_no_document(text):
    with pytest.raises(UnitsError, match="names no document"):
        understood(asked(ONE)["document"], text, "metric")


def test_passes_with_document_and_match():
    j = judged(ONE, {"document": "INV-001", "limits_match": "y"})
    assert [p.outcome for p in j.parts] == ["pass", "pass"]
    assert j.notes == ()


def test_limits_that_do_not_match_fail():
    p = part(judged(ONE, {"document": "INV-001", "limits_match": "n"}), "limits_match")
    assert p.outcome == "fail"
    assert SHEET.sheet in p.remedy


@pytest.mark.parametrize("missing", ["document", "limits_match"])
def test_both_are_demanded(missing):
    answers = {k: v for k, v in {"document": "INV-001", "limits_match": "y"}.items() if k != missing}
    made = visit(ONE, readings={"procedure": answers})
    assert find(made, ONE, "", NOW).outcome == "not_done"


@pytest.mark.parametrize(("typed", "noted"), [("inv-001", False), ("INV-009", True)])
def test_notes_another_document_than_the_sheets(typed, noted):
    j = judged(ONE, {"document": typed, "limits_match": "y"})
    assert bool(j.notes) is noted
    assert part(j, "document").outcome == "pass"


def test_a_short_text_from_a_file_fails_too():
    made = scene(ONE)
    reading = Reading(check="procedure", question="document", value=" x ", at=AT, by="A. Test")
    j = procedure.judge(with_readings(made, readings={("procedure", "", "document"): (reading,)}), ONE.limits)
    assert part(j, "document").outcome == "fail"
    assert part(j, "document").remedy

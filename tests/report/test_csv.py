"""The report as a table: read back with the standard library's reader, as a spreadsheet would."""

from __future__ import annotations

import csv
import io
import unicodedata

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from readiness.report.csv import COLUMNS, safe, table
from tests.papers import CLOSED, GIVEN_UP, MIXED, of_job, shop_with_papers


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return shop_with_papers(tmp_path_factory.mktemp("papers"))


def rows(folder, job: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(table(*of_job(folder, job)), newline="")))


def test_one_row_for_each_number_or_state_with_what_was_found(folder):
    told, _ = of_job(folder, MIXED)
    found = [
        (f.finding, p) for f in (*told.findings, *told.closing_findings) for p in f.finding.parts or (None,)
    ]
    lines = rows(folder, MIXED)
    assert len(lines) == len(found)
    for line, (finding, part) in zip(lines, found, strict=True):
        assert line["check"] == finding.check
        if part is not None and isinstance(part.value, float):
            assert float(line["value"]) == part.value
            for name in ("low", "high", "u", "guard", "p_conform", "margin"):
                number = getattr(part, name)
                assert line[name] == "" if number is None else float(line[name]) == number


def test_who_when_with_what_and_what_became_of_it(folder):
    line = next(r for r in rows(folder, GIVEN_UP) if r["part"] == "pressure.lr")
    assert line["by"] == "Lio Fenn"
    assert line["last_at"] == "2026-11-25T10:03:00+00:00"
    assert "gauge-1" in line["instrument"].split("; ")
    assert "2027-03-31" in line["instrument_due"].split("; ")
    assert "measured three times, fix in between" in line["history"]
    assert "common practice" in line["limit_source"]


def test_a_check_set_aside_has_its_row_with_name_and_reason(folder):
    line = next(r for r in rows(folder, MIXED) if r["outcome"] == "waived")
    assert (line["check"], line["part"], line["by"]) == ("light", "", "Lio Fenn")
    assert "the lamp over bay 2 is being changed" in line["reason"]


def test_lines_end_as_rfc_4180_has_it(folder):
    text = table(*of_job(folder, CLOSED))
    assert text.startswith(",".join(COLUMNS) + "\r\n")
    assert text.endswith("\r\n")
    assert "\n" not in text.replace("\r\n", "")


@given(
    st.one_of(
        st.text(),
        st.sampled_from("=+-@\t\r\n \u2003\ufeff＝＋－＠").flatmap(lambda c: st.text().map(c.__add__)),
    )
)
@settings(max_examples=200)
@example('=HYPERLINK("http://x")')
@example("\t=1+1")
@example("\r\n=1+1")
@example("＝1+1")
@example("-3.6 degrees")
@example("@SUM(A1)")
def test_no_cell_of_text_is_a_formula(text):
    """Signs after which a spreadsheet computes: OWASP, 'CSV injection' (from memory), full-width ones included."""
    cell = safe(text)
    first = unicodedata.normalize("NFKC", cell[:1])
    assert first not in tuple("=+-@\t\r\n")
    assert all(unicodedata.category(c) not in ("Cc", "Zl", "Zp") for c in cell)
    assert cell.removeprefix("'") in " ".join(text.split()) or not text.isprintable()


@pytest.mark.parametrize("number", [-0.85, -3, 0.0, 1e-9])
def test_our_own_numbers_stay_numbers(number):
    assert safe(number) is number
    out = io.StringIO()
    csv.writer(out).writerow([safe(number)])
    assert float(out.getvalue()) == number


def test_a_negative_result_is_a_number_in_the_file(folder):
    line = next(r for r in rows(folder, CLOSED) if r["part"] == "azimuth")
    assert line["value"] == "-0.85"
    assert line["low"] == "-2.2"

"""The page of a shop in words, as text, as HTML and as data: what it says, how wide, and nothing from people as markup."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from datetime import date
from html.parser import HTMLParser

import pytest

from readiness.records.overview.model import Jobs, Reason, Reasons, ShopPage, ToolDue, Tools
from readiness.report.columns import cells
from readiness.report.html_shop import html_page
from readiness.report.shop_data import as_dict
from readiness.report.shop_text import WORD, _drawn, page_text
from readiness.report.shop_words import headline, sections
from readiness.report.text import clean
from tests.papers import HOSTILE
from tests.report.shop_pages import EMPTY, full


def lines(page: ShopPage, width: int | None = None) -> list[str]:
    return page_text(page, width).splitlines()


def whole(page: ShopPage) -> str:
    """The text as one line, so that it does not matter where it was broken."""
    return " ".join(page_text(page).split())


# --- words ----------------------------------------------------------------------------------------


def test_an_empty_shop_says_in_a_line_each_what_there_is_not():
    text = page_text(EMPTY)
    assert "Nothing needs anybody now." in text
    for said in (
        "There are no instruments.", "There are no bays.", "There are no sheets.", "There is no job yet.",
        "No job was worked on in the last 8 weeks.", "No bay was surveyed twice.",
        "No level was read both ways round, so nothing shows its zero.",
    ):  # fmt: skip
        assert said in text


@pytest.mark.parametrize("page", [EMPTY, full()], ids=["empty", "full"])
def test_no_heading_is_empty(page):
    for section in sections(page):
        assert section.rows or section.bars or section.quiet, section.title


def test_what_needs_somebody_stands_first():
    due = [section.due for section in sections(full())]
    assert due == sorted(due, reverse=True)
    assert next(s.title for s in sections(EMPTY)) == "Instruments to calibrate"


def test_the_headline_counts_what_needs_somebody():
    assert headline(full()) == (
        "Needs somebody: 3 instruments, 2 kinds of measurement, 1 bay, 1 sheet, 12 jobs, 1 floor that moved, "
        "1 zero that drifted."
    )


def test_sentences_of_the_full_page():
    text = whole(full())
    for said in (
        "✗ past due Old lux meter (lux-2; illuminance) was due 2026-03-01, 200 days ago.",
        "! due soon Pencil gauge (gauge-3; pressure) is due 2026-03-01, today.",
        "! due soon Pencil gauge (gauge-4; pressure) is due 2026-03-01, tomorrow.",
        "3 other instruments are in date beyond the next 30 days.",
        "✗ missing illuminance: no instrument in date measures it, so Light and Shade cannot be answered (front_radar).",
        "✗ missing pressure to ±5 kPa or better: every instrument in date is coarser, so tyre pressure cannot be answered "
        "(front_radar).",
        "Bay 1 (bay-1): its floor was never surveyed, so each job has to measure it.",
        "Bay 1 (bay-1): the floor survey of 2026-03-01 counted until 2026-03-01, 5 days ago.",
        "Invented estate (estate): last compared on 2026-03-01, and its document INV-1 was issued later, on 2026-03-01.",
        "written from INV-1, but in J-1, J-1, J-1, J-1 and 2 more the document at hand was INV-2.",
        "estate.yaml: a mistake (1 more; 'readiness lint' tells them.)",
        "✗ lapsed 12 jobs: J-0, J-1, J-2, J-3 and 8 more; a go is over, and no result was read under it.",
        "1,234 jobs in all, 40 of them open.",
        "at place E1 (left front wheel) the floor sank by 4.5 mm against the best plane. Chance explains 3 mm at most, at any "
        "of the 10 places that both surveys have.",
        "Bay 3 (bay-3), 2026-03-01 to 2026-03-01: they have 2 places in common.",
        "have it adjusted, and until then read every run both ways round.",
        "a second day is needed to see a drift.",
        "Most often wrong: Left rear, cold (Tyres, 9 jobs).",
    ):  # fmt: skip
        assert " ".join(said.split()) in text, said


def test_a_bar_says_its_number():
    """14 of 32 jobs: 9 failed, 3 too close, 2 put right before they could be judged."""
    (section,) = (s for s in sections(full()) if s.bars)
    first, second, third = section.bars
    assert (first.label, first.said) == ("Tyres", "14 of 32 jobs (3 close, 2 put right)")
    assert second.said == "5 of 32 jobs (5 close)"
    assert third.said == "1 of 32 jobs"


@pytest.mark.parametrize(
    ("days", "said"), [(1, "1 day ago"), (999, "999 days ago"), (1000, "3 years ago"), (9830, "27 years ago")]
)
def test_what_was_long_ago_is_told_in_years(days, said):
    past = ToolDue("g", "Gauge", "pressure", date(2000, 1, 1), -days)
    assert f"was due 2000-01-01, {said}." in whole(replace(EMPTY, tools=Tools((past,))))


def test_where_all_are_named_nothing_is_said_of_others():
    past = ToolDue("g", "Gauge", "pressure", date(2000, 1, 1), -5)
    assert "other instrument" not in whole(replace(EMPTY, tools=Tools((past,))))
    assert "All 3 instruments are in date beyond the next 30 days." in whole(
        replace(EMPTY, tools=Tools(rest=3))
    )
    assert "The only instrument is in date beyond the next 30 days." in whole(
        replace(EMPTY, tools=Tools(rest=1))
    )


def test_nothing_in_the_way_is_said():
    page = replace(EMPTY, reasons=Reasons(5, 0), jobs=Jobs(5, 0))
    assert "Nothing was in the way of a go in the 5 jobs." in whole(page)
    assert "none ended without a go, and none had a go with waivers" in whole(page)


def test_no_word_is_wider_than_its_column():
    assert all(len(row.word) < WORD for section in sections(full()) for row in section.rows)


def test_where_the_shop_reads_inches_so_does_the_page():
    text = whole(replace(full(), system="us"))
    assert "sank by 0.177 in" in text
    assert "stated accuracy of 0.06 in per 10 ft" in text


def test_of_many_checks_the_first_ten_are_drawn():
    checks = tuple(Reason(f"Check {n}", 20 - n, 20 - n, 0) for n in range(13))
    (section,) = (s for s in sections(replace(EMPTY, reasons=Reasons(20, 20, checks))) if s.bars)
    assert len(section.bars) == 10
    assert section.quiet[0] == "3 other checks less often."


# --- text -----------------------------------------------------------------------------------------


@pytest.mark.parametrize("width", [56, 60, 80, 100, 120, 200, None])
@pytest.mark.parametrize("text", ["", "漢字" * 12, "a b" * 40], ids=["usual", "wide", "long"])
def test_no_line_is_wider_than_the_terminal(width, text):
    """Text in wide characters is broken by its letters, so it may take up to twice the room; no more."""
    most = (width or 79) * (2 if text.startswith("漢") else 1)
    assert all(cells(line) < most for line in lines(full(text), width))


def test_bars_stand_under_one_another_and_are_as_long_as_their_numbers():
    drawn = [line for line in lines(full(), 80) if re.search(r"\d+ of 32 jobs( \(|$)", line)]
    starts = {line.index(next(c for c in line if c in "█▏▎▍▌▋▊▉░")) for line in drawn}
    assert len(starts) == 1
    assert len({line.index(" of 32") - len(re.search(r"(\d+) of 32", line).group(1)) for line in drawn}) == 1
    lengths = [sum(c in "█▏▎▍▌▋▊▉░" for c in line) for line in drawn]
    assert lengths == sorted(lengths, reverse=True)
    assert lengths[0] > 2 * lengths[1]


@pytest.mark.parametrize(
    ("sure", "whole_", "drawn"),
    [(4, 4, "████"), (2.5, 4, "██▌░"), (0, 3, "░░░"), (0.01, 0.01, "▏"), (0, 0.1, "░"), (1.99, 2, "██")],
)
def test_a_bar_is_drawn_to_an_eighth_of_a_cell_and_never_as_nothing(sure, whole_, drawn):
    assert _drawn(sure, whole_) == drawn


# --- hostile text ---------------------------------------------------------------------------------


class _Read(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.attributes: list[str] = []
        self.text: list[str] = []

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        self.attributes += [name for name, _ in attrs]

    def handle_data(self, data):
        self.text.append(data)


@pytest.mark.parametrize("text", HOSTILE.values(), ids=HOSTILE)
def test_text_from_people_stays_text(text):
    plain = page_text(full(text), 100)
    assert not re.search(r"[\x00-\x09\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]", plain)
    told, usual = _Read(), _Read()
    told.feed(html_page(full(text)))
    usual.feed(html_page(full()))
    assert set(told.tags) == set(usual.tags)
    assert set(told.attributes) == set(usual.attributes)
    assert clean(text) in "".join(told.text)


def test_the_page_asks_for_nothing_from_outside():
    page = html_page(full())
    assert "Content-Security-Policy" in page
    assert not re.search(r"https?://|<script|<link|<img|url\(", page)
    assert page.count("<h1>") == 1
    assert page.count("<h2>") == 7
    assert page.count('scope="row"') == page.count("<tr>")


# --- data -----------------------------------------------------------------------------------------


@pytest.mark.parametrize("page", [EMPTY, full(), full("<b>")], ids=["empty", "full", "hostile"])
def test_it_is_plain_data_with_every_number(page):
    told = json.loads(json.dumps(as_dict(page), allow_nan=False))
    assert set(told) == {
        "shop", "at", "within_days", "weeks", "idle_days", "needs", "instruments", "bays", "sheets", "jobs", "in_the_way",
        "floors", "zeros",
    }  # fmt: skip
    assert told["needs"] == page.needs
    assert len(told["floors"]) == len(page.floors)
    assert len(told["zeros"]) == len(page.zeros)


def test_the_numbers_are_those_of_the_page():
    told = as_dict(full())
    assert told["in_the_way"]["checks"][0] == {
        "title": "Tyres", "jobs": 14, "failed": 9, "too_close": 3, "put_right_unjudged": 2,
    }  # fmt: skip
    assert told["floors"][0]["places"][0] == {"before": "E1", "after": "E1", "rise_mm": -4.5, "u_mm": 1.0}
    assert told["floors"][2]["problem"] == "they have 2 places in common"
    assert told["zeros"][0]["trend_per_month"]["slope"] == pytest.approx(0.215 / 3)
    assert told["zeros"][3]["trend_per_month"] is None
    assert len(told["jobs"]["lapsed"]) == 12

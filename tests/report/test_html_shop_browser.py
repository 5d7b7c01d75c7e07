"""The page of a shop in a real browser: one page of paper, nothing sticks out on a telephone, dark where that is wanted."""

from __future__ import annotations

import pytest

from readiness.records.overview.gather import shop_page
from readiness.report.html_shop import html_page
from tests.browser import A4, COMMAND, LETTER, Browser, pages_of
from tests.papers import HOSTILE
from tests.report.shop_pages import EMPTY, full
from tests.shop import MOMENT, demo_shop

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(COMMAND is None, reason="no Chromium here; apt-get install chromium"),
]
PHONE = 360


@pytest.fixture(scope="module")
def browser():
    with Browser() as one:
        yield one


@pytest.fixture(scope="module")
def demo(browser, tmp_path_factory):
    to = tmp_path_factory.mktemp("shop-page")
    path = to / "shop.html"
    page = shop_page(demo_shop(to), MOMENT)
    path.write_text(html_page(page), encoding="utf-8", newline="\n")
    return path, browser.open(path, 794)


@pytest.mark.parametrize("paper", [A4, LETTER], ids=["A4", "Letter"])
def test_the_demo_shop_is_one_page_on_paper(demo, paper):
    assert pages_of(demo[1].pdf(paper)) == 1


def test_nothing_is_asked_for_but_the_file_and_nothing_sticks_out(demo):
    path, page = demo
    for dark in (False, True):
        for width in (PHONE, 794):
            page.shape(width, dark=dark)
            assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert page.evaluate("getComputedStyle(document.documentElement).backgroundColor") == "rgb(22, 25, 29)"
    page.shape(794)
    assert {url for url in page.requests if not url.startswith("data:")} == {path.as_uri()}
    assert page.complaints == []


def test_bars_have_the_length_of_their_numbers(demo):
    """3 jobs and 2 of 3 as long, in pixels."""
    _, page = demo
    lengths = page.evaluate(
        "JSON.stringify([...document.querySelectorAll('.bars tr')].map(r => [...r.querySelectorAll('.bar span')]"
        ".reduce((sum, s) => sum + s.getBoundingClientRect().width, 0)))"
    )
    first, second, *_ = map(float, lengths.strip("[]").split(","))
    assert second / first == pytest.approx(2 / 3, abs=0.01)


def test_what_a_screen_reader_is_told(demo):
    spoken = demo[1].spoken()
    headings = [name for role, name in spoken if role == "heading"]
    assert headings[0] == "Hobb's Brow Garage, Quillmoor"
    assert "Instruments to calibrate" in headings
    assert ("rowheader", "Tyres") in spoken
    assert any("3 of 13 jobs" in name for role, name in spoken if role in ("cell", "StaticText"))


@pytest.mark.parametrize("text", ["", *HOSTILE.values()], ids=["empty", *HOSTILE])
def test_hostile_text_is_shown_and_runs_nothing(browser, tmp_path, text):
    path = tmp_path / "hostile.html"
    path.write_text(html_page(full(text) if text else EMPTY), encoding="utf-8", newline="\n")
    page = browser.open(path, PHONE)
    assert page.evaluate("typeof window.hacked") == "undefined"
    assert (
        page.evaluate("document.querySelectorAll('script, img, iframe, object, link, base, form').length")
        == 0
    )
    assert page.evaluate("document.querySelectorAll('h1').length") == 1
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE
    assert page.complaints == []

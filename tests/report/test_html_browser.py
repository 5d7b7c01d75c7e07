"""The report in a real browser: nothing asked for from outside, no script, two pages and an annex on paper.

Chromium, headless (Debian's package; `.ci/run` installs it). Pictures are looked at by people; here only that they
are not blank and that nothing sticks out.
"""

from __future__ import annotations

import struct
import zlib
from pathlib import Path

import pytest

from readiness.report.html import html_page
from readiness.report.text import clean
from tests.browser import A4, COMMAND, LETTER, Browser, Page, pages_of
from tests.papers import CLOSED, GIVEN_UP, HOSTILE, MIXED, hostile_papers, of_job, shop_with_papers

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(COMMAND is None, reason="no Chromium here; apt-get install chromium"),
]
ORDINARY = (CLOSED, MIXED, GIVEN_UP, "HB-0409", "HB-0421", "HB-0422", "HB-0424")
WIDE, PHONE = 794, 360
"""Pixels; A4 at 96 to the inch, and a small phone."""


@pytest.fixture(scope="module")
def browser():
    with Browser() as one:
        yield one


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return shop_with_papers(tmp_path_factory.mktemp("papers"))


@pytest.fixture(scope="module")
def opened(folder, browser, tmp_path_factory):
    """The reports of some jobs, each in a window."""
    to = tmp_path_factory.mktemp("reports")
    windows: dict[str, tuple[Path, Page]] = {}
    for job in ORDINARY:
        path = to / f"{job}.html"
        path.write_text(html_page(*of_job(folder, job)), encoding="utf-8", newline="\n")
        windows[job] = path, browser.open(path, WIDE)
    return windows


def hidden(page: Page, *classes: str) -> None:
    """Leave out sheets; without names, none."""
    rules = "".join(f".{name} {{ display: none !important; }}" for name in classes)
    page.evaluate(
        "(() => { const s = document.getElementById('test') || document.head.appendChild(document.createElement('style'));"
        f" s.id = 'test'; s.textContent = '{rules}'; }})()"
    )


def pixels(png: bytes) -> tuple[int, int, list[bytes]]:
    """Width, height and rows of an RGB picture (PNG, ISO/IEC 15948: signature, chunks, one filter byte a row)."""
    assert png[:8] == b"\x89PNG\r\n\x1a\n"
    wide, high, depth, kind = struct.unpack(">IIBB", png[16:26])
    assert depth == 8
    size = {2: 3, 6: 4}[kind]
    data, at = b"", 8
    while at < len(png):
        length, name = struct.unpack(">I4s", png[at : at + 8])
        data += png[at + 8 : at + 8 + length] if name == b"IDAT" else b""
        at += length + 12
    raw, step = zlib.decompress(data), wide * size + 1
    return wide, high, [raw[k * step + 1 : (k + 1) * step] for k in range(high)]


@pytest.mark.parametrize("paper", [A4, LETTER], ids=["A4", "Letter"])
@pytest.mark.parametrize("job", ORDINARY)
def test_an_ordinary_job_is_two_pages_on_paper(opened, job, paper):
    _, page = opened[job]
    try:
        hidden(page, "annex")
        assert pages_of(page.pdf(paper)) == 2
    finally:
        hidden(page)


def test_each_sheet_begins_on_a_page_of_its_own(opened):
    _, page = opened[MIXED]
    whole = pages_of(page.pdf(A4))
    try:
        hidden(page, "trade", "annex")
        assert pages_of(page.pdf(A4)) == 1
        hidden(page, "customer", "trade")
        assert whole == 2 + pages_of(page.pdf(A4))
    finally:
        hidden(page)


@pytest.mark.parametrize("job", ORDINARY)
def test_nothing_is_asked_for_but_the_file(opened, job):
    path, page = opened[job]
    assert {url.split("?")[0] for url in page.requests if not url.startswith("data:")} == {path.as_uri()}
    assert page.complaints == []


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
def test_a_picture_of_it_is_not_blank_and_nothing_sticks_out(opened, dark):
    _, page = opened[MIXED]
    for width in (WIDE, PHONE):
        page.shape(width, dark=dark)
        assert page.evaluate("document.documentElement.scrollWidth") <= width
        wide, high, rows = pixels(page.picture())
        assert wide == width
        assert high == 1000
        assert len(set(rows)) > 200  # rows of pixels through text and lines differ
    page.shape(WIDE)


def test_it_is_dark_where_the_reader_wants_it_dark_and_white_on_paper(opened):
    _, page = opened[CLOSED]
    paper = "getComputedStyle(document.documentElement).backgroundColor"
    assert page.evaluate(paper) == "rgb(255, 255, 255)"
    page.shape(WIDE, dark=True)
    assert page.evaluate(paper) == "rgb(22, 25, 29)"
    page.ask("Emulation.setEmulatedMedia", media="print", features=[])
    assert page.evaluate("getComputedStyle(document.body).color") == "rgb(0, 0, 0)"
    page.ask("Emulation.setEmulatedMedia", media="", features=[])
    page.shape(WIDE)


def test_what_a_screen_reader_is_told(opened):
    """The accessibility tree that Chromium works out."""
    _, page = opened[MIXED]
    spoken = page.spoken()
    roles = [role for role, _ in spoken]
    assert roles.count("main") == 1
    headings = [name for role, name in spoken if role == "heading"]
    assert headings[:2] == ["Tern estate, rear corner radar", "Was the car ready?"]
    assert {"For the trade", "Annex", "Every answer"} <= set(headings)
    pictures = [name for role, name in spoken if role == "image"]
    assert len(pictures) > 50
    assert all(pictures)
    assert "2.5°; -2.2 to 2.2°; fail" in pictures
    assert roles.count("table") >= 4
    assert all(name for role, name in spoken if role == "table")
    assert {"columnheader", "rowheader", "cell"} <= set(roles)
    assert "region" in roles


@pytest.mark.parametrize("text", HOSTILE.values(), ids=HOSTILE)
def test_hostile_text_is_shown_and_runs_nothing(folder, browser, tmp_path, text):
    path = tmp_path / "hostile.html"
    path.write_text(html_page(*hostile_papers(folder, text)), encoding="utf-8", newline="\n")
    page = browser.open(path, PHONE)
    assert page.evaluate("typeof window.hacked") == "undefined"
    assert (
        page.evaluate("document.querySelectorAll('script, img, iframe, object, link, base, form').length")
        == 0
    )
    assert page.evaluate("document.querySelectorAll('h1').length") == 1
    assert page.evaluate("document.querySelector('h1').textContent") == clean(text)
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE
    assert page.evaluate("getComputedStyle(document.body).display") == "block"
    assert {u for u in page.requests if not u.startswith("data:")} == {path.as_uri()}
    assert page.complaints == []


def test_the_browser_tells_what_a_page_asks_for_and_runs(browser, tmp_path):
    """That the tests above could fail: a page that breaks every rule is seen to."""
    path = tmp_path / "bad.html"
    path.write_text(
        "<!DOCTYPE html><title>x</title><script>window.hacked = 1</script>"
        "<img src='http://outside.example/x.png'><p style='width: 900px'>x</p>",
        encoding="utf-8",
    )
    page = browser.open(path, PHONE)
    assert page.evaluate("window.hacked") == 1
    assert "http://outside.example/x.png" in page.requests
    assert page.complaints
    assert page.evaluate("document.documentElement.scrollWidth") > PHONE

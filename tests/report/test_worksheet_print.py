"""The worksheet as Chromium prints it: one or two sheets of paper, nothing cut off, boxes for a ballpoint pen."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from msgspec.structs import replace as changed

from readiness.records.sheets import Opened
from readiness.records.worksheet import worksheet
from readiness.report.worksheet import worksheet_page
from tests.browser import A4, COMMAND, LETTER, Browser, Page, pages_of
from tests.report.test_worksheet import DEMO, PAPERS, found, paper
from tests.shop import MOMENT
from tests.test_hostile import HOSTILE

pytestmark = [pytest.mark.slow, pytest.mark.skipif(COMMAND is None, reason="no Chromium here")]

MM = 96 / 25.4
"""Pixels of 1/96 in (CSS Values and Units 3, 6.2)."""
PEN = 7.0
"""mm; the least height of a box that is written into by hand. Common practice, no published source."""
SMALLEST = 8.0
"""pt; the least size of type that is read at arm's length. Common practice, no published source."""
CUT_OFF = """[...document.querySelectorAll('body *')].filter(e => {
  const box = e.getBoundingClientRect(), hidden = e.closest('defs, title, desc, style');
  const over = e.scrollWidth > e.clientWidth + 1 && e.clientWidth > 0 && !e.closest('svg');
  return !hidden && box.width > 0 && (over || box.right > document.documentElement.clientWidth + 1 || box.left < -1);
}).map(e => e.tagName + '.' + e.getAttribute('class') + ': ' + e.textContent.slice(0, 60))"""
OFF_THE_PLAN = """[...document.querySelectorAll('svg text')].filter(e => {
  const words = e.getBoundingClientRect(), plan = e.closest('svg').getBoundingClientRect();
  return words.left < plan.left - 1 || words.right > plan.right + 1 || words.bottom > plan.bottom + 1;
}).map(e => e.textContent)"""
HEIGHTS = """[...document.querySelectorAll('.box, .tick, .key, .field, .tool, .ruled td')]
  .map(e => e.getBoundingClientRect().height)"""
TYPE = """[...document.querySelectorAll('body *')].filter(e => [...e.childNodes].some(n => n.nodeType == 3 && n.data.trim()))
  .filter(e => !e.closest('defs, title, desc, style')).map(e => {
    const svg = e.closest('svg'), scale = svg ? svg.getBoundingClientRect().width / svg.viewBox.baseVal.width : 1;
    return parseFloat(getComputedStyle(e).fontSize) * scale;
  })"""


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with Browser() as running:
        yield running


def as_printed(page: Page, wide: float) -> None:
    """The window as broad as the paper between its margins, and the style that a printer gets."""
    page.shape(round((wide - 14.0) * MM))
    page.ask("Emulation.setEmulatedMedia", media="print")


@pytest.mark.parametrize("name", PAPERS)
def test_a_worksheet_is_two_sheets_of_paper_with_room_to_write(browser, tmp_path, name):
    path = tmp_path / "worksheet.html"
    path.write_text(worksheet_page(paper(name)), encoding="utf-8")
    page = browser.open(path)
    for size in (A4, LETTER):
        assert pages_of(page.pdf(size)) in (1, 2), f"{name} on {size}"
    as_printed(page, A4[0])  # the narrower of the two
    assert page.evaluate(CUT_OFF) == []
    assert page.evaluate(OFF_THE_PLAN) == []
    assert min(page.evaluate(HEIGHTS)) >= PEN * MM - 0.1
    assert min(page.evaluate(TYPE)) >= SMALLEST * 96 / 72 - 0.01
    assert [r for r in page.requests if not r.startswith("file:")] == []
    assert page.complaints == []


def test_hostile_names_are_shown_as_text_and_push_nothing_off_the_paper(browser, tmp_path):
    there = found("godwit")
    bay = there.folder.bays["bay-3"]
    thing = next(o for o in bay.obstacles if not o.fixed)
    names = [t[:90] for t in HOSTILE.values()] + [
        "W" * 90,
        "<img src=https://example.invalid/x onerror=alert(1)>",
    ]
    sheet = changed(there.sheet, title=" ".join(names)[:300])
    named = Opened(there.folder, sheet, Path(DEMO / "sheets" / "godwit-camera.yaml"))
    hostile = changed(bay, obstacles=tuple(changed(thing, name=n) for n in names))
    path = tmp_path / "worksheet.html"
    path.write_text(worksheet_page(worksheet(named, hostile, ("single",), MOMENT)), encoding="utf-8")
    page = browser.open(path)
    as_printed(page, A4[0])
    assert page.evaluate(CUT_OFF) == []
    assert page.evaluate("document.querySelectorAll('script, img, iframe').length") == 0
    assert "<script>alert('Odo')</script>" in page.evaluate("document.body.textContent")
    assert [r for r in page.requests if not r.startswith("file:")] == []
    assert page.complaints == []

"""The report as HTML, parsed: what a person and what a screen reader find in it."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass, field, replace
from hashlib import sha256
from html.parser import HTMLParser
from itertools import pairwise

import pytest

from readiness import units
from readiness.records.replay import Signed
from readiness.records.signing import Vouched
from readiness.report.html import html_page
from readiness.report.markup import VOID
from readiness.report.phrases import grouped
from readiness.report.signs import WORDS
from readiness.report.text import clean
from tests.papers import (
    BEGUN,
    CLOSED,
    GIVEN_UP,
    HOSTILE,
    LATER,
    MIXED,
    WAIVED,
    WHY_GIVEN_UP,
    hostile_papers,
    of_job,
    shop_with_papers,
)

JOBS = (CLOSED, MIXED, GIVEN_UP, BEGUN, "HB-0409")


@dataclass
class Tag:
    """An element, read back."""

    name: str
    attributes: dict[str, str | None]
    parent: Tag | None = None
    children: list[Tag | str] = field(default_factory=list)

    def __iter__(self):
        """Itself and everything in it, in the order of the page."""
        yield self
        for child in self.children:
            if isinstance(child, Tag):
                yield from child

    def all(self, *names: str) -> list[Tag]:
        return [tag for tag in self if tag.name in names]

    def of_class(self, name: str) -> list[Tag]:
        return [tag for tag in self if name in (tag.attributes.get("class") or "").split()]

    @property
    def raw(self) -> str:
        return "".join(c.raw if isinstance(c, Tag) else c for c in self.children)

    @property
    def text(self) -> str:
        return " ".join(self.raw.split())


class Reader(HTMLParser):
    """Builds the tree, and insists that every element is closed where it has to be."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.root = self.here = Tag("", {})

    def handle_starttag(self, name, attributes):
        tag = Tag(name, dict(attributes), self.here)
        assert len(attributes) == len(tag.attributes), f"<{name}> says one thing twice"
        self.here.children.append(tag)
        if name not in VOID:
            self.here = tag

    def handle_endtag(self, name):
        assert self.here.name == name, f"</{name}> within <{self.here.name}>"
        self.here = self.here.parent

    def handle_data(self, data):
        self.here.children.append(data)


def read(source: str) -> Tag:
    reader = Reader()
    reader.feed(source)
    reader.close()
    assert reader.here is reader.root
    return reader.root


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return shop_with_papers(tmp_path_factory.mktemp("papers"))


@pytest.fixture(scope="module")
def pages(folder):
    """Each job with what its report is made of, and the report read back."""
    made = {}
    for job in JOBS:
        told, found = of_job(folder, job)
        made[job] = told, found, read(html_page(told, found))
    return made


# --- for who cannot see it -----------------------------------------------------------------------


@pytest.mark.parametrize("job", JOBS)
def test_headings_begin_with_one_and_leave_none_out(pages, job):
    levels = [int(tag.name[1]) for tag in pages[job][2].all("h1", "h2", "h3", "h4", "h5", "h6")]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after <= before + 1 for before, after in pairwise(levels))


@pytest.mark.parametrize("job", JOBS)
def test_tables_say_what_they_are_and_which_cell_names_what(pages, job):
    """WCAG 2.2, 1.3.1: structure that is seen can be heard."""
    tables = pages[job][2].all("table")
    assert tables
    for table in tables:
        assert next(c.name for c in table.children if isinstance(c, Tag)) == "caption"
        assert table.all("caption")[0].text
        assert all(th.attributes.get("scope") in ("col", "row", "rowgroup") for th in table.all("th"))
        columns = len(table.all("thead")[0].all("th"))
        for row in table.all("tbody")[0].all("tr"):
            cells = [c for c in row.children if isinstance(c, Tag)]
            assert sum(int(c.attributes.get("colspan") or 1) for c in cells) == columns


@pytest.mark.parametrize("job", JOBS)
def test_pictures_have_a_name_and_ids_are_one_of_a_kind(pages, job):
    page = pages[job][2]
    for picture in page.all("svg"):
        assert picture.attributes["role"] == "img"
        first = next(c for c in picture.children if isinstance(c, Tag))
        assert first.name == "title"
        assert first.text
    ids = [tag.attributes["id"] for tag in page if "id" in tag.attributes]
    assert len(ids) == len(set(ids))
    pointed = [
        i
        for tag in page
        for a in ("aria-labelledby", "aria-describedby")
        for i in (tag.attributes.get(a) or "").split()
    ]
    assert set(pointed) <= set(ids)


@pytest.mark.parametrize("job", JOBS)
def test_the_page_has_its_language_one_main_part_and_named_sections(pages, job):
    page = pages[job][2]
    assert page.all("html")[0].attributes["lang"] == "en"
    assert len(page.all("main")) == 1
    sheets = page.of_class("sheet")
    assert [s.attributes["aria-labelledby"] for s in sheets] == ["title", "trade", "annex"]
    assert page.all("title")[0].text.startswith(job)


@pytest.mark.parametrize("job", JOBS)
def test_no_outcome_is_told_by_colour_or_sign_alone(pages, job):
    """WCAG 2.2, 1.4.1: beside its colour each has a word; on the customer's page the sentence is the word."""
    for tag in pages[job][2].of_class("word"):
        hidden = tag.attributes.get("aria-hidden") == "true"
        words = tag.parent.text if hidden else tag.text
        assert re.search(r"[a-z]{2}", words), tag


# --- what it says --------------------------------------------------------------------------------


@pytest.mark.parametrize("job", JOBS)
def test_every_finding_stands_on_the_page_for_the_trade_with_its_number(pages, job):
    told, _, page = pages[job]
    rows = page.of_class("findings")[0].all("tbody")
    texts = [row.text for body in rows for row in body.all("tr")]
    for found in told.findings:
        finding = found.finding
        mine = [t for t in texts if t.startswith(f"{_sign(t)} {WORDS[finding.outcome]} {finding.title}")]
        assert mine, finding.title
        part = finding.deciding
        if finding.outcome == "pass" and part is not None and isinstance(part.value, float):
            assert any(units.show(part.value, part.unit) in t for t in mine), (finding.title, mine)


def _sign(text: str) -> str:
    return text.split(" ", 1)[0]


@pytest.mark.parametrize("job", JOBS)
def test_every_part_and_every_answer_stands_in_the_annex(pages, job):
    told, found, page = pages[job]
    annex = page.of_class("annex")[0]
    parts = [row for body in annex.of_class("parts")[0].all("tbody") for row in body.all("tr")]
    shown = sum(row.attributes.get("class") not in ("group", "remarks") for row in parts)
    after = [f for f in told.closing_findings if any(p.readings for p in f.finding.parts)]
    assert shown == sum(len(f.finding.parts) for f in (*told.findings, *after))
    answers = [row for body in annex.of_class("answers")[0].all("tbody") for row in body.all("tr")]
    steps = [s for story in found.stories.values() for s in story.steps if s.what != "withdrawn"]
    assert sum(row.attributes.get("class") != "group" for row in answers) == len(steps)


def test_the_hash_on_paper_is_that_of_the_last_line(folder, pages):
    """SHA-256 of the last line without its line end, worked out here from the file's bytes."""
    data = (folder.jobs_folder / f"{CLOSED}.jsonl").read_bytes()
    lines = data.splitlines()
    digest = sha256(lines[-1]).hexdigest()
    page = pages[CLOSED][2]
    feet = [foot.text for foot in page.all("footer")]
    assert len(feet) == 3
    assert all(f"Record of {len(lines)} lines, SHA-256 {grouped(digest)}" in foot for foot in feet)
    style = page.all("style")[0].text
    assert f"{len(lines)} lines" in style
    assert grouped(digest) in style


def test_what_was_set_aside_comes_first_and_makes_no_plain_go(pages):
    told, _, page = pages[MIXED]
    assert told.sides["left"].verdict.verdict == "go-with-waivers"
    trade = page.of_class("trade")[0]
    assert trade.all("tbody")[0].all("tr")[0].text.startswith("– set aside Light")
    assert "Left side: (✓) go with waivers" in trade.text
    customer = page.of_class("customer")[0].text
    assert "(✓) yes, with something set aside." in customer
    assert f"Light, by Lio Fenn at 10:00: {WAIVED}" in customer


def test_a_job_without_a_go_says_so_before_everything_else(pages):
    customer = pages[GIVEN_UP][2].of_class("customer")[0]
    after_the_head = [c for c in customer.children if isinstance(c, Tag)][1]
    assert after_the_head.text.startswith(
        "✗ No calibration is on this record. The job was ended without a go by Tamsin Vale"
    )
    assert WHY_GIVEN_UP in after_the_head.text
    assert "ended without a go" in pages[GIVEN_UP][2].of_class("trade")[0].text
    assert not pages[CLOSED][2].of_class("notice")


def test_what_became_of_a_reading_is_told_in_short_and_step_by_step(pages):
    page = pages[GIVEN_UP][2]
    assert "measured three times, fix in between" in page.of_class("trade")[0].text
    answers = page.of_class("answers")[0]
    assert [tag.text for tag in answers.all("del")] == ["219 kPa"]
    assert "taken back by Lio Fenn 10:00: mistyped" in answers.text
    assert "put right: inflated to 240" in answers.text


def test_the_result_stands_against_its_range_on_the_customers_page(pages):
    customer = pages[CLOSED][2].of_class("customer")[0]
    assert "Azimuth correction: -0.85°, allowed -2.2 to 2.2° ✓ pass" in customer.text
    wrong = pages[MIXED][2].of_class("customer")[0].text
    assert "Azimuth correction: 2.5°, allowed -2.2 to 2.2° ✗ fail" in wrong
    assert "Do not rely on this system until it has been put right" in wrong
    assert "Right side: its result is not on this record." in wrong


def test_a_side_is_judged_when_its_result_was_read(pages):
    trade = pages[CLOSED][2].of_class("trade")[0].text
    assert "judged as of 10:05, when its result was read" in trade
    assert "at the last entry about the car" in pages["HB-0409"][2].of_class("trade")[0].text


def test_an_attached_file_is_there_with_its_hash_and_how_it_is_today(folder, pages):
    digest = sha256((folder.path / "photos" / "last-page.txt").read_bytes()).hexdigest()
    annex = pages[CLOSED][2].of_class("annex")[0].text
    assert (
        f"photos/last-page.txt the tester's last page 9 bytes unchanged since then Odo Brack 10:13 {grouped(digest)}"
        in annex
    )


@pytest.mark.parametrize(
    ("state", "said"),
    [
        ("good", "are signed with the shop's key of foreman, by Tamsin Vale"),
        ("wrong", "are SIGNED WRONGLY: the signature is not of these lines, by Tamsin Vale"),
        ("unknown", "are signed with a key that is none of the shop's, by Tamsin Vale"),
        ("unchecked", "are signed; the signature was not checked here, by Tamsin Vale"),
    ],
)
def test_a_signature_is_told_as_it_was_found(pages, state, said):
    told, found, page = pages[CLOSED]
    signed = Signed(by="Tamsin Vale", head="0" * 64, signature="x", at=LATER, number=66)
    vouched = Vouched(signed, state, "foreman", "so it is")
    annex = read(html_page(told, replace(found, signatures=(vouched,)))).of_class("annex")[0].text
    assert f"The first 65 lines {said} on 25 November 2026 at 18:00 (so it is)." in annex
    assert "signed" not in page.of_class("annex")[0].text.lower().replace("designed", "")


def test_plan_and_floor_are_drawn(pages):
    names = [
        figure.all("figcaption")[0].text for figure in pages[MIXED][2].of_class("pictures")[0].all("figure")
    ]
    assert [name.partition(":")[0] for name in names] == [
        "Floor", "Aim, left", "Aim, right", "Clear area, left", "Clear area, right",
    ]  # fmt: skip
    assert "heights over the plane of the four wheels" in names[0]
    assert "how far off the sensor sees its target" in names[1]
    assert "what has to stay clear" in names[3]


def test_what_was_not_in_order_is_explained_to_the_customer(pages):
    told, _, page = pages[MIXED]
    customer = page.of_class("customer")[0].text
    assert "Right side: ✗ no. One of 18 checks was not in order at 10:00: Clear area." in customer
    assert " ".join(told.visit.checklist.check("clear_area").why.split()) in customer


def test_no_word_of_the_trade_on_the_customers_page(pages):
    for job in (CLOSED, GIVEN_UP, "HB-0409"):
        words = pages[job][2].of_class("customer")[0].text.lower()
        for jargon in ("guard", "uncertainty", "standard u", "no-go", "waiver", "evidence", "lapse"):
            assert jargon not in words, (job, jargon)


def test_cleaned_texts_are_what_the_page_shows(pages):
    told, _, page = pages[CLOSED]
    assert clean(told.visit.shop.shop) in page.of_class("customer")[0].text
    assert all(name in page.of_class("customer")[0].text for name in told.hands)


# --- text from people ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    "text", [" ".join(HOSTILE.values()), HOSTILE["turned round"]], ids=["all", "turned round"]
)
def test_hostile_text_comes_out_as_text_and_brings_no_element(folder, pages, text):
    """The same elements in the same order as with harmless text, and the text itself where a person wrote it."""
    harmless = read(html_page(*hostile_papers(folder, "x" * 3)))
    page = read(html_page(*hostile_papers(folder, text)))
    assert _shape(page) == _shape(harmless)
    for tag in page:
        assert not [a for a in tag.attributes if a.startswith("on")]
        assert tag.name not in ("script", "img", "iframe", "link")
    shown = " ".join(clean(text).split())
    assert page.all("h1")[0].text == shown
    assert page.text.count(shown) > 100
    assert not [c for c in page.raw if unicodedata.category(c) in ("Cc", "Cf") and c != "\n"]
    for wrote in page.all("style"):
        assert "<" not in wrote.raw
        assert "http" not in wrote.raw


def _shape(page: Tag) -> list[str]:
    """The elements outside drawings, whose words find more or less room."""
    drawn = {id(t) for picture in page.of_class("plan") for t in picture}
    return [t.name for t in page if id(t) not in drawn]

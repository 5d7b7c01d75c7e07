"""The builder of pages: read back by a parser, what went in as text comes out as text and as nothing else."""

from __future__ import annotations

from html.parser import HTMLParser

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from readiness.report.markup import POLICY, Drawing, el, html, page, said, text_of
from readiness.report.style import BASE, DARK, LIGHT, PRINT, WRITING
from readiness.report.text import clean, harmless

HOSTILE = (
    "<script>window.hacked = 1</script>",
    '"><img src=x onerror="window.hacked = 1">',
    "' onmouseover='x' a='",
    "</style></title></bdi></td></svg><h1>",
    "&lt;b&gt; &amp;amp; &#60;b&#62; &copy",
    "<!-- --> <![CDATA[ ]]> <?php ?>",
    "[/red][bold]",
    "\x1b[31mred\x1b[0m \x07\x00\x9b",
    "\u202egnirts\u202c \u2067x\u2069 \u200f",
    "שלום 12 עולם",
    '=HYPERLINK("http://x")',
    "../../etc/passwd",
    "\ud800 lone",
)


class Read(HTMLParser):
    """What a page holds: tags with their attributes in order, and the text between them."""

    def __init__(self, source: str) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.text = ""
        self.feed(source)
        self.close()

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))

    def handle_data(self, data):
        self.text += data


ANY = st.one_of(st.sampled_from(HOSTILE), st.text(max_size=60))


@given(ANY, ANY)
@settings(max_examples=60)
@example(HOSTILE[0], HOSTILE[1])
def test_text_comes_back_as_text_and_brings_no_tag(words, other):
    found = Read(html(el("td", {"title": other, "class": "x"}, words, said(other))))
    assert [tag for tag, _ in found.tags] == ["td", "bdi"]
    assert found.tags[0][1] == {"title": clean(other), "class": "x"}
    assert found.text.rstrip("\n") == (harmless(words) + clean(other)).rstrip("\n")


@given(st.lists(ANY, max_size=4), ANY)
@settings(max_examples=40)
def test_a_page_has_the_elements_it_was_given_and_no_others(texts, title):
    found = Read(page(title, [el("p", t) for t in texts], css=BASE))
    names = [tag for tag, _ in found.tags]
    assert names == ["html", "head", *["meta"] * 6, "title", "style", "body", *["p"] * len(texts)]
    assert found.tags[0][1] == {"lang": "en"}


def test_a_page_lets_nothing_in_from_outside():
    found = Read(page("A title", [el("p", "text")], css=BASE))
    policies = [a["content"] for _, a in found.tags if a.get("http-equiv") == "Content-Security-Policy"]
    assert policies == [POLICY]
    assert "script" not in POLICY
    assert "default-src 'none'" in POLICY
    assert "url(" not in BASE
    assert "@import" not in BASE


def test_attributes_true_false_and_none():
    assert html(el("ol", {"reversed": True, "hidden": False, "start": 3, "id": None})) == (
        '<ol reversed start="3"></ol>\n'
    )


def test_void_elements_have_no_end_and_hold_nothing():
    assert html(el("p", "one", el("br"), "two")) == "<p>one<br>two</p>\n"
    with pytest.raises(ValueError, match="holds nothing"):
        el("br", "text")


@pytest.mark.parametrize("tag", ["script", "STYLE", "iframe", "p onclick", "", "x>y", "form"])
def test_some_tags_have_no_place(tag):
    with pytest.raises(ValueError, match="no place"):
        el(tag)


@pytest.mark.parametrize(
    ("name", "value"),
    [("onclick", "x()"), ("a b", "x"), ("href", "javascript:x()"), ("href", "https://a.example"), ("src", "x.png"),
     ("href", "//a.example"), ("src", "data:text/html;base64,AAAA")],
)  # fmt: skip
def test_attributes_that_run_or_lead_away_are_refused(name, value):
    with pytest.raises(ValueError, match=r"attribute|leads off"):
        el("a", {name: value})


def test_links_within_the_page_and_pictures_in_it_are_let():
    assert 'href="#annex"' in html(el("a", {"href": "#annex"}, "annex"))
    assert "base64,AAAA" in html(el("img", {"src": "data:image/png;base64,AAAA", "alt": ""}))


def test_children_are_flattened_and_nothing_is_left_out():
    row = el("tr", (el("td", str(n)) for n in range(3)), None, [el("td", ["a", None, ["b"]])])
    assert text_of(row) == "012ab"


def test_a_drawing_is_one_svg_and_nothing_else():
    assert html(Drawing("<svg viewBox='0 0 1 1'></svg>\n")).startswith("<svg")
    with pytest.raises(ValueError, match="one <svg>"):
        Drawing("<p>no</p>")


def test_a_style_sheet_cannot_end_its_element():
    with pytest.raises(ValueError, match="no markup"):
        page("x", [], css="p {} </style><script>")


# --- colours -------------------------------------------------------------------------------------


def luminance(colour: str) -> float:
    """Relative luminance, WCAG 2.2, 'relative luminance' (definition; from memory)."""
    parts = (int(colour[k : k + 2], 16) / 255 for k in (1, 3, 5))
    r, g, b = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    return 0.2126 * r + 0.7152 * g + 0.0722 * b


def contrast(one: str, other: str) -> float:
    """Contrast ratio, WCAG 2.2; (L1 + 0.05) / (L2 + 0.05)."""
    dark, light = sorted((luminance(one), luminance(other)))
    return (light + 0.05) / (dark + 0.05)


def test_the_formula_itself():
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    # #767676 is the lightest grey that passes 4.5 on white: widely published, from memory
    assert contrast("#767676", "#ffffff") > 4.5 > contrast("#777777", "#ffffff")


@pytest.mark.parametrize("scheme", [LIGHT, DARK, PRINT], ids=["light", "dark", "print"])
def test_guard_bands_limits_and_readings_stand_out_too(scheme):
    """WCAG 2.2, success criterion 1.4.11: at least 3:1 for what a picture is understood by."""
    for name in ("guard", "ink"):
        assert contrast(scheme[name], scheme["paper"]) >= 3


@pytest.mark.parametrize("scheme", [LIGHT, DARK, PRINT], ids=["light", "dark", "print"])
@pytest.mark.parametrize("name", WRITING)
def test_words_stand_out_from_the_paper(scheme, name):
    """WCAG 2.2, success criterion 1.4.3: at least 4.5:1."""
    assert contrast(scheme[name], scheme["paper"]) >= 4.5
